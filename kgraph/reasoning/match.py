"""Which herbs on file the reports fit, and how a sample stands to the herb that its label claims.

P(reports | herb) for every herb, beside "none of these": the generic network, whose prior is the constant
`none-of-these-prior`. The words are "fits", "compatible", "does not fit", "cannot be told apart"; never "is".
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np

from kgraph.claims import Ontology
from kgraph.claims.words import INTENSITIES
from kgraph.reasoning import heed
from kgraph.reasoning.answer import NOTICE, Blend, Confusable, Heed, Sensitivity, as_plain
from kgraph.reasoning.batch import Clerk
from kgraph.reasoning.blend import blend_of
from kgraph.reasoning.circumstances import Circumstances, circumstances_of
from kgraph.reasoning.evidence import Cell, cells_of
from kgraph.reasoning.figures import Figures
from kgraph.reasoning.herbs import documented_intensities
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.network import TEST, Network, percept_label
from kgraph.reasoning.shelf import Shelf
from kgraph.reasoning.weights import decibans, firm
from kgraph.tasting import Record
from kgraph.yamlio import InputError, Place

#: Herbs within so many decibans of each other are not told apart by these reports (a factor of two in the odds).
APART_DB = 3.0
#: A rise in the odds from which a herb "fits", and a fall from which it "does not" (a factor of ten).
FITS_DB = 10.0
#: Do-not-taste herbs within so many decibans of the best stand first.
POISON_DB = 10.0
#: Fewer documented qualities than this allow no word above "compatible".
WELL_DESCRIBED = 4
#: So many herbs, and the claimed one, are followed when figures move.
FOLLOWED = 5
#: A taste is expected of a herb from this chance on, and not accounted for below the other.
EXPECTED, UNACCOUNTED = 0.5, 0.2
_WORDS = ("weak", "moderate", "strong")


class HerbFit(NamedTuple):
    """One herb: chances before and after, weight in decibans, decibans below the best, the word, and whom it cannot be told from."""

    id: str
    label: str
    name: str
    part: str
    taste_safety: str
    prior: float
    posterior: float
    weight_db: float
    below_best_db: float
    word: str
    described: int
    apart_from: tuple[str, ...] = ()


class Point(NamedTuple):
    """One report held against a herb: what was reported, what is documented ("" if nothing), its weight for the herb against the herbs on file taken together."""

    quality: str
    label: str
    reported: str
    documented: str
    weight_db: float


class Claimed(NamedTuple):
    """How the sample stands to the herb of its label."""

    id: str
    label: str
    fits: tuple[Point, ...]
    missing: tuple[Point, ...]
    unaccounted: tuple[Point, ...]
    not_asked: tuple[tuple[str, str], ...]
    confusable: tuple[Confusable, ...]
    cautions: tuple[Heed, ...]


class Match(NamedTuple):
    """The answer to *which herb*: herbs best first, "none of these", do-not-taste herbs that are near, the claimed herb, notes on quality."""

    ontology: dict[str, str]
    herbs: tuple[HerbFit, ...]
    none: tuple[float, float]
    poisons_near: tuple[str, ...]
    claimed: Claimed | None
    quality: tuple[tuple[str, str], ...]
    findings: int
    sensitivity: Sensitivity | None = None
    blend: Blend | None = None
    blend_cautions: tuple[Heed, ...] = ()
    notice: str = NOTICE

    def as_dict(self) -> dict[str, Any]:
        """Plain data; `answer` names the format."""
        data: dict[str, Any] = as_plain(self)
        data["none"] = {"prior": self.none[0], "posterior": self.none[1]}
        return {"answer": "match", "version": 1, **data}


def match(ontology: Ontology, net: Network, record: Record, claimed: str = "", *, draws: int = 0, shelf: Shelf | None = None) -> Match:
    """Hold a tasting against every herb on file.

    Args:
        ontology, net: what is known, and the network built from it.
        record: the tasting; the herb of its label is the claimed one unless another is given.
        claimed: id of the herb in question.
        draws: how many times all figures are moved by their doubt; 0 for not at all.
        shelf: the herbs, compiled before; many records share one.

    Raises:
        InputError: nothing was noticed, looked for or tested.
    """
    circumstances = circumstances_of(ontology, record)
    inference = Inference(net, circumstances, cells_of(ontology, net, record, circumstances))
    cells = inference.cells
    if not cells:
        raise _nothing(record)
    shelf = shelf or Shelf(ontology, net)
    herbs, none = _ranked(shelf, circumstances, cells, inference.total)
    near = tuple(h.id for h in herbs if h.taste_safety == "do-not-taste" and h.below_best_db >= -POISON_DB)
    wanted = claimed or record.sample.herb
    held = _claimed(shelf, circumstances, cells, wanted) if wanted else None
    return Match(
        ontology.identity, herbs, none, near, held,
        _quality(ontology, record, held, cells), sum(cell.speaks_for for cell in cells),
        _sensitivity(shelf, inference, herbs, wanted, draws),
        None if claimed else blend_of(shelf, circumstances, cells, record.sample.herbs),
        () if claimed or not record.sample.herbs else heed.label_of_sample(ontology, record.sample, sealed=False)[1],
    )


def _sensitivity(shelf: Shelf, inference: Inference, herbs: tuple[HerbFit, ...], claimed: str, draws: int) -> Sensitivity | None:
    if not draws:
        return None
    from kgraph.reasoning.sensitivity import of_match

    followed = [h for i, h in enumerate(herbs) if i < FOLLOWED or h.id == claimed]
    return of_match(shelf, inference, [h.id for h in followed], [h.label for h in followed], draws)


class MatchBrief(NamedTuple):
    """What is said of one of many records: the herbs that stand first, the claimed one, and what is near and never to be tasted."""

    record: str
    code: str
    claimed: str
    claimed_word: str
    claimed_place: int
    herbs: tuple[tuple[str, str, float, float, str], ...]
    none: float
    poisons_near: tuple[str, ...]
    notice: str = NOTICE

    def as_dict(self) -> dict[str, Any]:
        """Plain data; `answer` names the format. `herbs` hold id, label, prior, posterior, word."""
        data: dict[str, Any] = as_plain(self)
        data["herbs"] = [dict(zip(("id", "label", "prior", "posterior", "word"), herb, strict=True)) for herb in self.herbs]
        return {"answer": "match-brief", "version": 1, **data}


def match_briefs(shelf: Shelf, clerk: Clerk, records: Sequence[tuple[str, Record]], claimed: str = "") -> Iterator[MatchBrief | InputError]:
    """Hold many records against every herb, in the order of the records.

    Args:
        shelf, clerk: the herbs and the network, compiled.
        records: (name, record).
        claimed: id of the herb in question; else the one on each label.
    """
    for (name, record), (circumstances, cells, total) in zip(records, clerk.totals([record for _, record in records]), strict=True):
        if not cells:
            yield _nothing(record)
            continue
        herbs, none = _ranked(shelf, circumstances, cells, total)
        wanted = claimed or record.sample.herb
        place = next((i for i, h in enumerate(herbs) if h.id == wanted), -1)
        yield MatchBrief(
            name, record.sample.code, wanted, herbs[place].word if place >= 0 else "", place + 1,
            tuple((h.id, h.label, h.prior, h.posterior, h.word) for h in herbs[:FOLLOWED]), none[1],
            tuple(h.label for h in herbs if h.taste_safety == "do-not-taste" and h.below_best_db >= -POISON_DB),
        )


def _nothing(record: Record) -> InputError:
    return InputError.single("nothing-reported", "the record holds no finding, nothing that was looked for, and no test.", "Impressions are not reasoned on; add what was noticed.", Place(record.file or "record"))


def _ranked(shelf: Shelf, circumstances: Circumstances, cells: Sequence[Cell], report: float) -> tuple[tuple[HerbFit, ...], tuple[float, float]]:
    ontology, figures = shelf.ontology, Figures(shelf.ontology, shelf.net)
    none_prior = float(figures.none_prior()[0, 0])
    totals = shelf.totals(figures, circumstances, cells)[0]
    generic = math.log(report)
    top = max(float(totals.max(initial=-math.inf)), generic)
    each = (1 - none_prior) / max(1, len(totals))
    mass = each * np.exp(totals - top)
    none_mass = none_prior * math.exp(generic - top)
    total = none_mass + float(mass.sum())
    below = 10 * (totals - totals.max(initial=-math.inf)) / math.log(10) if len(totals) else totals
    order = sorted(range(len(totals)), key=lambda i: (-firm(float(totals[i])), shelf.ids[i]))
    gaps = [-float(below[i]) for i in order]
    fits = []
    for place, i in enumerate(order):
        thing = ontology.herbs[shelf.ids[i]]
        posterior = float(mass[i]) / total
        weight, described = decibans(each, posterior), int(shelf.described[i])
        apart: tuple[str, ...] = ()
        if weight >= FITS_DB:
            near = range(bisect_right(gaps, gaps[place] - APART_DB), bisect_left(gaps, gaps[place] + APART_DB))
            apart = tuple(shelf.ids[order[k]] for k in near if k != place)
        fits.append(HerbFit(
            thing.id, thing.label, thing.name, thing.part, thing.taste_safety, each, posterior, weight, float(below[i]), _word(weight, described), described, apart,
        ))
    return tuple(fits), (none_prior, none_mass / total)


def _word(weight_db: float, described: int) -> str:
    if weight_db <= -FITS_DB:
        return "does not fit"
    return "fits" if weight_db >= FITS_DB and described >= WELL_DESCRIBED else "compatible"


def _claimed(shelf: Shelf, circumstances: Circumstances, cells: list[Cell], herb: str) -> Claimed:
    ontology, net, number = shelf.ontology, shelf.net, shelf.index[herb]
    figures = Figures(ontology, net)
    by_cell = shelf.by_cell(figures, circumstances, cells)
    intensities = documented_intensities(ontology, herb)
    fits, missing, unaccounted = [], [], []
    for cell, logs in zip(cells, by_cell, strict=True):
        code = int(shelf.documented(cell.percept)[number])
        documented = INTENSITIES[code] if code >= 0 else ""
        others = math.log(float(np.exp(logs).mean()))
        point = Point(cell.percept, percept_label(ontology, cell.percept), cell.state, documented, 10 * (float(logs[number]) - others) / math.log(10))
        share = float(shelf.expected(figures, circumstances, cell)[number])
        expected = documented in _WORDS[1:] or (not documented and share >= EXPECTED)
        if cell.speaks_for:
            if documented in _WORDS or (documented != "absent" and share >= UNACCOUNTED):
                fits.append(point)
            else:
                unaccounted.append(point)
        elif expected and cell.log_ratio < 0:
            missing.append(point)
        elif documented == "absent" and cell.state == "absent":
            fits.append(point)
    asked = {cell.percept for cell in cells}
    not_asked = tuple((p, percept_label(ontology, p)) for p, word in intensities.items() if word in _WORDS[1:] and p not in asked)
    label, cautions = heed.label_of(ontology, herb, sealed=False)

    def order(point: Point) -> tuple[float, str]:
        return -abs(firm(point.weight_db)), point.quality

    return Claimed(
        herb, ontology.label("herb", herb), tuple(sorted(fits, key=order)), tuple(sorted(missing, key=order)), tuple(sorted(unaccounted, key=order)), not_asked,
        label.confused_with, cautions,
    )


# -- quality ---------------------------------------------------------------------------------------------------

#: Reference strength of a cup for tasting, g in 100 mL; common practice.
STANDARD_STRENGTH = 1.0


def _quality(ontology: Ontology, record: Record, claimed: Claimed | None, cells: list[Cell]) -> tuple[tuple[str, str], ...]:
    """(rule, what it may mean) from the findings. Rules of the trade (common practice); each says what to do next, none gives a verdict."""
    found: list[tuple[str, str]] = []
    reported = {cell.percept for cell in cells if cell.speaks_for}
    strange = {point.quality for point in claimed.unaccounted} if claimed else set()
    if claimed:
        smells = [p for p in claimed.missing if not p.quality.startswith(TEST) and ontology.qualities[p.quality].sense == "aroma"]
        fixed = [p for p in claimed.fits if not p.quality.startswith(TEST) and ontology.qualities[p.quality].sense in ("taste", "mouthfeel") and p.reported != "absent"]
        weak = [p for p in claimed.fits if p.reported == "weak" and p.documented in _WORDS[1:]]
        if smells and fixed:
            found.append(("faded", f"{_listed(smells)} missing while {_listed(fixed)} stands: what is volatile may have gone. Ask for age and storage; crush a little and smell it beside a fresh sample."))
        if weak and len(weak) == len([p for p in claimed.fits if p.documented in _WORDS[1:]]):
            found.append(("weak", f"Everything that is there is weaker than described. {_strength(record)}"))
    for quality, meaning in (
        ("musty", "may mean damp storage and mould: look at it under a lens, and do not taste it again."),
        ("rancid", "may mean that its oil has gone rancid: seeds and kernels do so when old or warm."),
        ("sulphurous", "may mean that it was fumigated with sulphur: ask the supplier; a test paper for sulphite shows it."),
        ("gritty", "may mean sand or soil: let the powder settle in water and look at the bottom."),
    ):
        if quality in reported and (claimed is None or quality in strange):
            found.append((quality, f"{ontology.label('quality', quality)} was noticed, and nothing on file accounts for it: it {meaning}" if claimed else f"{ontology.label('quality', quality)} was noticed: it {meaning}"))
    return tuple(found)


def _listed(points: list[Point]) -> str:
    return ", ".join(point.label for point in points[:3])


def _strength(record: Record) -> str:
    strength = record.preparation.grams_per_100_ml
    if strength is None:
        return "The strength of the cup is not on record: weigh herb and water first, before the herb is blamed."
    if strength < STANDARD_STRENGTH:
        return f"The cup held {strength:.2g} g in 100 mL, less than the usual {STANDARD_STRENGTH:g}: brew it stronger before the herb is blamed."
    return f"The cup held {strength:.2g} g in 100 mL, which is enough: the herb itself may be weak, old or not what the label says."
