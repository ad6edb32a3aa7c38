"""The graph as networkx: things are nodes, claims are edges. What is drawn and what paths are sought in is this graph.

Node: ``kind/id``, with attributes ``kind``, ``slug`` (its id), ``label``, ``definition``, ``also`` (other words, joined by " | "), and where they
apply ``sense``, ``quality_kind``, ``poison``, ``taste_safety``, ``botanical_name``, ``part``. Text that is no thing of the ontology (a tradition,
what an assay measures) is a node of kind ``tradition`` or ``assay``.

Edge: from the subject to the object of a claim, under the claim's id as key, with attributes ``relation``, ``word`` (the grading word),
``strength`` (its number, for strength words), ``basis``, ``sources`` (ids, joined by " | "), ``read``, ``from_memory``, ``common_practice``,
and the further fields of the claim (``detail``, ``note``, ``mechanism`` ...), lists joined by " | ". Three relations come from the things
themselves and have no source: ``in_family`` (class to family), ``word_for`` and ``kind_of`` (quality to quality).
"""

from __future__ import annotations

import networkx

from kgraph.claims import Ontology
from kgraph.claims.model import KINDS, Claim, ConstituentClass, Herb, Quality, Thing
from kgraph.claims.relations import LINKS, OF_HERB

JOIN = " | "
STRUCTURE = ("in_family", "word_for", "kind_of")
_TEXT_KIND = {"read_as": "tradition", "assays": "assay"}


def node_id(kind: str, id: str) -> str:
    return f"{kind}/{id}"


def ends(ontology: Ontology, claim: Claim) -> tuple[str, str]:
    """The nodes that a claim joins."""
    of_herb = claim.subject in ontology.things["herb"]
    relation = (OF_HERB if of_herb else LINKS)[claim.relation]

    def found(id: str, allowed: tuple[str, ...], text: str) -> str:
        return node_id(next((kind for kind in allowed if id in ontology.things[kind]), text), id)

    subject = node_id("herb", claim.subject) if of_herb else found(claim.subject, relation.subject[1], "text")
    return subject, found(claim.object, relation.object[1], _TEXT_KIND.get(claim.relation, "text"))


def multigraph(ontology: Ontology) -> networkx.MultiDiGraph:
    """The graph of an ontology, in the order of its things and claims."""
    graph = networkx.MultiDiGraph(
        title=ontology.header.get("title", ""), version=ontology.version, licence=ontology.header.get("licence", ""), sha256=ontology.sha256,
    )
    for kind in KINDS:
        for id, thing in ontology.things[kind].items():
            graph.add_node(node_id(kind, id), **_node(kind, id, thing))
    for id, thing in ontology.things["class"].items():
        if isinstance(thing, ConstituentClass) and thing.family:
            _join(graph, "in_family", node_id("class", id), node_id("family", thing.family))
    for id, quality in ontology.qualities.items():
        if quality.of:
            _join(graph, "word_for" if quality.kind == "word" else "kind_of", node_id("quality", id), node_id("quality", quality.of))
    for claim in ontology.claims:
        subject, target = ends(ontology, claim)
        for end, text in ((subject, claim.subject), (target, claim.object)):
            if end not in graph:
                graph.add_node(end, kind=end.split("/", 1)[0], slug=text, label=text, definition="", also="")
        graph.add_edge(subject, target, key=claim.id, **_edge(ontology, claim))
    return graph


def _join(graph: networkx.MultiDiGraph, relation: str, u: str, v: str) -> None:
    graph.add_edge(u, v, key=f"{relation}/{u.split('/', 1)[1]}/{v.split('/', 1)[1]}", relation=relation, word="", sources="")


def _node(kind: str, id: str, thing: Thing) -> dict[str, str | bool]:
    also = thing.also
    data: dict[str, str | bool] = {"kind": kind, "slug": id, "label": thing.label, "definition": thing.definition}
    if isinstance(thing, Quality):
        data |= {"sense": thing.sense, "quality_kind": thing.kind}
    elif isinstance(thing, ConstituentClass):
        data["poison"] = thing.poison
    elif isinstance(thing, Herb):
        also = tuple(dict.fromkeys((*thing.common_names, *thing.synonyms, *thing.also)))
        data |= {"botanical_name": thing.name, "part": thing.part, "taste_safety": thing.taste_safety}
    return data | {"also": JOIN.join(also)}


def _edge(ontology: Ontology, claim: Claim) -> dict[str, str | float | bool]:
    data: dict[str, str | float | bool] = {"relation": claim.relation, "word": claim.word}
    if claim.relation in ("evokes", "acts_as", "shown_by") and claim.word:
        data["strength"] = ontology.tables.strength(claim.word)
    if claim.basis:
        data["basis"] = claim.basis
    data |= {"sources": JOIN.join(claim.source_ids), "read": claim.seen, "from_memory": claim.from_memory, "common_practice": claim.common_practice}
    for key, value in claim.facts.items():
        # one type for each attribute: GraphML declares it once
        data[key] = float(value) if isinstance(value, int | float) and not isinstance(value, bool) else JOIN.join(value) if isinstance(value, tuple) else value
    return data
