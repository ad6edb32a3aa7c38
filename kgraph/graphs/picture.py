"""What is drawn: a part of the networkx graph in layers, from the senses on the left to cautions on the right.

Positions are computed beforehand, the same on every run: a node's layer is its kind, its place in the layer comes from
sweeps that put each node near the middle of its neighbours (barycentre heuristic: Sugiyama, Tagawa and Toda 1981).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import NamedTuple

import networkx

from kgraph.claims import Ontology
from kgraph.graphs.multigraph import node_id

LAYERS = ("quality", "herb", "family", "class", "action", "use", "caution")
LAYER_NAMES = ("qualities", "herb", "families", "classes", "actions", "uses", "cautions")
#: Relations that are drawn, and those that follow from the things themselves.
DRAWN = ("evokes", "in_family", "word_for", "kind_of", "acts_as", "used_for", "warns_of", "contains", "described_as")
_SWEEPS = 8


class Node(NamedTuple):
    """A thing in the picture. ``place`` counts from 0 within its layer; ``mark`` is "never" for what is never to be tasted."""

    id: str
    kind: str
    label: str
    definition: str
    also: str
    sense: str
    mark: str
    layer: int
    place: int


class Link(NamedTuple):
    """A line in the picture, from the left node to the right one: all claims of one relation between two things.

    ``word`` and ``strength`` are those of the claim that rules; ``basis`` is "" where a relation has none.
    """

    source: int
    target: int
    relation: str
    word: str
    strength: float
    basis: str
    from_memory: bool
    claims: tuple[str, ...]


class Picture(NamedTuple):
    """Nodes by number, links between them, and the layers that are not empty."""

    title: str
    nodes: tuple[Node, ...]
    links: tuple[Link, ...]
    layers: tuple[int, ...]

    def number(self, id: str) -> int:
        """The number of a node. Raises KeyError."""
        return {node.id: i for i, node in enumerate(self.nodes)}[id]


def whole(graph: networkx.MultiDiGraph) -> set[str]:
    """Every quality, family, class, action, use and caution: what is said of classes, herbs left out."""
    drawn = {n for n, d in graph.nodes(data=True) if d["kind"] in LAYERS and d["kind"] != "herb"}
    return {end for u, v, d in graph.edges(data=True) if d["relation"] in DRAWN and u in drawn and v in drawn for end in (u, v)}


def around_herb(graph: networkx.MultiDiGraph, herb: str) -> set[str]:
    """A herb, what is said of it, and what its classes lead to."""
    centre = node_id("herb", herb)
    found = {centre} | {v for _, v, d in graph.out_edges(centre, data=True) if d["relation"] in DRAWN}
    classes = {n for n in found if graph.nodes[n]["kind"] == "class"}
    described = {n for n in found if graph.nodes[n]["kind"] == "quality"}
    found |= _families(graph, classes)
    found |= {v for c in classes for _, v, d in graph.out_edges(c, data=True) if d["relation"] in ("acts_as", "warns_of")}
    found |= {v for c in classes for _, v, d in graph.out_edges(c, data=True) if d["relation"] == "evokes" and (not described or v in described)}
    return found


def around_quality(graph: networkx.MultiDiGraph, quality: str) -> set[str]:
    """A quality with its words and kinds, what gives it, and what that leads to."""
    centre = node_id("quality", quality)
    qualities = {centre}
    for u, v, d in graph.edges(data=True):
        if d["relation"] in ("word_for", "kind_of") and centre in (u, v):
            qualities |= {u, v}
    classes = {u for q in qualities for u, _, d in graph.in_edges(q, data=True) if d["relation"] == "evokes" and d.get("strength", 1.0) > 0}
    families = {n for n in classes if graph.nodes[n]["kind"] == "family"}
    classes |= {u for f in families for u, _, d in graph.in_edges(f, data=True) if d["relation"] == "in_family"}
    onward = {v for c in classes for _, v, d in graph.out_edges(c, data=True) if d["relation"] in ("acts_as", "warns_of")}
    uses = {v for a in onward for _, v, d in graph.out_edges(a, data=True) if d["relation"] == "used_for"}
    return qualities | classes | _families(graph, classes) | onward | uses


def with_uses(graph: networkx.MultiDiGraph, nodes: Collection[str], limit: int = 60) -> set[str]:
    """The nodes, and the uses that hang under their actions, if these are not too many."""
    uses = sorted({v for n in nodes if graph.nodes[n]["kind"] == "action" for _, v, d in graph.out_edges(n, data=True) if d["relation"] == "used_for"})
    return set(nodes) | (set(uses) if len(uses) <= limit else set())


def _families(graph: networkx.MultiDiGraph, classes: Iterable[str]) -> set[str]:
    return {v for c in classes for _, v, d in graph.out_edges(c, data=True) if d["relation"] == "in_family"}


def picture(ontology: Ontology, graph: networkx.MultiDiGraph, chosen: Collection[str], title: str) -> Picture:
    """The picture of some nodes of the graph, with every drawn relation between them.

    Args:
        ontology: where the ruling claim is asked for.
        graph: the graph that reasoning walks too.
        chosen: node names, as ``class/mucilage``.
        title: what the picture shows.
    """
    part = graph.subgraph(chosen)
    groups: dict[tuple[str, str, str], list[str]] = {}
    for u, v, key, d in part.edges(keys=True, data=True):
        if d["relation"] in DRAWN:
            groups.setdefault((u, v, d["relation"]), []).append(key)
    order = _placed(part, [(u, v) for u, v, _ in groups])
    numbers = {id: i for i, id in enumerate(id for layer in order for id in layer)}
    nodes = tuple(
        Node(
            id, d["kind"], d["label"], d["definition"], d["also"], d.get("sense", ""), _mark(ontology, id, d), number, place,
        )
        for number, layer in enumerate(order) for place, id in enumerate(layer) for d in [part.nodes[id]]
    )
    links = [_link(ontology, part, numbers, u, v, relation, sorted(keys)) for (u, v, relation), keys in groups.items()]
    links.sort(key=lambda link: (link.source, link.target, link.relation))
    return Picture(title, nodes, tuple(links), tuple(i for i, layer in enumerate(order) if layer))


def _mark(ontology: Ontology, id: str, data: dict[str, object]) -> str:
    never = data.get("taste_safety") == "do-not-taste" or (data["kind"] == "class" and bool(data.get("poison")))
    return "never" if never else ""


def _link(ontology: Ontology, part: networkx.MultiDiGraph, numbers: dict[str, int], u: str, v: str, relation: str, keys: Sequence[str]) -> Link:
    left, right = (u, v) if LAYERS.index(part.nodes[u]["kind"]) <= LAYERS.index(part.nodes[v]["kind"]) else (v, u)
    if relation in ("in_family", "word_for", "kind_of"):
        return Link(numbers[left], numbers[right], relation, "", 0.5, "", False, ())
    claims = [ontology.claim(key) for key in keys]
    ruling = ontology.ruling(claims)
    return Link(
        numbers[left], numbers[right], relation, ruling.word, _width(ontology, relation, ruling.word), ruling.basis,
        not any(c.seen or c.common_practice for c in claims), (ruling.id, *(c.id for c in claims if c.id != ruling.id)),
    )


def _width(ontology: Ontology, relation: str, word: str) -> float:
    """How wide a line is drawn, 0 to 1: a strength's number, a level's factor, else by the grading word."""
    tables = ontology.tables
    if relation in ("evokes", "acts_as") and word:
        return tables.strength(word)
    if relation == "contains":
        return tables.levels.get(word, 0.5)
    return {"absent": 0.05, "weak": 0.3, "moderate": 0.6, "strong": 0.9, "information": 0.3, "care": 0.6, "avoid": 0.9}.get(word, 0.5)


def _placed(part: networkx.MultiDiGraph, joined: Sequence[tuple[str, str]]) -> list[list[str]]:
    """Node names by layer, in the order in which they stand from top to bottom."""
    layers: list[list[str]] = [[] for _ in LAYERS]
    for id, data in sorted(part.nodes(data=True), key=lambda item: (item[1].get("sense", ""), item[1]["label"], item[0])):
        layers[LAYERS.index(data["kind"])].append(id)
    neighbours: dict[str, list[str]] = {id: [] for layer in layers for id in layer}
    for u, v in joined:
        neighbours[u].append(v)
        neighbours[v].append(u)
    at = {id: (place + 0.5) / len(layer) for layer in layers for place, id in enumerate(layer)}
    for sweep in range(_SWEEPS):
        for number in range(len(layers)) if sweep % 2 == 0 else reversed(range(len(layers))):
            layer = layers[number]
            middle = {id: sum(at[n] for n in neighbours[id]) / len(neighbours[id]) if neighbours[id] else at[id] for id in layer}
            layer.sort(key=lambda id: (round(middle[id], 9), part.nodes[id]["label"], id))
            at |= {id: (place + 0.5) / len(layer) for place, id in enumerate(layer)}
    return layers
