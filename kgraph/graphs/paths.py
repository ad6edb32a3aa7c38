"""Paths of reasoning on the networkx graph: from a quality over what gives it to actions, uses and cautions."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice, pairwise
from math import prod
from typing import NamedTuple

import networkx

from kgraph.claims.words import SEVERITIES
from kgraph.yamlio import InputError, did_you_mean

#: The relations that reasoning walks, and whether against their arrow: a quality leads to what evokes it.
STEPS = {"evokes": True, "word_for": False, "kind_of": True, "in_family": True, "acts_as": False, "warns_of": False, "used_for": False}
LIMIT = 1000


class Step(NamedTuple):
    """One step of a path: the nodes as they are walked, the relation, and the claims that say it (none for structure)."""

    start: str
    end: str
    relation: str
    claims: tuple[str, ...]


def reasoning_view(graph: networkx.MultiDiGraph) -> networkx.DiGraph:
    """The links that reasoning walks, each turned the way it is walked; what is said of single herbs is left out.

    An edge holds ``relation``, ``claims`` (ids), ``strength`` (the greatest of its claims, None where none is graded) and ``word``
    (of cautions the gravest).
    A family-wide link leads on to every class of the family; a link whose word adds nothing is left out.
    """
    view: networkx.DiGraph = networkx.DiGraph()
    for u, v, key, data in graph.edges(keys=True, data=True):
        relation = data["relation"]
        if relation not in STEPS or "herb" in (graph.nodes[u]["kind"], graph.nodes[v]["kind"]) or data.get("strength") == 0.0:
            continue
        start, end = (v, u) if STEPS[relation] else (u, v)
        if view.has_edge(start, end) and view.edges[start, end]["relation"] == relation:
            held = view.edges[start, end]
            held["claims"] = (*held["claims"], key)
            held["word"] = min(held["word"], data["word"], key=_severity)
            held["strength"] = max((s for s in (held["strength"], data.get("strength")) if s is not None), default=None)
        else:
            claims = () if relation in ("word_for", "kind_of", "in_family") else (key,)
            view.add_edge(start, end, relation=relation, claims=claims, strength=data.get("strength"), word=data["word"])
    return view


def _known(view: networkx.DiGraph, graph: networkx.MultiDiGraph, node: str) -> str:
    """A node by its full name, or by an id or label that only one node has."""
    if node in graph:
        return node
    wanted = node.strip().casefold()
    found: list[str] = [n for n, d in graph.nodes(data=True) if n in view and wanted in (d["slug"].casefold(), d["label"].casefold())]
    if len(found) == 1:
        return found[0]
    if found:
        raise InputError.single("ambiguous", f"`{node}` could be {', '.join(sorted(found))}.", "Write it with its kind.")
    ids = [d["slug"] for n, d in graph.nodes(data=True) if n in view]
    raise InputError.single("unknown-node", f"nothing in the graph is called `{node}`.", did_you_mean(node, ids))


def _severity(word: str) -> int:
    return SEVERITIES[::-1].index(word) if word in SEVERITIES else len(SEVERITIES)


def _order(view: networkx.DiGraph, path: tuple[Step, ...]) -> tuple[int, int, float, tuple[Step, ...]]:
    """Shorter paths first, then grave cautions, then what is given most regularly."""
    edges = [view.edges[step.start, step.end] for step in path]
    regular = prod(edge["strength"] for edge in edges if edge["strength"] is not None)
    return len(path), min((_severity(edge["word"]) for edge in edges), default=0), -regular, path


def _steps(view: networkx.DiGraph, nodes: list[str]) -> tuple[Step, ...]:
    return tuple(Step(u, v, view.edges[u, v]["relation"], view.edges[u, v]["claims"]) for u, v in pairwise(nodes))


def shortest(graph: networkx.MultiDiGraph, start: str, end: str) -> list[tuple[Step, ...]]:
    """All shortest paths of reasoning between two nodes, in a fixed order; empty when there is none.

    Raises:
        InputError: a name that no node, or more than one, has.
    """
    view = reasoning_view(graph)
    u, v = _known(view, graph, start), _known(view, graph, end)
    if u not in view or v not in view or not networkx.has_path(view, u, v):
        return []
    found = [_steps(view, nodes) for nodes in islice(networkx.all_shortest_paths(view, u, v), LIMIT)]
    return sorted(found, key=lambda path: _order(view, path))


def simple(graph: networkx.MultiDiGraph, start: str, end: str, *, longest: int = 5, limit: int = LIMIT) -> Iterator[tuple[Step, ...]]:
    """Simple paths of reasoning of at most `longest` steps, shorter ones first, at most `limit` of them."""
    view = reasoning_view(graph)
    u, v = _known(view, graph, start), _known(view, graph, end)
    if u in view and v in view:
        found = [_steps(view, nodes) for nodes in islice(networkx.all_simple_paths(view, u, v, cutoff=longest), limit)]
        yield from sorted(found, key=lambda path: _order(view, path))


def neighbourhood(graph: networkx.MultiDiGraph, node: str, *, radius: int = 1) -> networkx.MultiDiGraph:
    """The part of the graph within so many links of a node, whichever way they point."""
    centre = _known(reasoning_view(graph), graph, node)
    near = networkx.ego_graph(graph.to_undirected(as_view=True), centre, radius=radius).nodes
    return graph.subgraph([n for n in graph if n in near]).copy()
