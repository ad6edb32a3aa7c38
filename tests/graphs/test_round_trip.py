"""Export, read back, the same claims: on the shipped ontology and on hostile ones."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import foreign
import pytest
import rdflib
from hypothesis import given, settings
from hypothesis import strategies as st
from pyoxigraph import BlankNode, Literal, NamedNode, Quad, RdfFormat, Store, Triple, parse

from kgraph.claims.model import NOWHERE, Claim
from kgraph.graphs.formats import export, json_ld, n_quads, turtle
from kgraph.graphs.iris import Names
from kgraph.graphs.multigraph import multigraph
from kgraph.graphs.reading import claims_in
from kgraph.graphs.triples import TripleMaker
from kgraph.session import Knowledge, load

RDF = {"turtle": RdfFormat.TURTLE, "json-ld": RdfFormat.JSON_LD, "n-quads": RdfFormat.N_QUADS}
LISTS = ("markers", "implies_classes", "implies_qualities")


def as_held(claim: Claim) -> Claim:
    """A claim without its place in a file, lists sorted: what the graph is meant to hold."""
    return replace(claim, place=NOWHERE, facts={k: tuple(sorted(v)) if k in LISTS else v for k, v in sorted(claim.facts.items())})


def held(known: Knowledge) -> list[Claim]:
    return sorted(map(as_held, known.ontology.claims), key=lambda claim: claim.id)


def loaded(text: str, format: str) -> Store:
    """The text in a store, without literals of more than 2,000 characters: no stowaway may carry the claims."""
    found = Store()
    found.extend(
        Quad(q.subject, q.predicate, q.object, q.graph_name) for q in parse(text, format=RDF[format])
        if not isinstance(q.object, Literal) or len(q.object.value) <= 2000
    )
    return found


@pytest.mark.parametrize("format", RDF)
def test_the_shipped_claims_come_back(known: Knowledge, names: Names, format: str) -> None:
    """Every claim, with its words, facts, sources and places in them."""
    assert claims_in(loaded(export(known.ontology, format, names), format), names) == held(known)


def test_the_formats_say_the_same(parts: dict[str, list[Triple]], names: Names) -> None:
    """The same triples whichever way they are written; none twice, as many as the dataset says."""
    found = {
        name: {(q.subject, q.predicate, q.object) for q in parse(text, format=RDF[name])}
        for name, text in (("turtle", turtle(parts, names)), ("json-ld", json_ld(parts, names)), ("n-quads", n_quads(parts, names)))
    }
    whole = [(t.subject, t.predicate, t.object) for part in parts.values() for t in part]
    assert set(whole) == found["turtle"] == found["json-ld"] == found["n-quads"]
    assert len(whole) == len(set(whole))
    size = next(o for s, p, o in whole if p.value == "http://rdfs.org/ns/void#triples")
    assert int(size.value) == len(whole)


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph:DeprecationWarning")  # rdflib calls its own old name
def test_another_library_reads_the_same(parts: dict[str, list[Triple]], names: Names) -> None:
    """rdflib finds in the JSON-LD, whose context it need not fetch, what it finds in the Turtle."""
    small = {name: part for name, part in parts.items() if name in ("dataset", "terms", "words", "tastings")}
    a, b = rdflib.Graph().parse(data=turtle(small, names), format="turtle"), rdflib.Graph().parse(data=json_ld(small, names), format="json-ld")
    assert set(a) == set(b) and len(a) == sum(map(len, small.values()))


def test_no_blank_nodes_and_nothing_of_this_machine(parts: dict[str, list[Triple]]) -> None:
    """Every node has a name that is the same everywhere."""
    for part in parts.values():
        for t in part:
            assert not isinstance(t.subject, BlankNode) and not isinstance(t.object, BlankNode)
    text = "".join(str(t) for part in parts.values() for t in part)
    assert str(Path.cwd()) not in text and str(Path.home()) not in text and "file:///" not in text


def test_two_exports_are_the_same_bytes(known: Knowledge) -> None:
    """Made again from the files, without the snapshot, the export does not change."""
    assert export(known.ontology, "turtle") == export(load(cache=False).ontology, "turtle")


def test_one_claim_more_changes_no_other_line(known: Knowledge, tmp_path: Path) -> None:
    """What an added statement changes is its own lines, the counts and the fingerprint."""
    (tmp_path / "mine.yaml").write_text(
        "evokes: [{class: starch, quality: sweet, strength: rarely, common_practice: true}]\n")
    before = set(n_quads(TripleMaker(known.ontology).parts(), Names()).splitlines())
    after = set(n_quads(TripleMaker(load(tmp_path).ontology).parts(), Names()).splitlines())
    counts = ("void#triples", "void#entities", "dc/terms/identifier")
    assert all(any(word in line for word in counts) for line in before - after), before - after
    assert all("evokes.starch.sweet" in line or "/class/starch> <https://kgraph.example/term/evokes>" in line or any(w in line for w in counts) for line in after - before)


HOSTILE = ["</script><img onerror=alert(1)>", 'quo"te\'s \\ back', "\u202eright to left\u202c", "🌿 emoji", "tab\tand\nline", "x" * 490, "a.b/c#d?e%20 f", "<iri> {|}^`"]


@pytest.mark.parametrize("format", RDF)
def test_hostile_text_stays_text(tmp_path: Path, names: Names, format: str) -> None:
    """Labels, notes and objects of any text come back as they were, and make valid IRIs."""
    things = {"actions": [{"id": "quell", "label": HOSTILE[0]}], "qualities": [{"id": "blim", "label": HOSTILE[2], "sense": "taste", "kind": "percept", "definition": HOSTILE[1]}],
              "classes": [{"id": f"c{i}", "label": f"{i} {text}"} for i, text in enumerate(HOSTILE)],
              "evokes": [{"class": f"c{i}", "quality": "blim", "strength": "often", "note": text, "common_practice": True} for i, text in enumerate(HOSTILE)],
              "read_as": [{"quality": "blim", "system": text, "reading": text[::-1], "common_practice": True} for text in HOSTILE]}
    (tmp_path / "mine.yaml").write_text(json.dumps(things, ensure_ascii=False))
    known = load(tmp_path, cache=False)
    assert claims_in(loaded(export(known.ontology, format, names), format), names) == held(known)


@settings(max_examples=40)
@given(st.text(min_size=1, max_size=60), st.text(min_size=1, max_size=60))
def test_names_of_claims_can_be_undone(a: str, b: str) -> None:
    """Whatever stands in an id: an IRI of its own, and the id again."""
    try:
        id = f"read_as/{a.replace('/', '')}/{b}"
        iri = Names().claim(id)
        NamedNode(iri)
    except UnicodeEncodeError:
        return  # half a surrogate pair is no text; the reader refuses it
    assert Names().claim_id(iri).split("/", 2)[:2] == id.split("/", 2)[:2]
    assert Names().claim_id(iri) == id


def test_graphml_opens_again_with_equal_attributes(known: Knowledge, tmp_path: Path) -> None:
    """networkx reads back every node, edge, key and attribute, with its type."""
    import networkx

    graph = multigraph(known.ontology)
    (tmp_path / "g.graphml").write_text(export(known.ontology, "graphml"), encoding="utf-8")
    back = networkx.read_graphml(tmp_path / "g.graphml", force_multigraph=True)
    assert dict(back.nodes(data=True)) == dict(graph.nodes(data=True))
    assert {(u, v, k): d for u, v, k, d in back.edges(keys=True, data=True)} == {(u, v, k): d for u, v, k, d in graph.edges(keys=True, data=True)}
    assert networkx.node_link_graph(json.loads(export(known.ontology, "node-link")), edges="edges").graph == graph.graph


def test_node_link_comes_back(known: Knowledge) -> None:
    """So does the node-link form."""
    import networkx

    graph = multigraph(known.ontology)
    back = networkx.node_link_graph(json.loads(export(known.ontology, "node-link")), edges="edges")
    assert networkx.utils.graphs_equal(graph, back)


@settings(max_examples=15)
@given(st.integers(0, 10_000), st.sampled_from(sorted(RDF)))
def test_any_ontology_comes_back(tmp_path_factory: pytest.TempPathFactory, seed: int, format: str) -> None:
    """Ontologies drawn at random, alone and under another base."""
    names = Names(f"https://n{seed}.example/")
    known = load(foreign.write(foreign.random_spec(seed), tmp_path_factory.mktemp("world")), cache=False)
    assert claims_in(loaded(export(known.ontology, format, names), format), names) == held(known)


@settings(max_examples=15)
@given(st.text(max_size=40), st.text(max_size=40))
def test_graphml_of_any_text_opens_again(tmp_path_factory: pytest.TempPathFactory, label: str, note: str) -> None:
    """What XML can hold comes back as it was; what it cannot is replaced, and the file stays readable."""
    import networkx

    from kgraph.graphs.formats import graphml

    graph = networkx.MultiDiGraph()
    graph.add_node("a", label=label)
    graph.add_edge("a", "a", key="k", note=note)
    (path := tmp_path_factory.mktemp("xml") / "g.graphml").write_bytes(graphml(graph).encode("utf-8", "surrogatepass"))
    back = networkx.read_graphml(path, force_multigraph=True)
    fit = {"label": label, "note": note}
    for key, held_text in (("label", back.nodes["a"].get("label", "")), ("note", back.edges["a", "a", "k"].get("note", ""))):
        plain = "".join(c for c in fit[key] if c in "\t\n" or " " <= c <= "\ud7ff" or "\ue000" <= c <= "\ufffd" or c >= "\U00010000")
        assert "".join(c for c in held_text if c != "\ufffd") == plain.replace("\ufffd", "")
