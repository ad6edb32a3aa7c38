"""The words that a tasting may use, taken from an ontology."""

from __future__ import annotations

from kgraph.claims import Ontology
from kgraph.tasting import Vocabulary


def vocabulary_of(ontology: Ontology) -> Vocabulary:
    """The vocabulary for records and plain words."""
    return Vocabulary(
        qualities={q.id: (q.label, *q.also) for q in ontology.qualities.values()},
        absences=frozenset(q.id for q in ontology.qualities.values() if q.kind == "absence"),
        herbs=frozenset(ontology.herbs),
        stops=frozenset(q.id for q in ontology.qualities.values() if q.kind == "stop"),
        tasted=frozenset(q.id for q in ontology.qualities.values() if q.sense == "taste" and q.kind != "absence"),
        never_tasted=frozenset(h.id for h in ontology.herbs.values() if h.taste_safety == "do-not-taste"),
        tests=frozenset(ontology.tests),
        states={c.values[0]: c.label for c in ontology.conditions.values() if c.field == "state"},
        standard_list=ontology.tables.standard_list,
        standard_version=ontology.tables.standard_version,
    )
