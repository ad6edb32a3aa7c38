"""What to look for next, for the question at hand: families, herbs, or a claimed herb against its lookalikes.

The gain of a look is the mutual information in bits between its outcome (noticed or not, seen or not) and the question
(Shannon 1948; Lindley 1956). What is cheap and safe stands first among near equals. Without a label, or while a herb
that is never to be tasted fits, only looking and safe tests are proposed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from kgraph.claims import Ontology
from kgraph.reasoning import asking, heed, next_look
from kgraph.reasoning.answer import NOTICE, as_plain
from kgraph.reasoning.circumstances import circumstances_of
from kgraph.reasoning.evidence import TEST_MISREAD, Cell, cells_of
from kgraph.reasoning.figures import Array, Figures
from kgraph.reasoning.inference import Inference, evoking, other_cause
from kgraph.reasoning.network import TEST, Network
from kgraph.reasoning.shelf import Shelf
from kgraph.reasoning.weights import firm
from kgraph.tasting import Record
from kgraph.yamlio import InputError, Place

QUESTIONS = ("families", "herbs", "lookalikes")
#: What costs least and risks least stands first among near equals: look, a kitchen test, smell, taste and feel, a bench.
_COST = {"appearance": 0, "kitchen test": 1, "aroma": 2, "bench test": 4}
_TASTED = 3
#: Gains within so many bits are near equals.
_EQUAL = 0.05
CHANGES = 3


class Change(NamedTuple):
    """A family or herb: its chance now, and what an outcome would make of it."""

    id: str
    label: str
    now: float
    then: float


class Step(NamedTuple):
    """One thing to look for: its gain in bits, how likely it is to be noticed, and what either outcome would change most."""

    id: str
    label: str
    kind: str
    bits: float
    chance: float
    steps: str
    if_there: tuple[Change, ...]
    if_not: tuple[Change, ...]


class Pair(NamedTuple):
    """A lookalike or adulterant of the claimed herb, how the source tells it apart, and what tests are documented to show with it."""

    herb: str
    label: str
    kind: str
    how: str
    taste_safety: str
    parted_by: tuple[str, ...]
    shows: tuple[tuple[str, str], ...]
    claims: tuple[str, ...]


class Proposal(NamedTuple):
    """The answer to *what next*."""

    ontology: dict[str, str]
    about: str
    claimed: str
    claimed_label: str
    steps: tuple[Step, ...]
    only_looking: str
    pairs: tuple[Pair, ...]
    notice: str = NOTICE

    def as_dict(self) -> dict[str, Any]:
        """Plain data; `answer` names the format."""
        data: dict[str, Any] = as_plain(self)
        return {"answer": "next", "version": 1, **data}


def propose(ontology: Ontology, net: Network, record: Record, claimed: str = "", about: str = "", *, shelf: Shelf | None = None) -> Proposal:
    """Rank what was not asked yet.

    Args:
        ontology, net: what is known, and the network built from it.
        record: the tasting so far; the results of tests come back through it.
        claimed: id of the herb in question; else the one on the label.
        about: one of QUESTIONS; left out: lookalikes where a herb is claimed that has any on file, else families.
        shelf: the herbs, compiled before.

    Raises:
        InputError: a question about lookalikes without a herb, or of a herb that has none on file.
    """
    shelf = shelf or Shelf(ontology, net)
    herb = claimed or record.sample.herb
    near = lookalikes(ontology, herb) if herb else []
    about = about or ("lookalikes" if claimed and near else "families")
    if about == "lookalikes" and not near:
        what = f"`{herb}` has no lookalike among the herbs on file" if herb else "no herb is claimed"
        raise InputError.single("no-lookalikes", f"{what}, so there is nothing to tell apart.", "Give --claimed HERB, or ask about families or herbs.", Place("--about"))
    circumstances = circumstances_of(ontology, record)
    inference = Inference(net, circumstances, cells_of(ontology, net, record, circumstances))
    only = why_looking_only(ontology, shelf, inference, record, herb, near if about == "lookalikes" else [])
    percepts = next_look.open_questions(ontology, inference, looking_only=bool(only))
    if about == "families":
        steps = _family_steps(ontology, inference, percepts)
    else:
        steps = _herb_steps(shelf, inference, percepts, [herb, *near] if about == "lookalikes" else [])
    pairs = _pairs(ontology, shelf, herb) if herb else ()
    return Proposal(
        ontology.identity, about, herb, ontology.label("herb", herb) if herb else "",
        in_order(steps), only, pairs,
    )


def why_looking_only(ontology: Ontology, shelf: Shelf, inference: Inference, record: Record, herb: str, near: Sequence[str]) -> str:
    """Why only looking and safe tests may be offered, in plain words; "" where tasting may go on."""
    for id in near:
        if ontology.herbs[id].taste_safety == "do-not-taste":
            return f"{ontology.label('herb', id)}, which it is mistaken for, is never to be tasted"
    safety = ontology.herbs[herb].taste_safety if herb else heed.label_of_sample(ontology, record.sample, sealed=False)[0].taste_safety
    return asking.why_looking_only(ontology, lambda: shelf, inference, record, safety)


def lookalikes(ontology: Ontology, herb: str) -> list[str]:
    """Herbs on file that this one is confused with, by the claims of either."""
    return list(dict.fromkeys(c.herb for c in heed.confusables(ontology, herb) if c.herb))


def in_order(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Most telling first; among near equals the cheapest and safest. What tells nothing is left out."""
    told = [s for s in steps if s.bits > next_look.LEAST_BITS]
    return tuple(sorted(told, key=lambda s: (-round(firm(s.bits / _EQUAL)), _COST.get(s.kind, _TASTED), -firm(s.bits), s.id)))


