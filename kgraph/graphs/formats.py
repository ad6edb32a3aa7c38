"""The graph as text: Turtle, N-Quads, JSON-LD, GraphML, node-link JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from io import BytesIO
from itertools import chain
from typing import TYPE_CHECKING, Any

from pyoxigraph import Literal, NamedNode, Quad, RdfFormat, Triple, serialize

from kgraph.claims import Ontology
from kgraph.graphs.iris import DCTERMS, PROV, RDF, RDFS, SKOS, VOID, XSD, Names

if TYPE_CHECKING:
    import networkx

    from kgraph.tasting.record import Record

#: Ending to the format it stands for; node-link JSON has none of its own, because `.json` is that of references.
ENDINGS = {".ttl": "turtle", ".jsonld": "json-ld", ".nq": "n-quads", ".graphml": "graphml"}
FORMATS = (*sorted(ENDINGS.values()), "node-link")
RDF_FORMATS = ("turtle", "json-ld", "n-quads")
#: What XML 1.0 cannot hold (section 2.2); YAML lets a few of these through.
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

#: Properties whose values are always IRIs: in JSON-LD they are written as plain text under a coercion of the context.
_LINKS = (
    RDF + "subject", RDF + "predicate", SKOS + "inScheme", SKOS + "broader", SKOS + "narrower", SKOS + "topConceptOf", SKOS + "hasTopConcept",
    DCTERMS + "source", DCTERMS + "isPartOf", DCTERMS + "publisher", PROV + "wasAttributedTo", PROV + "wasGeneratedBy", PROV + "qualifiedPrimarySource",
    PROV + "entity", PROV + "wasAssociatedWith", RDFS + "subClassOf", VOID + "class", VOID + "classPartition",
)


def _united(parts: dict[str, list[Triple]]) -> Iterator[Triple]:
    """All triples; no part repeats one of another."""
    return chain.from_iterable(parts.values())


def turtle(parts: dict[str, list[Triple]], names: Names) -> str:
    """Turtle, one block a subject where its triples stand together."""
    return (serialize(_united(parts), format=RdfFormat.TURTLE, prefixes=names.prefixes) or b"").decode()


def n_quads(parts: dict[str, list[Triple]], names: Names) -> str:
    """N-Quads, each part in a graph of its own: `graph/claims`, `graph/things` ..."""
    texts = []
    for part, triples in parts.items():
        graph = NamedNode(names.of("graph", part))
        texts.append((serialize((Quad(t.subject, t.predicate, t.object, graph) for t in triples), format=RdfFormat.N_QUADS) or b"").decode())
    return "".join(texts)


class _Compact:
    """Shortens IRIs by the context, so that reading it back gives the same IRIs."""

    def __init__(self, names: Names) -> None:
        self.prefixes = sorted(names.prefixes.items(), key=lambda pair: -len(pair[1]))
        self._known: dict[str, str] = {}

    def __call__(self, iri: str) -> str:
        found = self._known.get(iri)
        if found is None:
            found = next((f"{prefix}:{rest}" for prefix, space in self.prefixes if iri.startswith(space) and (rest := iri[len(space):]) and not rest.startswith("//")), iri)
            self._known[iri] = found
        return found


def json_ld(parts: dict[str, list[Triple]], names: Names) -> str:
    """JSON-LD 1.1 with its context inside: nothing has to be fetched to read it."""
    short = _Compact(names)
    context: dict[str, Any] = {"@version": 1.1, **{prefix: {"@id": space, "@prefix": True} for prefix, space in names.prefixes.items()}}
    context |= {short(iri): {"@type": "@id"} for iri in _LINKS}
    subjects: dict[str, dict[str, list[Any]]] = {}
    for triple in _united(parts):
        subject, predicate, value = triple.subject.value, triple.predicate.value, triple.object  # type: ignore[union-attr]
        node = subjects.setdefault(subject, {})
        if predicate == RDF + "type" and isinstance(value, NamedNode):
            node.setdefault("@type", []).append(short(value.value))
        else:
            node.setdefault(short(predicate), []).append(_json_value(predicate, value, short))
    graph = [{"@id": short(iri), **{key: found[0] if len(found) == 1 else found for key, found in node.items()}} for iri, node in subjects.items()]
    rows = ",\n".join(json.dumps(node, ensure_ascii=False, separators=(",", ":")) for node in graph)
    return f'{{"@context":{json.dumps(context, ensure_ascii=False, indent=1)},\n"@graph":[\n{rows}\n]}}\n'


def _json_value(predicate: str, value: Any, short: _Compact) -> Any:
    if isinstance(value, NamedNode):
        return short(value.value) if predicate in _LINKS else {"@id": short(value.value)}
    assert isinstance(value, Literal)
    if value.language:
        return {"@language": value.language, "@value": value.value}
    kind = value.datatype.value
    if kind == XSD + "boolean":
        return value.value == "true"
    if kind == XSD + "integer":
        return int(value.value)
    if kind == XSD + "string":
        # under a coercion to IRIs bare text would become one
        return {"@value": value.value} if predicate in _LINKS else value.value
    return {"@type": short(kind), "@value": value.value}


def graphml(graph: networkx.MultiDiGraph) -> str:
    """GraphML with the attributes of :func:`kgraph.graphs.multigraph.multigraph`; characters that XML forbids become U+FFFD."""
    import networkx

    clean = networkx.MultiDiGraph(**{k: _xml(v) for k, v in graph.graph.items()})
    clean.add_nodes_from((_xml(id), {k: _xml(v) for k, v in data.items()}) for id, data in graph.nodes(data=True))
    clean.add_edges_from((_xml(u), _xml(v), _xml(key), {k: _xml(x) for k, x in data.items()}) for u, v, key, data in graph.edges(keys=True, data=True))
    out = BytesIO()
    networkx.write_graphml(clean, out, encoding="utf-8", prettyprint=True, named_key_ids=True)
    return out.getvalue().decode() + "\n"


def _xml(value: Any) -> Any:
    return _NOT_XML.sub("\ufffd", value).replace("\r", "\ufffd") if isinstance(value, str) else value


def node_link(graph: networkx.MultiDiGraph) -> str:
    """The node-link form that networkx reads back with `node_link_graph(data, edges="edges")`."""
    import networkx

    return json.dumps(networkx.node_link_data(graph, edges="edges"), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def export(ontology: Ontology, format: str, names: Names | None = None, records: Iterable[Record] = ()) -> str:
    """The whole ontology in one of `FORMATS`; tasting records go into the three RDF formats."""
    if format in RDF_FORMATS:
        from kgraph.graphs.records import record_triples
        from kgraph.graphs.triples import TripleMaker

        names = names or Names()
        tastings = [triple for record in records for triple in record_triples(record, ontology, names)]
        parts = TripleMaker(ontology, names).parts(tastings)
        return {"turtle": turtle, "json-ld": json_ld, "n-quads": n_quads}[format](parts, names)
    from kgraph.graphs.multigraph import multigraph

    return graphml(multigraph(ontology)) if format == "graphml" else node_link(multigraph(ontology))
