"""Claims read back from an RDF graph by SPARQL: what the graph says, without a look at the files it came from."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from pyoxigraph import Literal, NamedNode, QuerySolutions, Store

from kgraph.claims.model import Attribution, Claim, Fact
from kgraph.graphs.iris import RDF, XSD, Names
from kgraph.graphs.triples import uncamel
from kgraph.graphs.vocabulary import RELATIONS

_CLAIMS = "SELECT ?claim ?property ?value WHERE { ?claim a kg:Claim ; ?property ?value }"
_ATTRIBUTIONS = """SELECT ?claim ?order ?source ?where ?read WHERE {
  ?claim a kg:Claim ; prov:qualifiedPrimarySource ?at . ?at prov:entity ?source ; kg:order ?order .
  OPTIONAL { ?at kg:where ?where } OPTIONAL { ?at kg:readOn ?read } }"""
_RELATION_OF = {property_: relation for relation, (property_, _, _) in RELATIONS.items()}
#: The grading word stands under its own name; everything else in the vocabulary of a claim is a field.
_WORDS = ("strength", "hit", "level", "intensity", "severity", "status", "effect", "kind")
_LISTS = ("markers", "implies_classes", "implies_qualities")


def rows(store: Store, query: str, names: Names) -> list[list[Any]]:
    """All rows of a SELECT over every graph of the store, None where a variable is unbound."""
    found = store.query(query, prefixes=names.prefixes, use_default_graph_as_union=True)
    assert isinstance(found, QuerySolutions)
    return [list(row) for row in found]


def claims_in(store: Store, names: Names) -> list[Claim]:
    """The claims of a graph that :func:`kgraph.graphs.formats.export` wrote, sorted by id; lists are sorted, places in files are not held."""
    said: dict[str, dict[str, list[Any]]] = defaultdict(lambda: defaultdict(list))
    for claim, property_, value in rows(store, _CLAIMS, names):
        said[claim.value][property_.value].append(value)
    attributions: dict[str, list[tuple[int, Attribution]]] = defaultdict(list)
    for claim, order, source, where, read in rows(store, _ATTRIBUTIONS, names):
        attributions[claim.value].append((int(order.value), Attribution(names.id_of(source.value), where.value if where else "", read.value if read else "")))
    return sorted((_claim(iri, found, attributions[iri], names) for iri, found in said.items()), key=lambda claim: claim.id)


def _claim(iri: str, said: dict[str, list[Any]], attributions: list[tuple[int, Attribution]], names: Names) -> Claim:
    def one(property_: str) -> Any:
        return said[property_][0]

    relation = _RELATION_OF[names.id_of(one(RDF + "predicate").value)]
    word = ""
    facts: dict[str, Fact] = {}
    own = names.term("")
    skip = {names.term(name) for name in ("basis", "read", "fromMemory", "commonPractice", "contradicts")}
    for property_, values in said.items():
        if not property_.startswith(own) or property_ in skip:
            continue
        key = uncamel(property_[len(own):])
        if key in _WORDS and isinstance(values[0], NamedNode):
            word = names.id_of(values[0].value).split(".", 1)[1]
        else:
            facts[key] = tuple(sorted(str(_fact(v, names)) for v in values)) if key in _LISTS else _fact(values[0], names)
    basis = said.get(names.term("basis"))
    return Claim(
        id=names.claim_id(iri), relation=relation, subject=_end(one(RDF + "subject"), names), object=_end(one(RDF + "object"), names), word=word,
        basis=names.id_of(basis[0].value).split(".", 1)[1] if basis else "", attributions=tuple(a for _, a in sorted(attributions)),
        from_memory=one(names.term("fromMemory")).value == "true", common_practice=one(names.term("commonPractice")).value == "true",
        facts=dict(sorted(facts.items())),
    )


def _end(value: Any, names: Names) -> str:
    return names.id_of(value.value) if isinstance(value, NamedNode) else value.value


def _fact(value: Any, names: Names) -> Fact:
    if isinstance(value, NamedNode):
        return names.id_of(value.value).split(".", 1)[1]
    assert isinstance(value, Literal)
    kind = value.datatype.value
    if kind == XSD + "boolean":
        return value.value == "true"
    if kind == XSD + "integer":
        return int(value.value)
    return float(value.value) if kind == XSD + "decimal" else value.value
