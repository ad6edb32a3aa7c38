"""How well each herb on file fits the reports: P(reports | herb), percept by percept.

A documented quality speaks for itself through the table "report given documented intensity"; the other qualities come
from the herb's classes, scaled by their level. Given a herb its classes are known, so the percepts part and the product
is exact.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from kgraph.claims import Claim, Ontology
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.inference import arc_strength, other_cause
from kgraph.reasoning.network import Network
from kgraph.reasoning.weights import firm

_INTENSITY_ORDER = ("absent", "weak", "moderate", "strong")


def documented_intensities(ontology: Ontology, herb: str) -> dict[str, str]:
    """Percept to documented intensity: the strongest word where several words or sources name one percept."""
    found: dict[str, str] = {}
    for claim in ontology.said_of("described_as", herb):
        quality = ontology.qualities[claim.object]
        if quality.kind == "absence":
            for id in quality.absence_of:
                found.setdefault(ontology.percept(id), "absent")
        elif quality.kind != "stop":
            percept = ontology.percept(claim.object)
            before = found.get(percept, "absent")
            found[percept] = max(before, claim.word, key=_INTENSITY_ORDER.index)
    return found


def level_words(ontology: Ontology, herb: str) -> dict[str, str]:
    """Class to its level in this herb; where sources differ, that of the claim that rules."""
    claims: dict[str, list[Claim]] = {}
    for claim in ontology.said_of("contains", herb):
        claims.setdefault(claim.object, []).append(claim)
    return {id: (found[0] if len(found) == 1 else ontology.ruling(found)).word for id, found in claims.items()}


def herb_levels(ontology: Ontology, herb: str, *, plain: bool = False) -> dict[str, float]:
    """Class to the factor of its level in this herb, on arcs into what is there or into what is plain."""
    return {id: ontology.tables.level(word, plain=plain) for id, word in level_words(ontology, herb).items()}


def _cell_terms(ontology: Ontology, net: Network, circumstances: Circumstances, cell: Cell) -> tuple[float, dict[str, float], dict[str, float]]:
    """What every herb needs of one cell: P(not there by other causes), class to arc strength, documented intensity to log likelihood."""
    quiet = 1.0
    arcs: dict[str, float] = {}
    for percept in (cell.percept, *net.groups.get(cell.percept, ())):
        quiet *= 1 - other_cause(net, circumstances, percept, plain=cell.plain)
        for id in net.evokers(percept):
            arcs[id] = 1 - (1 - arcs.get(id, 0.0)) * (1 - arc_strength(net, circumstances, id, percept))
    documented: dict[str, float] = {}
    table = ontology.tables.documented
    if ("absent", cell.state) in table:
        # several tasters, and silence, weigh in this table as they do in the reports
        for intensity in _INTENSITY_ORDER:
            ratio = sum(weight * math.log(table[(intensity, state)] / table[("absent", state)]) for state, weight in cell.reports or ((cell.state, 1.0),))
            documented[intensity] = ratio + math.log(cell.not_there)
    return quiet, arcs, documented


def documented_as(net: Network, intensities: Mapping[str, str], percept: str) -> str | None:
    """The documented intensity; a group is as strong as the strongest of its kinds, and a denied group denies these."""
    if percept in intensities:
        return intensities[percept]
    kinds = [intensities[kind] for kind in net.groups.get(percept, ()) if kind in intensities]
    if kinds:
        return max(kinds, key=_INTENSITY_ORDER.index)
    denied = any(percept in net.groups.get(group, ()) for group, word in intensities.items() if word == "absent")
    return "absent" if denied else None


def likelihoods(ontology: Ontology, net: Network, circumstances: Circumstances, cells: Sequence[Cell]) -> dict[str, list[float]]:
    """Herb to the natural log of P(report | herb) for each cell, in the cells' own scale (the larger of there and not there is 1)."""
    terms = [(cell, *_cell_terms(ontology, net, circumstances, cell)) for cell in cells]
    logs: dict[str, list[float]] = {}
    for herb in ontology.herbs:
        intensities = documented_intensities(ontology, herb)
        levels = (herb_levels(ontology, herb), herb_levels(ontology, herb, plain=True))
        found = []
        for cell, spontaneous, arcs, documented in terms:
            intensity = documented_as(net, intensities, cell.percept)
            if intensity is not None and documented:
                found.append(documented[intensity])
                continue
            quiet = spontaneous
            for id, factor in levels[cell.plain].items():
                if id in arcs:
                    quiet *= 1 - factor * arcs[id]
            found.append(math.log(quiet * cell.not_there + (1 - quiet) * cell.there))
        logs[herb] = found
    return logs


def fits(ontology: Ontology, net: Network, circumstances: Circumstances, cells: Sequence[Cell]) -> dict[str, float]:
    """Herb to decibans below the best-fitting herb (0 for the best, negative for the others)."""
    logs = {herb: sum(found) for herb, found in likelihoods(ontology, net, circumstances, cells).items()}
    best = max(logs.values(), default=0.0)
    return {herb: 10 * (value - best) / math.log(10) for herb, value in logs.items()}


def share_there(ontology: Ontology, net: Network, circumstances: Circumstances, cell: Cell, herb: str) -> float:
    """P(the percept is there, or plain where the cell asks so) in the herb, by what its classes give and other causes, descriptions aside."""
    quiet, arcs, _ = _cell_terms(ontology, net, circumstances, cell)
    for id, factor in herb_levels(ontology, herb, plain=cell.plain).items():
        quiet *= 1 - factor * arcs.get(id, 0.0)
    return 1 - quiet


def poisons_near(ontology: Ontology, fit: dict[str, float], within_db: float = 10.0) -> list[str]:
    """Do-not-taste herbs that fit within so many decibans of the best, best first."""
    near = [h for h, db in fit.items() if db >= -within_db and ontology.herbs[h].taste_safety == "do-not-taste"]
    return sorted(near, key=lambda h: (-firm(fit[h]), h))
