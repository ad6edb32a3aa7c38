"""Paths on the networkx graph: against a search by hand, and against the paths that answers show."""

from __future__ import annotations

import json
from itertools import pairwise

import networkx
import pytest

from kgraph.cli import main
from kgraph.graphs.paths import neighbourhood, reasoning_view, shortest, simple
from kgraph.session import Knowledge
from kgraph.yamlio import InputError


def test_the_shortest_are_those_over_one_class(known: Knowledge) -> None:
    """From drying to astringent: every class that evokes it and acts so, and no other."""
    o = known.ontology
    found = shortest(known.to_networkx(), "quality/astringent-drying", "action/astringent")
    givers = {c.subject for c in o.pointing_at("evokes", "astringent-drying") if c.word != "almost-never"}
    actors = {c.subject for c in o.pointing_at("acts_as", "astringent") if c.subject in o.classes and c.word != "almost-never"}
    assert {path[0].end for path in found if len(path) == 2} == {f"class/{c}" for c in givers & actors} and found
    assert all(step.claims and all(o.claim(id).relation == step.relation for id in step.claims) for path in found for step in path)


def test_simple_paths_by_another_search(known: Knowledge) -> None:
    """All paths of at most three steps, by depth first over the claims themselves."""
    graph = known.to_networkx()
    view = reasoning_view(graph)
    start, end = "quality/bitter", "use/loss-of-appetite" if "use/loss-of-appetite" in graph else sorted(n for n in graph if n.startswith("use/") and view.in_degree(n))[0]

    def walk(nodes: list[str]) -> list[tuple[str, ...]]:
        found = [tuple(nodes)] if nodes[-1] == end else []
        if len(nodes) <= 3 and nodes[-1] != end:
            for after in view.successors(nodes[-1]):
                if after not in nodes:
                    found += walk([*nodes, after])
        return found

    paths = list(simple(graph, start, end, longest=3, limit=100_000))
    assert {(path[0].start, *(s.end for s in path)) for path in paths} == set(walk([start])) and paths
    assert [len(p) for p in paths] == sorted(len(p) for p in paths)


@pytest.mark.parametrize("tasting", ["dry mouth, a little bitter, not sweet", "tingling, numbing", "slimy, no smell"])
def test_answers_and_graph_hold_the_same_paths(known: Knowledge, tasting: str) -> None:
    """Every path that an answer shows is a walk in this graph, by the same claims."""
    view = reasoning_view(known.to_networkx())
    shown = [path for action in known.ask(tasting).actions for path in action.paths]
    assert shown
    held = {claim for _, _, data in view.edges(data=True) for claim in data["claims"]}
    for path in shown:
        claims = set(path.claims)
        assert claims and claims <= held


def test_a_word_leads_to_its_percept_and_a_group_to_its_kinds(known: Knowledge) -> None:
    """Puckering is reasoned about as drying; aromatic through minty and the rest."""
    o, view = known.ontology, reasoning_view(known.to_networkx())
    for q in o.qualities.values():
        if q.kind == "word":
            assert f"quality/{q.of}" in view.successors(f"quality/{q.id}")
        elif q.kind == "kind" and q.of:
            assert f"quality/{q.id}" in view.successors(f"quality/{q.of}")


def test_grave_cautions_come_first(known: Knowledge) -> None:
    """Among paths of one length those that end in avoid."""
    o = known.ontology
    found = shortest(known.to_networkx(), "bitter", "caution/pregnancy")
    words = [max((o.claim(id).word for id in path[-1].claims), key=("information", "care", "avoid").index) for path in found]
    ranks = [("avoid", "care", "information").index(w) for w in words]
    assert ranks == sorted(ranks) and "avoid" in words


def test_neighbourhoods(known: Knowledge) -> None:
    """One link away, whichever way it points; two links hold one."""
    graph = known.to_networkx()
    near = neighbourhood(graph, "class/hydrolysable-tannins")
    assert set(near) == {"class/hydrolysable-tannins", *graph.successors("class/hydrolysable-tannins"), *graph.predecessors("class/hydrolysable-tannins")}
    assert all(graph.has_edge(*edge) for edge in near.edges(keys=True))
    assert set(near) < set(neighbourhood(graph, "class/hydrolysable-tannins", radius=2))


def test_the_graph_that_is_handed_out_is_a_copy(known: Knowledge) -> None:
    """Whoever changes theirs leaves ours alone."""
    graph = known.to_networkx()
    graph.clear()
    assert networkx.is_directed(known.to_networkx()) and len(known.to_networkx()) > 500


def test_names(known: Knowledge) -> None:
    """By id, by label, by full name; what nothing or more than one is called is refused."""
    graph = known.to_networkx()
    assert shortest(graph, "drying", "astringent") == shortest(graph, "quality/astringent-drying", "action/astringent")
    with pytest.raises(InputError, match="Did you mean"):
        shortest(graph, "dryng", "astringent")
    assert shortest(graph, "action/astringent", "quality/bitter") == []


def test_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    """Screen and data hold the same paths; sources stand below; the notice too."""
    assert main(["paths", "drying", "astringent", "--json"]) == 0
    paths = json.loads(capsys.readouterr().out)["paths"]
    assert all(a["to"] == b["from"] for path in paths for a, b in pairwise(path))
    assert main(["paths", "drying", "astringent", "--full"]) == 0
    out = capsys.readouterr().out
    assert f"{len(paths)} paths" in out and "Sources" in out and "no promise" in out
    assert main(["paths", "drying", "nonsense"]) == 2
    assert main(["paths", "drying", "astringent", "--longest", "99"]) == 2
    assert main(["paths", "action/astringent", "quality/bitter"]) == 0
    assert "0 paths" in capsys.readouterr().out