# -- families --------------------------------------------------------------------------------------------------


def _family_steps(ontology: Ontology, inference: Inference, percepts: Sequence[str]) -> list[Step]:
    members = ontology.families
    after = inference.posterior_any([dict.fromkeys(m, 1.0) for m in members.values()])[0]
    now = dict(zip(members, map(float, after), strict=True))
    steps = []
    for outlook in next_look.family_outlooks(ontology, inference, now, percepts):
        yes, no = ([Change(f, ontology.family_label(f), now[f], p) for f, p in side.items()] for side in (outlook.if_reported, outlook.if_not))
        steps.append(_step(ontology, outlook.percept, outlook.bits, outlook.reported, yes, no))
    return steps


def _step(ontology: Ontology, percept: str, bits: float, chance: float, yes: list[Change], no: list[Change]) -> Step:
    look = next_look.look_at(ontology, percept, bits)
    return Step(look.id, look.label, look.kind, bits, chance, look.steps, *(
        tuple(sorted(side, key=lambda c: (-abs(firm(c.then - c.now)), c.id))[:CHANGES]) for side in (yes, no)))


# -- herbs -----------------------------------------------------------------------------------------------------


def noticed_in(shelf: Shelf, inference: Inference, percept: str) -> Array:
    """P(a taster who is asked notices it, or the test shows it | herb) for every herb, shape (H,)."""
    ontology, figures = shelf.ontology, Figures(shelf.ontology, shelf.net)
    there = shelf.expected(figures, inference.circumstances, Cell(percept, "absent", 1.0, 1.0, ()))
    if percept.startswith(TEST):
        return there * (1 - TEST_MISREAD) + (1 - there) * TEST_MISREAD
    hit, false_report = next_look.report_rates(ontology, percept)
    found: Array = there * hit + (1 - there) * false_report
    table = ontology.tables.documented
    if ("absent", "absent") in table:
        words = shelf.documented(percept)
        for number, intensity in enumerate(("absent", "weak", "moderate", "strong")):
            found[words == number] = 1 - table[(intensity, "absent")]
    return found


