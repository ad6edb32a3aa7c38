"""SPARQL: three engines agree on the shipped queries, limits hold, and nothing leaves the machine."""

from __future__ import annotations

import csv
import io
import json
import os
import socket
import subprocess
import sys
import time
import urllib.parse
import urllib.request
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
import rdflib
from hypothesis import given
from hypothesis import strategies as st
from pyoxigraph import Store

from kgraph.cli import main
from kgraph.graphs.formats import export
from kgraph.graphs.iris import Names
from kgraph.graphs.querying import ask_graph, bindings_of, guard, named_queries, store_of_file
from kgraph.session import Knowledge
from kgraph.yamlio import InputError

SETTINGS = {"quality": "drying", "herb": "gentiana-lutea-root"}
NAMED = sorted(named_queries())
COUNTS = {
    "claims": "SELECT (COUNT(*) AS ?n) WHERE { ?c a kg:Claim }",
    "concepts by scheme": "SELECT ?s (COUNT(DISTINCT ?c) AS ?n) WHERE { ?c skos:inScheme ?s } GROUP BY ?s",
    "claims by relation": "SELECT ?p (COUNT(*) AS ?n) WHERE { ?c rdf:predicate ?p } GROUP BY ?p",
    "attributions by source": "SELECT ?s (COUNT(*) AS ?n) WHERE { ?a prov:entity ?s } GROUP BY ?s",
    "everything": "SELECT (COUNT(*) AS ?n) WHERE { ?s ?p ?o }",
}


def texts(known: Knowledge, names: Names) -> dict[str, str]:
    """The shipped queries with their values written in, and the counts, each with its prefixes."""
    heads = "".join(f"PREFIX {prefix}: <{space}>\n" for prefix, space in names.prefixes.items())
    found = {name: heads + text for name, text in COUNTS.items()}
    for name, query in named_queries().items():
        text = query.text
        for key, iri in bindings_of(known.ontology, query, {k: SETTINGS[k] for k in query.needs}, names).items():
            text = text.replace(f"?{key} ", f"<{iri}> ").replace(f"?{key};", f"<{iri}>;")
        found[name] = heads + text
    return found


def ours(store: Store, text: str, names: Names) -> Counter[tuple[str, ...]]:
    return Counter(tuple(lexical(v) for v in row) for row in ask_graph(store, text, names, max_rows=100_000).rows)


def lexical(value: object) -> str:
    """A value as text by which engines can be compared."""
    return "" if value is None else str(value).lower() if isinstance(value, bool) else str(value)


@pytest.fixture(scope="module")
def in_rdflib(known: Knowledge) -> rdflib.Graph:
    """The export in rdflib's own memory, read by rdflib's own parser."""
    return rdflib.Graph().parse(data=export(known.ontology, "turtle"), format="turtle")


@pytest.mark.parametrize("name", [*NAMED, *COUNTS])
def test_rdflib_agrees(name: str, known: Knowledge, names: Names, store: Store, in_rdflib: rdflib.Graph) -> None:
    """The same rows, as many times, from a store and a query engine that share no code."""
    text = texts(known, names)[name]
    theirs = Counter(tuple(lexical(v.toPython()) if v is not None else "" for v in row) for row in in_rdflib.query(text))
    found = ours(store, text, names)
    assert found == theirs and found


def test_the_store_behind_rdflib_is_the_same(known: Knowledge, names: Names, store: Store) -> None:
    """`to_rdflib` gives a graph that counts and answers as the store does."""
    graph = known.to_rdflib()
    assert len(graph) == len(store)
    rows = {str(row[0]) for row in graph.query("SELECT ?l WHERE { quality:bitter skos:prefLabel ?l }")}
    assert rows == {"bitter"}


