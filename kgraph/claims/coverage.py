"""What an ontology covers, and where it is thin: counts for an editor."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any

from kgraph.claims.model import Claim
from kgraph.claims.ontology import Ontology

#: The senses of the mouth; a herb without any of these says nothing to a taster's tongue.
MOUTH = ("taste", "mouthfeel", "chemesthesis", "aftertaste")
_REGULATOR = ("medicines agency", "world health", "health canada", "commission e", "food safety", "regulat", "pharmacopoeia", "ministry", "agency", "federal", "authority", "bundes", "administration")


def _counted(values: Iterable[str]) -> dict[str, int]:
    return dict(sorted(Counter(values).items()))


def best_grade(ontology: Ontology, claim: Claim) -> str:
    """The best grade among the sources of a claim that were read; else ``from-memory`` or ``common-practice``."""
    grades = [ontology.sources[a.source].grade for a in claim.attributions if a.read]
    if grades:
        return min(grades)
    return "common-practice" if claim.common_practice else "from-memory"


def by_a_regulator(ontology: Ontology, claim: Claim) -> bool:
    """Is one of the sources that were read a regulator, the WHO or a pharmacopoeia? Judged by the author's name."""
    for attribution in claim.attributions:
        source = ontology.sources[attribution.source]
        text = f"{source.author} {source.title}".lower()
        if attribution.read and source.grade == "A" and any(word in text for word in _REGULATOR):
            return True
    return False


def coverage(ontology: Ontology) -> dict[str, Any]:
    """Counts by name. Integers: ``herbs``, ``claims``, ``seen``, ``from_memory``; lists name what is missing."""
    claims = ontology.claims
    of_herbs = [c for c in claims if c.subject in ontology.herbs]
    avoid = [c for c in ontology.all_of("warns_of") if c.word == "avoid"]
    tasted = {
        c.subject for c in ontology.all_of("described_as") if ontology.qualities[c.object].sense in MOUTH
    }
    held = {c.object for c in ontology.all_of("contains")}
    evoked = {ontology.percept(c.object) for c in ontology.all_of("evokes")}
    return {
        "herbs": len(ontology.herbs),
        "claims": len(claims),
        "seen": sum(c.seen for c in claims),
        "from_memory": sum(not c.seen and not c.common_practice for c in claims),
        "common_practice": sum(not c.seen and c.common_practice for c in claims),
        "herb_claims": len(of_herbs),
        "herb_claims_seen": sum(c.seen for c in of_herbs),
        "avoid": len(avoid),
        "avoid_seen": sum(c.seen for c in avoid),
        "sources": len(ontology.sources),
        "claims_by_relation": _counted(c.relation for c in claims),
        "claims_by_basis": _counted(c.basis for c in claims if c.basis),
        "claims_by_grade": _counted(best_grade(ontology, c) for c in claims),
        "herbs_by_taste_safety": _counted(h.taste_safety for h in ontology.herbs.values()),
        "herbs_without_mouthfeel": sorted(set(ontology.herbs) - tasted),
        "classes_without_herbs": sorted(set(ontology.classes) - held),
        "qualities_that_nothing_evokes": sorted(
            q.id for q in ontology.qualities.values() if q.kind in ("percept", "kind", "colour") and q.id not in evoked
        ),
        "cautions_without_a_regulators_word": sorted(
            id for id in ontology.things["caution"]
            if (found := ontology.pointing_at("warns_of", id)) and not any(by_a_regulator(ontology, c) for c in found)
        ),
        "avoid_from_memory": sorted(c.id for c in avoid if not c.seen),
        "contradictions": [sorted(c.id for c in found) for found in ontology.contradictions],
    }
