"""SPARQL over the graph: named queries and the user's own, read only, within limits, without any network."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from threading import Thread
from typing import Any

from pyoxigraph import BlankNode, Literal, NamedNode, Quad, QueryBoolean, QueryTriples, RdfFormat, Store, Triple

from kgraph.claims import Ontology
from kgraph.graphs.iris import DCAT, VOID, Names
from kgraph.yamlio import InputError, Place, did_you_mean

MAX_QUERY = 100_000
#: Steps into other machines or other files, and anything that is no question. `FROM` would silently find nothing.
_REFUSED = re.compile(r"(?<![\w:?$@-])(SERVICE|LOAD|INSERT|DELETE|CLEAR|DROP|CREATE|COPY|MOVE|ADD|WITH|FROM)\b(?!\s*:)", re.IGNORECASE)
_SKIPPED = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*"""|' + r"'''(?:[^'\\]|\\.|'(?!''))*'''|" + r'"(?:[^"\\\n]|\\.)*"|' + r"'(?:[^'\\\n]|\\.)*'|"
    + r"<[^<>\"{}|^`\\\x00-\x20]*>|#[^\n\r]*", re.DOTALL,
)
_ESCAPE = re.compile(r"\\u([0-9A-Fa-f]{4})|\\U([0-9A-Fa-f]{8})")


@dataclass(frozen=True, slots=True)
class Found:
    """What a query found: names of columns, rows of plain values (None where nothing is bound), and whether rows were cut off."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Named:
    """A query that ships with the program: its name, who asks what, the variables it needs, its text."""

    name: str
    purpose: str
    needs: tuple[str, ...]
    text: str


@cache
def named_queries() -> dict[str, Named]:
    """The shipped queries by name."""
    found = {}
    for file in sorted(resources.files("kgraph.graphs").joinpath("queries").iterdir(), key=lambda f: f.name):
        if file.name.endswith(".rq"):
            text = file.read_text(encoding="utf-8")
            purpose = " ".join(re.findall(r"^# Who asks: (.*)$", text, re.MULTILINE))
            needs = tuple(" ".join(re.findall(r"^# Needs: (.*)$", text, re.MULTILINE)).replace(",", " ").split())
            found[file.name[:-3]] = Named(file.name[:-3], purpose, needs, text)
    return found


def guard(text: str) -> None:
    """Refuse what is no question about this graph.

    Raises:
        InputError: the query is too long, changes data, or asks another machine or file.
    """
    if len(text) > MAX_QUERY:
        raise InputError.single("query-too-long", f"the query has {len(text):,} characters, {MAX_QUERY:,} at most are read.", "Shorten it.", Place("query"))

    def plain(found: re.Match[str]) -> str:
        code = int(found[1] or found[2], 16)
        return chr(code) if code < 0x110000 else found[0]

    # escapes are undone before a query is parsed (SPARQL 1.1, 19.2), so both readings are looked at
    for reading in (text, _ESCAPE.sub(plain, text)):
        if found := _REFUSED.search(_SKIPPED.sub(_blank, reading)):
            before = reading[: found.start()]
            word = found[1].upper()
            remedy = "Ask this graph only; nothing is fetched." if word in ("SERVICE", "LOAD", "FROM") else "Ask with SELECT, ASK, CONSTRUCT or DESCRIBE; change knowledge in its YAML files."
            raise InputError.single("refused", f"`{word}` is not allowed in a query here.", remedy, Place("query", before.count("\n") + 1, found.start() - (before.rfind("\n") + 1) + 1))


def _blank(found: re.Match[str]) -> str:
    """As many blanks as characters, lines kept: places stay true."""
    return re.sub(r"[^\n]", " ", found[0])


def store_of(ontology: Ontology, names: Names) -> Store:
    """The ontology's graph in an embedded store."""
    from kgraph.graphs.triples import TripleMaker

    store = Store()
    store.bulk_extend(Quad(t.subject, t.predicate, t.object) for part in TripleMaker(ontology, names).parts().values() for t in part)
    return store


def store_of_file(data: bytes, ending: str, name: str) -> Store:
    """A graph from a file's bytes, by its ending: .ttl, .nt, .nq, .trig, .jsonld or .rdf.

    Raises:
        InputError: an unknown ending, wrong syntax with its line, a context to be fetched, entities in RDF/XML.
    """
    kind = {"ttl": RdfFormat.TURTLE, "nt": RdfFormat.N_TRIPLES, "nq": RdfFormat.N_QUADS, "trig": RdfFormat.TRIG, "jsonld": RdfFormat.JSON_LD, "rdf": RdfFormat.RDF_XML}.get(ending)
    if kind is None:
        raise InputError.single("unknown-format", f"`{name}` does not tell its format.", "Use an ending .ttl, .nt, .nq, .trig, .jsonld or .rdf.", Place(name))
    if kind == RdfFormat.RDF_XML and re.search(rb"<!(DOCTYPE|ENTITY)", data.replace(b"\x00", b""), re.IGNORECASE):
        raise InputError.single("entities", "RDF/XML with a document type or entities is not read: a few lines of it can unfold to gigabytes.", "Write the file without a DOCTYPE, or as Turtle.", Place(name))
    store = Store()
    try:
        store.load(data, format=kind, base_iri="https://kgraph.example/file/")
    except (SyntaxError, ValueError, OSError) as error:
        if "LoadDocumentCallback" in str(error):
            raise InputError.single("remote-context", "the file's JSON-LD context lies elsewhere; nothing is fetched.", "Put the context inside the file.", Place(name)) from None
        line = getattr(error, "lineno", None) or 0
        place = Place(name, line, getattr(error, "offset", None) or 0)
        raise InputError.single("rdf-syntax", f"the file cannot be read as {kind.name}: {_first_words(str(getattr(error, 'msg', None) or error))}.", "Mend it there.", place) from None
    return store


def base_in(store: Store) -> str:
    """The base that a graph names for itself (`void:uriSpace` of its dataset); "" where it names none, or more than one."""
    found = store.query(f"SELECT DISTINCT ?base WHERE {{ ?data a <{DCAT}Dataset> ; <{VOID}uriSpace> ?base }}", use_default_graph_as_union=True)
    bases = [row[0].value for row in found]  # type: ignore[union-attr]
    return bases[0] if len(bases) == 1 else ""


def bindings_of(ontology: Ontology | None, query: Named, given: Mapping[str, str], names: Names) -> dict[str, str]:
    """The IRIs for the variables that a named query needs, from ids or labels.

    Raises:
        InputError: one is missing, unknown, or not asked for.
    """
    for key in given:
        if key not in query.needs:
            raise InputError.single("unknown-setting", f"`{query.name}` has no setting `{key}`.", f"It needs {', '.join(query.needs) or 'none'}.", Place("--set"))
    found = {}
    for key in query.needs:
        value = given.get(key, "")
        if not value:
            raise InputError.single("missing-setting", f"`{query.name}` needs a {key}.", f"Give --set {key}=... (an id or a label).", Place("--set"))
        found[key] = names.thing(key, _id_of(ontology, key, value) if ontology is not None else value)
    return found


def _id_of(ontology: Ontology, kind: str, value: str) -> str:
    things = ontology.things[kind]
    if value in things:
        return value
    wanted = value.strip().casefold()
    found = [id for id, thing in things.items() if wanted in {thing.label.casefold(), *(text.casefold() for text in thing.also), getattr(thing, "name", "").casefold()}]
    if len(found) == 1:
        return found[0]
    hint = f"It could be {', '.join(found)}." if found else did_you_mean(value, [*things, *(thing.label for thing in things.values())])
    raise InputError.single(f"unknown-{kind}", f"no {kind} is called `{value}`." if not found else f"more than one {kind} is called `{value}`.", hint, Place("--set"))


def ask_graph(store: Store, text: str, names: Names, *, bindings: Mapping[str, str] | None = None, seconds: float = 10.0, max_rows: int = 10_000) -> Found:
    """Run one query.

    Args:
        store: a graph, such as :func:`store_of` gives.
        text: SELECT, ASK, CONSTRUCT or DESCRIBE; the prefixes of `names` are known.
        bindings: variable to the IRI that is written in its place.
        seconds: the longest wait. The engine cannot be stopped half way: after that its thread is left behind, to end with the process.
        max_rows: further rows are cut off, and the answer says so.

    Raises:
        InputError: the query is refused, wrong, or takes too long.
    """
    guard(text)
    result: list[Found | BaseException] = []

    def work() -> None:
        try:
            result.append(_run(store, text, names, bindings or {}, max_rows))
        except BaseException as error:  # handed to the caller, below
            result.append(error)

    thread = Thread(target=work, daemon=True)
    thread.start()
    thread.join(seconds)
    if not result:
        raise InputError.single("too-slow", f"the query did not end within {seconds:g} seconds.", "Ask for less: join its parts by shared variables, add a LIMIT, or give --seconds.", Place("query"))
    found = result[0]
    if isinstance(found, SyntaxError):
        place = Place("query", found.lineno or 0, found.offset or 0)
        raise InputError.single("query-syntax", f"this is not SPARQL: {_first_words(str(found.msg or found))}.", "Mend it there.", place) from None
    if isinstance(found, ValueError | OSError | RuntimeError):
        raise InputError.single("query-failed", f"the query cannot be answered: {found}.", "Check it.", Place("query")) from None
    if isinstance(found, BaseException):
        raise found
    return found


def _first_words(message: str, most: int = 160) -> str:
    """A parser's message on one line; it lists every token that could stand there."""
    line = " ".join(message.split()).rstrip(".")
    return line if len(line) <= most else line[:most].rsplit(" ", 1)[0] + " ..."


def _run(store: Store, text: str, names: Names, bindings: Mapping[str, str], max_rows: int) -> Found:
    for key, iri in bindings.items():
        text = re.sub(rf"[?$]{key}\b", lambda _, iri=iri: f"<{iri}>", text)  # type: ignore[misc]
    result = store.query(text, prefixes=names.prefixes, use_default_graph_as_union=True)
    if isinstance(result, QueryBoolean):
        return Found(("answer",), ((bool(result),),))
    columns = ("subject", "predicate", "object") if isinstance(result, QueryTriples) else tuple(v.value for v in result.variables)
    rows: list[tuple[Any, ...]] = []
    for row in _rows(result):
        if len(rows) == max_rows:
            return Found(columns, tuple(rows), cut=True)
        rows.append(tuple(value_of(term) for term in row))
    return Found(columns, tuple(rows))


def _rows(result: Any) -> Iterator[tuple[Any, ...]]:
    for row in result:
        yield (row.subject, row.predicate, row.object) if isinstance(row, Triple) else tuple(row)


def value_of(term: NamedNode | BlankNode | Literal | Triple | None) -> Any:
    """A term as a plain value: truth, whole number, number, text; IRIs as text.

    >>> value_of(Literal("0.25", datatype=NamedNode("http://www.w3.org/2001/XMLSchema#decimal")))
    0.25
    """
    if not isinstance(term, Literal):
        return None if term is None else term.value if isinstance(term, NamedNode) else str(term)
    kind = term.datatype.value.rsplit("#", 1)[-1]
    try:
        if kind == "boolean":
            return term.value in ("true", "1")
        if kind == "integer":
            return int(term.value)
        if kind in ("decimal", "double", "float"):
            return float(term.value)
    except ValueError:
        pass
    return term.value