def gain(weights: Array, noticed: Array) -> float:
    """Mutual information in bits between which candidate it is and whether it is noticed.

    Args:
        weights: P(candidate), adding up to 1, shape (n,).
        noticed: P(noticed | candidate), shape (n,).
    """

    def entropy(p: Array) -> Array:
        inside = np.clip(p, 1e-300, 1.0)
        outside = np.clip(1 - p, 1e-300, 1.0)
        found: Array = -(p * np.log2(inside) + (1 - p) * np.log2(outside))
        return found

    mean = float(weights @ noticed)
    return max(0.0, float(entropy(np.array([mean]))[0]) - float(weights @ entropy(noticed)))


def _herb_steps(shelf: Shelf, inference: Inference, percepts: Sequence[str], only: Sequence[str]) -> list[Step]:
    """Gains over all herbs and "none of these", or over the few that are to be told apart."""
    ontology, net = shelf.ontology, shelf.net
    figures = Figures(ontology, net)
    totals = shelf.totals(figures, inference.circumstances, inference.cells)[0]
    chosen = np.array([shelf.index[h] for h in dict.fromkeys(only)] if only else range(len(shelf.ids)))
    none = 0.0 if only else float(figures.none_prior()[0, 0])
    generic = math.log(inference.total)
    top = max(float(totals[chosen].max(initial=-np.inf)), generic)
    mass = (1 - none) / max(1, len(chosen)) * np.exp(totals[chosen] - top)
    none_mass = none * math.exp(generic - top)
    weights = np.append(mass, none_mass) / (mass.sum() + none_mass)
    names = [(shelf.ids[i], ontology.label("herb", shelf.ids[i])) for i in chosen] + [("", "none of these")]
    evoked = inference.posterior_any([evoking(net, inference.circumstances, p) for p in percepts])[0] if percepts else ()
    steps = []
    for percept, share in zip(percepts, evoked, strict=True):
        there = 1 - (1 - float(share)) * (1 - other_cause(net, inference.circumstances, percept))
        hit, false_report = next_look.report_rates(ontology, percept)
        noticed = np.append(noticed_in(shelf, inference, percept)[chosen], there * hit + (1 - there) * false_report)
        chance = float(weights @ noticed)
        yes, no = weights * noticed / chance, weights * (1 - noticed) / (1 - chance)
        if only:
            keep = range(len(names) - 1)
        else:
            # the few that either outcome moves most
            move = np.maximum(np.abs(yes - weights), np.abs(no - weights))
            keep = [int(i) for i in np.argsort(-move, kind="stable")[: 2 * CHANGES]]  # type: ignore[assignment]
        sides = ([Change(*names[i], float(weights[i]), float(side[i])) for i in keep] for side in (yes, no))
        steps.append(_step(ontology, percept, gain(weights, noticed), chance, *sides))
    return steps


def _pairs(ontology: Ontology, shelf: Shelf, herb: str) -> tuple[Pair, ...]:
    found = []
    for each in heed.confusables(ontology, herb):
        other = each.herb
        parted: tuple[str, ...] = ()
        shows: tuple[tuple[str, str], ...] = ()
        deadly = "do-not-taste" in (each.taste_safety, ontology.herbs[herb].taste_safety)
        if other:
            percepts = [q.id for q in ontology.qualities.values() if q.kind in ("percept", "kind", "colour") and (q.sense == "appearance" or not deadly)]
            parted = tuple(ontology.label("quality", p) for p in percepts if _plainly_parts(shelf, p, herb, other))
            shows = tuple((ontology.label("test", c.object), c.text("seen")) for c in ontology.said_of("shown_by", other))
        found.append(Pair(other, each.label, each.kind, each.how, each.taste_safety, parted, shows, each.claims))
    return tuple(found)


def _plainly_parts(shelf: Shelf, percept: str, one: str, two: str) -> bool:
    """Is it documented absent in one and moderate or strong in the other?"""
    column = shelf.documented(percept)
    a, b = int(column[shelf.index[one]]), int(column[shelf.index[two]])
    return min(a, b) == 0 and max(a, b) >= 2
