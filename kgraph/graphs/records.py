"""Tasting records as observations (W3C Semantic Sensor Network ontology: sosa), beside the knowledge they were made with."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import PurePath

from pyoxigraph import Literal, NamedNode, Triple

from kgraph.claims import Ontology
from kgraph.graphs.iris import DCTERMS, PROV, RDF, RDFS, SOSA, Names
from kgraph.graphs.triples import number, truth, when
from kgraph.tasting.record import Record


def record_triples(record: Record, ontology: Ontology, names: Names) -> list[Triple]:
    """One record: its sample, preparation, tasters, findings, tests and impressions. Tasters appear under the ids of the record.

    The record's own name is the hash of what it says, so that the same record has the same IRIs everywhere.
    """
    return list(dict.fromkeys(_triples(record, ontology, names)))


def _fingerprint(record: Record) -> str:
    said = [record.tasted_on, record.sample.code, record.sample.herbs or record.sample.herb, sorted(record.sample.batch.items()), record.preparation,
            [tuple(f[:5]) for f in record.findings], [o[:2] for o in record.tests], record.impressions, sorted(record.tasters.values())]
    return hashlib.sha256(repr(said).encode()).hexdigest()[:16]


def _triples(record: Record, ontology: Ontology, names: Names) -> Iterator[Triple]:
    key = _fingerprint(record)
    node, kind = NamedNode, NamedNode(RDF + "type")

    def term(name: str) -> NamedNode:
        return node(names.term(name))

    sample, cup = node(names.dotted("sample", key)), node(names.dotted("preparation", key))
    yield Triple(sample, kind, node(SOSA + "Sample"))
    yield Triple(sample, node(PROV + "wasGeneratedBy"), cup)
    if record.file:
        yield Triple(sample, node(DCTERMS + "source"), Literal(PurePath(record.file).name))
    if record.sample.code:
        yield Triple(sample, node(DCTERMS + "identifier"), Literal(record.sample.code))
    for herb in record.sample.herbs or tuple(filter(None, [record.sample.herb])):
        yield Triple(sample, node(SOSA + "isSampleOf"), node(names.thing("herb", herb)) if herb in ontology.herbs else Literal(herb))
    for name, text in sorted(record.sample.batch.items()):
        if text:
            yield Triple(sample, term("batch"), Literal(f"{name}: {text}"))
    yield Triple(cup, kind, node(PROV + "Activity"))
    for name, value in record.preparation._asdict().items():
        if value in (None, "", ()):
            continue
        predicate = term("prepared" + "".join(part.capitalize() for part in name.split("_")))
        for one in value if isinstance(value, tuple) else (value,):
            yield Triple(cup, predicate, truth(one) if isinstance(one, bool) else number(one) if isinstance(one, int | float) else Literal(str(one)))
    for id, taster in record.tasters.items():
        who = node(names.dotted("taster", key, id))
        yield Triple(who, kind, node(PROV + "Agent"))
        yield Triple(who, kind, node(SOSA + "Sensor"))
        yield Triple(who, node(RDFS + "label"), Literal(id))
        for state in taster.state:
            yield Triple(who, term("state"), Literal(state))
    for order, finding in enumerate(record.findings, start=1):
        at = node(names.dotted("tasting", key, str(order)))
        yield Triple(at, kind, node(SOSA + "Observation"))
        yield Triple(at, kind, term("Tasting"))
        yield Triple(at, node(SOSA + "hasFeatureOfInterest"), sample)
        yield Triple(at, node(SOSA + "observedProperty"), node(names.thing("quality", finding.quality)))
        yield Triple(at, node(SOSA + "madeBySensor"), node(names.dotted("taster", key, finding.taster)))
        yield Triple(at, node(SOSA + "hasSimpleResult"), number(finding.strength))
        yield Triple(at, term("noticed"), Literal(finding.word))
        if record.tasted_on:
            yield Triple(at, node(SOSA + "resultTime"), when(record.tasted_on))
        for name, text in (("when", finding.when), ("place", finding.where)):
            if text:
                yield Triple(at, term(name), Literal(text))
    for order, outcome in enumerate(record.tests, start=1):
        at = node(names.dotted("outcome", key, str(order)))
        yield Triple(at, kind, node(SOSA + "Observation"))
        yield Triple(at, node(SOSA + "hasFeatureOfInterest"), sample)
        yield Triple(at, node(SOSA + "usedProcedure"), node(names.thing("test", outcome.test)))
        yield Triple(at, node(SOSA + "hasSimpleResult"), truth(outcome.seen))
    for order, impression in enumerate(record.impressions, start=1):
        at = node(names.dotted("impression", key, str(order)))
        yield Triple(at, kind, term("Impression"))
        yield Triple(at, node(RDFS + "comment"), Literal(impression.text))
        yield Triple(at, node(PROV + "wasAttributedTo"), node(names.dotted("taster", key, impression.taster)))
        yield Triple(at, node(DCTERMS + "subject"), sample)
