"""How well each herb on file fits the reports: P(reports | herb), percept by percept.

A documented quality speaks for itself through the table "report given documented intensity"; the other qualities come
from the herb's classes, scaled by their level. Given a herb its classes are known, so the percepts part and the product
is exact.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from kgraph.claims import Ontology
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.inference import arc_strength, other_cause
from kgraph.reasoning.network import Network

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


def herb_levels(ontology: Ontology, herb: str) -> dict[str, float]:
    """Class to the factor of its level in this herb."""
    levels: dict[str, list[str]] = {}
    for claim in ontology.said_of("contains", herb):
        levels.setdefault(claim.object, []).append(claim.id)
    return {id: ontology.tables.levels[ontology.ruling([ontology.claim(c) for c in claims]).word] for id, claims in levels.items()}


def log_fit(ontology: Ontology, net: Network, circumstances: Circumstances, cells: Sequence[Cell], herb: str) -> float:
    """Natural log of P(reports | herb), up to a constant that is the same for all herbs."""
    documented = documented_intensities(ontology, herb)
    levels = herb_levels(ontology, herb)
    table = ontology.tables.documented
    total = 0.0
    for cell in cells:
        intensity = documented.get(cell.percept)
        if intensity is not None and (intensity, cell.state) in table:
            # the table is P(report | documented); against the same report where the percept is not there
            ratio = table[(intensity, cell.state)] / table[("absent", cell.state)]
            pooled = cell.log_ratio
            there, not_there = ontology.tables.report("taster", cell.state, cell.percept)
            scale = pooled / math.log(there / not_there) if there != not_there else 1.0
            total += scale * math.log(ratio) + math.log(cell.not_there)
            continue
        percepts = [cell.percept, *(k for k in net.groups.get(cell.percept, ()))]
        quiet = 1.0
        for percept in percepts:
            quiet *= 1 - other_cause(net, circumstances, percept)
            for id, factor in levels.items():
                quiet *= 1 - factor * arc_strength(net, circumstances, id, percept)
        total += math.log(quiet * cell.not_there + (1 - quiet) * cell.there)
    return total


def fits(ontology: Ontology, net: Network, circumstances: Circumstances, cells: Sequence[Cell]) -> dict[str, float]:
    """Herb to decibans below the best-fitting herb (0 for the best, negative for the others)."""
    logs = {herb: log_fit(ontology, net, circumstances, cells, herb) for herb in ontology.herbs}
    best = max(logs.values(), default=0.0)
    return {herb: 10 * (value - best) / math.log(10) for herb, value in logs.items()}


def poisons_near(ontology: Ontology, fit: dict[str, float], within_db: float = 10.0) -> list[str]:
    """Do-not-taste herbs that fit within so many decibans of the best, best first."""
    near = [h for h, db in fit.items() if db >= -within_db and ontology.herbs[h].taste_safety == "do-not-taste"]
    return sorted(near, key=lambda h: (-fit[h], h))