@pytest.fixture(scope="module")
def server(known: Knowledge, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A SPARQL server on loopback with the N-Quads in it."""
    folder = tmp_path_factory.mktemp("server")
    (folder / "all.nq").write_text(export(known.ontology, "n-quads"), encoding="utf-8")
    program = str(Path(sys.executable).parent / "oxigraph")
    subprocess.run([program, "load", "--location", str(folder / "db"), "--file", str(folder / "all.nq")], check=True, capture_output=True, timeout=120)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{free.getsockname()[1]}"
    with subprocess.Popen([program, "serve-read-only", "--location", str(folder / "db"), "--bind", address, "--union-default-graph"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as running:
        try:
            for _ in range(100):
                try:
                    socket.create_connection(tuple(address.split(":")), timeout=0.2).close()  # type: ignore[arg-type]
                    break
                except OSError:
                    time.sleep(0.1)
            yield f"http://{address}/query"
        finally:
            running.terminate()


@pytest.mark.parametrize("name", [*NAMED, *COUNTS])
def test_a_real_server_agrees(name: str, known: Knowledge, names: Names, store: Store, server: str) -> None:
    """Loaded into a SPARQL server, the export answers every shipped query the same over HTTP."""
    text = texts(known, names)[name]
    request = urllib.request.Request(server, data=urllib.parse.urlencode({"query": text}).encode(), headers={"Accept": "application/sparql-results+json"})
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    answer = json.load(opener.open(request, timeout=60))
    theirs = Counter(tuple(_of_json(row.get(v)) for v in answer["head"]["vars"]) for row in answer["results"]["bindings"])
    assert ours(store, text, names) == theirs


def _of_json(term: dict[str, str] | None) -> str:
    if term is None:
        return ""
    number = term.get("datatype", "").endswith(("decimal", "double"))
    return str(float(term["value"])) if number else term["value"]


class TestTheirAnswers:
    """The shipped queries say what the ontology says."""

    def test_from_memory(self, known: Knowledge) -> None:
        """As many as are marked so; those to avoid first."""
        found = known.query("from-memory")
        assert len(found) == sum(c.from_memory for c in known.ontology.claims)
        severities = [row[3] for row in found]
        assert severities[: severities.count("avoid")] == ["avoid"] * severities.count("avoid")

    def test_contradictions(self, known: Knowledge) -> None:
        """Those that `check` counts."""
        found = {row[-1] for row in known.query("contradictions")}
        expected = {Names().claim(c.id) for pair in known.ontology.contradictions for c in pair}
        assert found == expected and found

    def test_poisons_without_a_test(self, known: Knowledge) -> None:
        """Poison classes that no test shows, themselves or through their family."""
        o = known.ontology
        shown = {c.subject for c in o.linked("shown_by")}
        expected = {c.label for c in o.classes.values() if c.poison and c.id not in shown and c.family not in shown}
        assert {row[0] for row in known.query("poisons-without-test")} == expected and expected

    def test_what_gives(self, known: Knowledge) -> None:
        """The subjects of the evokes claims, the strongest first."""
        o = known.ontology
        found = known.query("what-gives", quality="drying")
        expected = {o.label("class", c.subject) if c.subject in o.classes else o.label("family", c.subject) for c in o.pointing_at("evokes", "astringent-drying")}
        assert {row[0] for row in found} == expected
        numbers = [o.tables.strength(row[1]) for row in found]
        assert numbers == sorted(numbers, reverse=True)

    def test_avoid_leaves_none_out(self, known: Knowledge) -> None:
        """No caution to avoid is lost on the way."""
        pairs = {(row[0], row[1]) for row in known.query("avoid")}
        o = known.ontology
        expected = {
            (o.label("herb" if c.subject in o.herbs else "class", c.subject), o.label("caution", c.object)) for c in o.all_of("warns_of") if c.word == "avoid"
        }
        assert pairs == expected

    def test_said_of_herb(self, known: Knowledge) -> None:
        """Every claim about the herb, once for each of its attributions."""
        o = known.ontology
        claims = [c for c in o.claims if c.subject == "gentiana-lutea-root"]
        assert len(known.query("said-of-herb", herb="gentiana-lutea-root")) == sum(max(1, len(c.attributions)) for c in claims)


REFUSED = [
    "SELECT * { SERVICE <http://a.example/> { ?s ?p ?o } }", "select * { service silent <http://a.example/> { ?s ?p ?o } }",
    "SELECT * {SERVICE<http://a.example/>{}}", "SELECT * { \\u0053ERVICE <http://a.example/> {} }", "LOAD <http://a.example/>", "LOAD <file:///etc/passwd>",
    "SELECT * FROM <http://a.example/> { ?s ?p ?o }", "SELECT * FROM NAMED <file:///etc/passwd> { ?s ?p ?o }", "DELETE WHERE { ?s ?p ?o }",
    "INSERT DATA { <a:b> <a:c> <a:d> }", "CLEAR ALL", "DROP ALL", "SELECT * { ?a<?b . SERVICE <http://a.example/> {} }", '# "\nSELECT * { SERVICE <http://a.example/> {} } # "',
    "SELECT * { ?s ?p '''a''' . SERVICE <http://a.example/> {} }", "SELECT * { \"\\u0022 . SERVICE <http://a.example/> {} # \" }",
]


@pytest.mark.parametrize("text", REFUSED)
def test_nothing_is_fetched_or_changed(text: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2 with a word on it, before any engine sees the query."""
    from kgraph.graphs import querying

    monkeypatch.setattr(querying, "_run", lambda *_: pytest.fail("the engine was asked"))
    assert main(["query", text if "{" in text else text + " #{"]) == 2
    assert "not allowed" in capsys.readouterr().err


@pytest.mark.parametrize("text", [
    "SELECT * { ?service ?load ?from }", 'ASK { ?a rdfs:label "SERVICE" }', "ASK { ?a kg:from ?b } # FROM here", "ASK { <http://a.example/SERVICE> ?p 'FROM' }",
    "ASK { ?a ?b \"\"\"LOAD \" it\"\"\" }", "SELECT ?with { ?with ?add ?copy }",
])
def test_words_that_only_look_like_it(text: str) -> None:
    """Names, texts and remarks may hold any word."""
    guard(text)


@given(st.text(alphabet="SERVICE service<>\"'#\\n{}?:. \\u0053", max_size=60))
def test_a_hidden_service_is_never_let_through(text: str) -> None:
    """Whatever stands before it, a SERVICE that the engine would see is refused: what passes does not ask for one."""
    try:
        guard(text)
    except InputError:
        return
    # the engine would try the port and say so; a query that is let through must not get that far
    query = f"SELECT * {{ {text} }}"
    try:
        guard(query)
    except InputError:
        return
    store = Store()
    try:
        list(store.query(query))  # type: ignore[arg-type]
    except (SyntaxError, ValueError):
        return
    except OSError as error:
        pytest.fail(f"{query!r} reached for {error}")


def test_limits(store: Store, names: Names) -> None:
    """Rows are cut off and it is said; a query without end is given up."""
    found = ask_graph(store, "SELECT * { ?s ?p ?o }", names, max_rows=7)
    assert len(found.rows) == 7 and found.cut
    assert not ask_graph(store, "SELECT * { ?s ?p ?o } LIMIT 7", names, max_rows=7).cut
    with pytest.raises(InputError, match="did not end within"):
        ask_graph(store, "SELECT (COUNT(*) AS ?n) { ?a ?b ?c . ?d ?e ?f . FILTER(?c != ?f) }", names, seconds=0.2)
    with pytest.raises(InputError, match="characters"):
        guard("#" * 200_000)


def test_a_query_without_end_ends_the_command() -> None:
    """The process is gone soon after the limit, with exit code 2 and one line."""
    done = subprocess.run(
        [sys.executable, "-m", "kgraph", "query", "--seconds", "0.5", "SELECT (COUNT(*) AS ?n) { ?a ?b ?c . ?d ?e ?f . ?g ?h ?i FILTER(?c != ?f) }"],
        capture_output=True, text=True, timeout=60, env=os.environ | {"PYTHONFAULTHANDLER": "0"},
    )
    assert done.returncode == 2 and done.stdout == "" and done.stderr.count("\n") == 1 and "did not end" in done.stderr


BOMB = '<?xml version="1.0"?><!DOCTYPE r [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="http://a/b"><x:p xmlns:x="http://x/">&b;</x:p></rdf:Description></rdf:RDF>'


@pytest.mark.parametrize(("name", "content", "word"), [
    ("a.ttl", "this is no turtle", "cannot be read"), ("a.jsonld", '{"@context":"http://a.example/c","@id":"http://a/b","p":1}', "nothing is fetched"),
    ("a.rdf", BOMB, "entities"), ("a.nq", "<a> <b>", "cannot be read"), ("a.jsonld", "{", "cannot be read"), ("a.txt", "", "does not tell its format"),
    ("a.rdf", BOMB.encode("utf-16"), "entities"),
])
def test_bad_rdf(name: str, content: str | bytes, word: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Wrong syntax, a context elsewhere, entities: a clear message and exit 2."""
    (tmp_path / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    assert main(["query", "--data", str(tmp_path / name), "SELECT * { ?s ?p ?o }"]) == 2
    err = capsys.readouterr().err
    assert word in err and "Traceback" not in err and name in err


def test_a_file_is_asked(tmp_path: Path, known: Knowledge, names: Names, store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    """An export, read back from each form, answers a shipped query as the ontology does."""
    expected = known.query("poisons-without-test").rows
    for format, ending in (("turtle", "ttl"), ("json-ld", "jsonld"), ("n-quads", "nq")):
        found = store_of_file(export(known.ontology, format).encode(), ending, f"a.{ending}")
        assert ask_graph(found, named_queries()["poisons-without-test"].text, names).rows == expected


def test_another_base(known: Knowledge, capsys: pytest.CaptureFixture[str]) -> None:
    """Shipped queries and prefixes go with the base that is set."""
    base = "https://herbs.example.org/kb/"
    assert known.query("what-gives", base=base, quality="drying").rows == known.query("what-gives", quality="drying").rows
    assert "kgraph.example" not in export(known.ontology, "turtle", Names(base))
    for bad in ("", "no iri", "https://", "ftp://a.example/", "https://a.example/x", "https://a.example/?q=", "javascript:alert(1)/", "https://a.example/ /", "https://a.ex\nample/"):
        if bad:
            assert main(["export", "--format", "turtle", "--base", bad]) == 2
            assert "base" in capsys.readouterr().err
    assert main(["export", "--format", "turtle", "--base", "urn:herbs:"]) == 0
    assert "<urn:herbs:term/>" in capsys.readouterr().out


def test_a_file_of_another_base_names_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An export under a base of one's own is asked without saying the base again."""
    assert main(["export", "--output", str(tmp_path / "a.ttl"), "--base", "https://herbs.example.org/kb/"]) == 0
    assert main(["query", "--data", str(tmp_path / "a.ttl"), "what-gives", "--set", "quality=sour", "--json"]) == 0
    theirs = json.loads(capsys.readouterr().out)["rows"]
    assert main(["query", "what-gives", "--set", "quality=sour", "--json"]) == 0
    assert theirs == json.loads(capsys.readouterr().out)["rows"] and theirs
    (tmp_path / "other.ttl").write_text("<urn:a:b> <urn:a:c> 'd' .")
    assert main(["query", "--data", str(tmp_path / "other.ttl"), "SELECT ?o { ?s ?p ?o }"]) == 0
    assert "d" in capsys.readouterr().out


def test_output_forms(capsys: pytest.CaptureFixture[str]) -> None:
    """The same rows as a table, as JSON, as CSV."""
    assert main(["query", "what-gives", "--set", "quality=drying", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert main(["query", "what-gives", "--set", "quality=drying", "--csv"]) == 0
    rows = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    assert rows[0] == data["columns"] and len(rows) - 1 == len(data["rows"])
    assert [r[:2] for r in rows[1:]] == [[r["constituent"], r["strength"]] for r in data["rows"]]
    assert main(["query", "what-gives", "--set", "quality=drying"]) == 0
    out = capsys.readouterr()
    assert "almost-always" in out.out and "rows" in out.err
    assert all(len(line) <= 88 for line in out.out.splitlines())


@pytest.mark.parametrize(("args", "word"), [
    (["nope"], "no query"), (["what-gives"], "needs a quality"), (["what-gives", "--set", "quality=nope"], "no quality"), (["what-gives", "--set", "quality"], "no setting"),
    (["what-gives", "--set", "herb=x", "--set", "quality=bitter"], "has no setting"), (["avoid", "--rows", "0"], "no number"), (["avoid", "--seconds", "soon"], "no number"),
    (["avoid", "--json", "--csv"], "Give one"), (["ASK {}", "--set", "a=b"], "shipped query"), (["SELECT * {"], "not SPARQL"), (["missing.rq"], "no such file"),
    (["avoid", "--data", "missing.ttl"], "no such file"), (["what-gives", "--set", "quality=bitter", "--set", "quality=sweet"], "stands twice"),
])
def test_bad_input(args: list[str], word: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Each is told in one line, exit 2, nothing on stdout."""
    assert main(["query", *args]) == 2
    out = capsys.readouterr()
    assert word in out.err and out.out == ""


def test_an_export_overwrites_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that exists stays unless asked; a bad base writes nothing."""
    target = tmp_path / "g.ttl"
    target.write_text("mine")
    assert main(["export", "--output", str(target)]) == 2 and target.read_text() == "mine"
    assert main(["export", "--output", str(tmp_path / "h.ttl"), "--base", "x"]) == 2 and not (tmp_path / "h.ttl").exists()
    assert main(["export", "--output", str(target), "--force"]) == 0 and target.read_text().startswith("@prefix")
    assert main(["export", "--output", str(tmp_path / "g.json"), "--record", "x.yaml"]) == 2
    capsys.readouterr()


def test_the_list_of_queries(capsys: pytest.CaptureFixture[str]) -> None:
    """Without a question the shipped ones are listed, each with who asks."""
    assert main(["query"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert all(name in out for name in NAMED)
    assert all(who in out for who in ("a student", "a writer", "a practitioner", "an editor"))
