"""Two samples side by side: what changed, by how much, and whether tasters of one cup would differ as much.

For each quality that was looked for in both: the evidence for "the two cups differ in it" against "they are alike", a
ratio of two averages over the four intensities (absent, weak, moderate, strong; all alike beforehand), with the chance of
each report given the intensity from the table `if_documented`. Several tasters weigh by their effective number. The
ratio is a Bayes factor in decibans (Jeffreys 1961; Kass and Raftery 1995).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from kgraph.claims import Ontology
from kgraph.claims.words import INTENSITIES
from kgraph.reasoning.answer import NOTICE, as_plain
from kgraph.reasoning.circumstances import circumstances_of
from kgraph.reasoning.evidence import Cell, cells_of
from kgraph.reasoning.figures import Array
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.match import match
from kgraph.reasoning.network import TEST, Network, percept_label
from kgraph.reasoning.shelf import Shelf
from kgraph.reasoning.weights import firm
from kgraph.tasting import Preparation, Record
from kgraph.yamlio import InputError, Place

#: From here on a difference is told as one (a factor of 3.2: "substantial" for Jeffreys), and from its reverse on as none.
TOLD_DB = 5.0
#: A family's chance that moves by this much is told.
_MOVED = 0.1
_STATES = ("unnoticed", *INTENSITIES)


class Difference(NamedTuple):
    """One quality in both cups: the strongest report of each, expected intensities (0 absent to 3 strong), the step from the first to the second, the evidence for a difference in decibans, and its word."""

    quality: str
    label: str
    sense: str
    first: str
    second: str
    first_level: float
    second_level: float
    step: float
    weight_db: float
    word: str


class Side(NamedTuple):
    """One of the two: its name, its tasters, herb of the label, how it fits the herb that both should be."""

    name: str
    tasters: tuple[str, ...]
    herb: str
    fits: str
    quality: tuple[tuple[str, str], ...]


class Comparison(NamedTuple):
    """The answer to *what changed between two samples*."""

    ontology: dict[str, str]
    sides: tuple[Side, Side]
    made_differently: tuple[tuple[str, str, str], ...]
    tasters_differ: bool
    differences: tuple[Difference, ...]
    tests: tuple[tuple[str, bool, bool], ...]
    only_first: tuple[str, ...]
    only_second: tuple[str, ...]
    families: tuple[tuple[str, str, float, float], ...]
    remarks: tuple[str, ...]
    poisons_near: tuple[str, ...]
    notice: str = NOTICE

    def as_dict(self) -> dict[str, Any]:
        """Plain data; `answer` names the format."""
        return {"answer": "comparison", "version": 1, **as_plain(self)}


def compare(ontology: Ontology, net: Network, first: Record, second: Record, claimed: str = "", *, shelf: Shelf | None = None) -> Comparison:
    """Hold two samples side by side.

    Args:
        ontology, net: what is known, and the network built from it.
        first, second: the two tastings, the older or trusted one first.
        claimed: id of the herb that both should be; else the one on their labels, where it is the same.
        shelf: the herbs, compiled before.

    Raises:
        InputError: nothing was looked for in both.
    """
    shelf = shelf or Shelf(ontology, net)
    cells = [_cells(ontology, net, record) for record in (first, second)]
    shared = [p for p in cells[0] if p in cells[1]]
    if not shared:
        raise InputError.single("nothing-shared", "no quality and no test stands in both records.", "Taste both with the same list (`looked_for: standard`).", Place(second.file or "record"))
    differences = [_difference(ontology, p, cells[0][p], cells[1][p]) for p in shared if not p.startswith(TEST)]
    differences.sort(key=lambda d: (-firm(d.weight_db), d.quality))
    herb = claimed or (first.sample.herb if first.sample.herb == second.sample.herb else "")
    matches = [match(ontology, net, record, herb, shelf=shelf) for record in (first, second)]
    sides = [
        Side(
            record.sample.code or record.file or name, tuple(record.tasters), ontology.label("herb", record.sample.herb) if record.sample.herb else "",
            next((h.word for h in found.herbs if h.id == herb), ""), found.quality if herb else (),
        )
        for name, record, found in zip(("the first", "the second"), (first, second), matches, strict=True)
    ]
    seen = [{t.test: t.seen for t in record.tests} for record in (first, second)]
    return Comparison(
        ontology.identity,
        (sides[0], sides[1]), _made_differently(first, second), set(first.tasters) != set(second.tasters), tuple(differences),
        tuple((ontology.label("test", t), a, seen[1][t]) for t, a in seen[0].items() if t in seen[1]),
        _only(ontology, cells[0], cells[1]), _only(ontology, cells[1], cells[0]),
        _families(ontology, net, first, second), tuple(_remarks(first, second, differences)),
        tuple(dict.fromkeys(ontology.label("herb", h) for found in matches for h in found.poisons_near)),
    )


def _cells(ontology: Ontology, net: Network, record: Record) -> dict[str, Cell]:
    return {cell.percept: cell for cell in cells_of(ontology, net, record, circumstances_of(ontology, record))}


def _only(ontology: Ontology, mine: dict[str, Cell], other: dict[str, Cell]) -> tuple[str, ...]:
    return tuple(percept_label(ontology, p) for p in mine if p not in other)


def intensity_logs(ontology: Ontology, cell: Cell) -> Array:
    """Natural log of P(reports | intensity), up to a constant, for absent to strong; shape (4,)."""
    table = ontology.tables.documented
    return np.array([sum(weight * math.log(table[(i, state)]) for state, weight in cell.reports or ((cell.state, 1.0),)) for i in INTENSITIES])


def difference_db(one: Array, two: Array) -> float:
    """Decibans for "the two intensities differ" against "they are alike", all intensities alike beforehand.

    Args:
        one, two: natural log of P(reports | intensity), shape (n,).
    """
    a, b = np.exp(one - one.max()), np.exp(two - two.max())
    alike = float(a @ b)
    differ = float(a.sum() * b.sum()) - alike
    n = len(a)
    return 10 * math.log10(differ / (n * (n - 1)) / (alike / n))


def _level(logs: Array) -> float:
    shares = np.exp(logs - logs.max())
    return float(shares @ np.arange(len(shares)) / shares.sum())


def _difference(ontology: Ontology, percept: str, one: Cell, two: Cell) -> Difference:
    quality = ontology.qualities[percept]
    if ("absent", "absent") not in ontology.tables.documented:
        return Difference(percept, quality.label, quality.sense, one.state, two.state, 0.0, 0.0, 0.0, 0.0, "cannot be said")
    logs = intensity_logs(ontology, one), intensity_logs(ontology, two)
    levels = _level(logs[0]), _level(logs[1])
    weight = difference_db(*logs)
    return Difference(percept, quality.label, quality.sense, one.state, two.state, *levels, levels[1] - levels[0], weight, _word(one.state, two.state, levels[1] - levels[0], weight))


def _word(first: str, second: str, step: float, weight_db: float) -> str:
    if weight_db <= -TOLD_DB:
        return "the same"
    if weight_db < TOLD_DB:
        return "cannot be said"
    if step > 0:
        return "new" if first in ("absent", "unnoticed") else "stronger"
    return "gone" if second in ("absent", "unnoticed") else "weaker"


def _made_differently(first: Record, second: Record) -> tuple[tuple[str, str, str], ...]:
    """(what, first, second) where the cups were not made alike; "" where it is not on record."""
    found = []
    strengths = [_strength(r.preparation) for r in (first, second)]
    if strengths[0] != strengths[1]:
        found.append(("strength in g per 100 mL", *strengths))
    for name in Preparation._fields:
        a, b = getattr(first.preparation, name), getattr(second.preparation, name)
        if a != b and name not in ("herb_grams", "cold_water_ml", "boiling_water_ml"):
            found.append((name.replace("_", " "), _text(a), _text(b)))
    return tuple(found)  # type: ignore[arg-type]


def _strength(p: Preparation) -> str:
    return "" if p.grams_per_100_ml is None else f"{p.grams_per_100_ml:.2g}"


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def _families(ontology: Ontology, net: Network, first: Record, second: Record) -> tuple[tuple[str, str, float, float], ...]:
    """(id, label, chance after the first, after the second) of the families that moved most."""
    members = ontology.families
    questions = [dict.fromkeys(m, 1.0) for m in members.values()]
    after = []
    for record in (first, second):
        around = circumstances_of(ontology, record)
        after.append(Inference(net, around, cells_of(ontology, net, record, around)).posterior_any(questions)[0])
    moved = [(id, ontology.family_label(id), float(a), float(b)) for id, a, b in zip(members, *after, strict=True) if abs(a - b) >= _MOVED]
    return tuple(sorted(moved, key=lambda f: (-abs(firm(f[3] - f[2])), f[0])))


def _remarks(first: Record, second: Record, differences: Sequence[Difference]) -> list[str]:
    """What the trade would think of first."""
    told = [d for d in differences if abs(d.weight_db) >= TOLD_DB]
    weaker = [d for d in told if d.word in ("weaker", "gone")]
    found = []
    smells = [d.label for d in weaker if d.sense == "aroma"]
    # a taste that is there in both, and nothing speaks for a difference
    fixed = [d.label for d in differences if d.sense in ("taste", "mouthfeel") and d.weight_db < 0 and {d.first, d.second} <= set(INTENSITIES[1:])]
    if smells and fixed and not [d for d in weaker if d.sense in ("taste", "mouthfeel")]:
        found.append(f"The smell of the second went down ({', '.join(smells)}) and the taste stands ({', '.join(fixed)}): what is volatile may have gone with age, warmth or an open lid.")
    stands = [d for d in told if d.word in ("stronger", "new")]
    if len(weaker) >= 2 and not stands and not fixed:
        found.append("Everything that changed went down: brew both at the same strength, side by side, before the herb is blamed.")
    one, two = _strength(first.preparation), _strength(second.preparation)
    if not (one and two):
        found.append("The strength of the cup is not on record for both: weigh herb and water, else a weak brew and a weak herb look alike.")
    if set(first.tasters) != set(second.tasters):
        found.append("The tasters are not the same: part of what differs may be theirs.")
    return found
