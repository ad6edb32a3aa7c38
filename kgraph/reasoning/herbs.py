"""What is on file about one herb: its documented intensities and the levels of its classes."""

from __future__ import annotations

from kgraph.claims import Claim, Ontology
from kgraph.claims.words import INTENSITIES
from kgraph.reasoning.weights import firm


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
            found[percept] = max(before, claim.word, key=INTENSITIES.index)
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


def poisons_near(ontology: Ontology, fit: dict[str, float], within_db: float = 10.0) -> list[str]:
    """Do-not-taste herbs that fit within so many decibans of the best, best first."""
    near = [h for h, db in fit.items() if db >= -within_db and ontology.herbs[h].taste_safety == "do-not-taste"]
    return sorted(near, key=lambda h: (-firm(fit[h]), h))
