"""The Python interface: ``kgraph.load()`` gives an object to ask, with answers that read well in a notebook."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kgraph.claims import Ontology
from kgraph.claims import load as load_ontology

if TYPE_CHECKING:
    import networkx
    import rdflib

    from kgraph.graphs.paths import Step
    from kgraph.reasoning import Answer, Explanation, Network
    from kgraph.reasoning.batch import Brief, Clerk
    from kgraph.reasoning.comparison import Comparison
    from kgraph.reasoning.match import Match, MatchBrief
    from kgraph.reasoning.panel import Panel
    from kgraph.reasoning.proposal import Proposal
    from kgraph.reasoning.shelf import Shelf
    from kgraph.tasting import Record, Vocabulary
    from kgraph.writing.note import Note
    from kgraph.yamlio import InputError


@dataclass(frozen=True)
class Table:
    """A small table: a list of rows that prints, and that a notebook shows as a table. No other library is needed."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]

    def __iter__(self) -> Iterator[tuple[Any, ...]]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    def _cells(self) -> list[list[str]]:
        return [[f"{v:.2f}" if isinstance(v, float) else str(v) for v in row] for row in self.rows]

    def __repr__(self) -> str:
        lines = [list(self.columns), *self._cells()]
        widths = [max(len(line[i]) for line in lines) for i in range(len(self.columns))]
        return "\n".join("  ".join(cell.ljust(w) for cell, w in zip(line, widths, strict=True)).rstrip() for line in lines)

    def _repr_html_(self) -> str:
        head = "".join(f"<th>{escape(c)}</th>" for c in self.columns)
        body = "".join("<tr>" + "".join(f"<td>{escape(c)}</td>" for c in row) + "</tr>" for row in self._cells())
        return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


class Reply:
    """An answer together with the ontology that it cites.

    ``reply.families``, ``reply.actions`` and the other fields are those of :class:`kgraph.reasoning.Answer`;
    ``reply.table("actions")`` gives a table, ``print(reply)`` the screen of the command line.
    """

    def __init__(self, answer: Answer, ontology: Ontology) -> None:
        self.answer = answer
        self.ontology = ontology

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_") or name == "answer":
            raise AttributeError(name)
        return getattr(self.answer, name)

    def table(self, group: str = "families") -> Table:
        """Candidates of a group (families, classes or actions): label, before, after, decibans, standing."""
        if group not in ("families", "classes", "actions"):
            raise ValueError(f"`{group}` is no group; use families, classes or actions")
        rows = tuple((c.label, c.prior, c.posterior, round(c.weight_db, 1), c.standing) for c in getattr(self.answer, group))
        return Table(("name", "before", "after", "decibans", "standing"), rows)

    def as_dict(self) -> dict[str, Any]:
        """The same object that ``kgraph ask --json`` prints."""
        return self.answer.as_dict()

    def text(self, *, full: bool = False, width: int = 88) -> str:
        """The screen of the command line."""
        from kgraph.writing.terminal import render

        return render(self.answer, self.ontology, full_answer=full, width=width)

    def __repr__(self) -> str:
        return self.text()

    def _repr_html_(self) -> str:
        return f"<pre>{escape(self.text(full=False))}</pre>"


class Because:
    """The answer to *why*, together with the ontology that it cites."""

    def __init__(self, explanation: Explanation, ontology: Ontology) -> None:
        self.explanation = explanation
        self.ontology = ontology

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_") or name == "explanation":
            raise AttributeError(name)
        return getattr(self.explanation, name)

    def table(self) -> Table:
        """The classes that give the quality: label, how regularly, probability from this one finding, level in the herb."""
        rows = tuple((c.label, c.word, c.probability, c.level) for c in self.explanation.causes)
        return Table(("class", "gives it", "probability", "level"), rows)

    def as_dict(self) -> dict[str, Any]:
        """The same object that ``kgraph why --json`` prints."""
        return self.explanation.as_dict()

    def text(self, *, full: bool = False, width: int = 88) -> str:
        """The screen of the command line."""
        from kgraph.writing.why_text import render

        return render(self.explanation, self.ontology, full_answer=full, width=width)

    def __repr__(self) -> str:
        return self.text()

    def _repr_html_(self) -> str:
        return f"<pre>{escape(self.text())}</pre>"


class Knowledge:
    """An ontology ready to be asked."""

    def __init__(self, ontology: Ontology) -> None:
        self.ontology = ontology

    @cached_property
    def network(self) -> Network:
        """The network that the ontology means."""
        from kgraph.reasoning import build_network

        return build_network(self.ontology)

    @cached_property
    def shelf(self) -> Shelf:
        """The herbs, compiled for matching."""
        from kgraph.reasoning.shelf import Shelf

        return Shelf(self.ontology, self.network)

    @cached_property
    def vocabulary(self) -> Vocabulary:
        """The words that a record may use."""
        from kgraph.reasoning import vocabulary_of

        return vocabulary_of(self.ontology)

    def read(self, tasting: str | Path | Record) -> Record:
        """A record, the path of a record file (YAML), or plain words.

        Raises:
            kgraph.yamlio.InputError: what is wrong, with file and line.
        """
        from kgraph.tasting.record import Record

        if isinstance(tasting, Record):
            return tasting
        if isinstance(tasting, Path) or looks_like_file(tasting):
            from kgraph.tasting.reading import read_record

            return read_record(Path(tasting), self.vocabulary)
        from kgraph.tasting.words import parse_words

        return parse_words(tasting, self.vocabulary)

    def ask(self, tasting: str | Path | Record, *, sealed: bool = False, strengths: bool = False, draws: int = 0) -> Reply:
        """Reason from a tasting: candidate families, classes and actions with their paths, cautions, what taste cannot show; with `draws`, how steady the order is."""
        from kgraph.reasoning.asking import ask

        answer = ask(self.ontology, self.network, self.read(tasting), sealed=sealed, strengths=strengths, draws=draws, shelf=lambda: self.shelf)
        return Reply(answer, self.ontology)

    def match(self, tasting: str | Path | Record, claimed: str = "", *, draws: int = 0) -> Match:
        """Hold a tasting against every herb on file; `claimed` is the herb in question, by id, botanical or common name."""
        from kgraph.reasoning.explanation import resolve_herb
        from kgraph.reasoning.match import match

        herb = resolve_herb(self.ontology, claimed) if claimed else ""
        return match(self.ontology, self.network, self.read(tasting), herb, draws=draws, shelf=self.shelf)

    def compare(self, first: str | Path | Record, second: str | Path | Record, claimed: str = "") -> Comparison:
        """Two samples side by side: what changed, by how much, and whether tasters alone would differ so; `claimed` is the herb that both should be."""
        from kgraph.reasoning.comparison import compare
        from kgraph.reasoning.explanation import resolve_herb

        herb = resolve_herb(self.ontology, claimed) if claimed else ""
        return compare(self.ontology, self.network, self.read(first), self.read(second), herb, shelf=self.shelf)

    @cached_property
    def _clerk(self) -> Clerk:
        from kgraph.reasoning.batch import Clerk

        return Clerk(self.ontology, self.network)

    def briefs(self, records: Sequence[tuple[str, Record]]) -> Iterator[Brief]:
        """Short answers to many records, given as (name, record): what :meth:`ask` says, worked out together."""
        return self._clerk.briefs(records)

    def match_briefs(self, records: Sequence[tuple[str, Record]], claimed: str = "") -> Iterator[MatchBrief | InputError]:
        """Short matches of many records, given as (name, record): what :meth:`match` says; an error for a record with nothing to match."""
        from kgraph.reasoning.explanation import resolve_herb
        from kgraph.reasoning.match import match_briefs

        return match_briefs(self.shelf, self._clerk, records, resolve_herb(self.ontology, claimed) if claimed else "")

    def next(self, tasting: str | Path | Record, claimed: str = "", about: str = "") -> Proposal:
        """What to look for next about `families`, `herbs` or `lookalikes`, the most telling first.

        Raises:
            kgraph.yamlio.InputError: what is wrong with the record, the herb or the question.
        """
        from kgraph.reasoning.explanation import resolve_herb
        from kgraph.reasoning.proposal import QUESTIONS, propose
        from kgraph.yamlio import InputError, Place, did_you_mean, shorten

        if about and about not in QUESTIONS:
            raise InputError.single("unknown-question", f"`{shorten(about)}` cannot be asked about.", did_you_mean(about, QUESTIONS) or f"Use {', '.join(QUESTIONS)}.", Place("--about"))
        herb = resolve_herb(self.ontology, claimed) if claimed else ""
        return propose(self.ontology, self.network, self.read(tasting), herb, about, shelf=self.shelf)

    def why(self, quality: str, herb: str | None = None) -> Because:
        """Why something tastes, smells or feels so: what gives it, what that belongs with, what would speak against."""
        from kgraph.reasoning.explanation import why

        return Because(why(self.ontology, self.network, quality, herb or ""), self.ontology)

    def draw(self, what: str | Path | Record = "", *, svg: bool = False) -> str:
        """A lecture as one self-contained page, or with `svg` a static picture: of a herb or a quality (by id or name), of a record, or of everything.

        Raises:
            kgraph.yamlio.InputError: what is meant is not known, or nothing is said of it.
        """
        from kgraph.tasting.record import Record
        from kgraph.writing import lecture, scope

        if isinstance(what, (Record, Path)) or looks_like_file(what):
            record = self.read(what)
            found = scope.lecture_of_record(self.ontology, self.network, self._multigraph, record, self.ask(record).answer)
        else:
            found = scope.lecture_of(self.ontology, self.network, self._multigraph, scope.subject_of(self.ontology, what))
        return lecture.static(found) if svg else lecture.page(self.ontology, found)

    def handout(self, format: str = "html") -> str:
        """The printable key from taste and mouthfeel to families, actions and cautions: `html` or `markdown`."""
        from kgraph.writing import handout

        if format not in ("html", "markdown"):
            raise ValueError(f"`{format}` is no format; use html or markdown")
        sheet = handout.handout_of(self.ontology, lambda record: self.ask(record).answer)
        return handout.as_html(sheet) if format == "html" else handout.as_markdown(sheet)

    def note(self, herb: str, records: Sequence[str | Path | Record] = ()) -> Note:
        """A materia medica note on a herb beside one's own tastings; `kgraph.writing.note_text` writes it as Markdown or HTML.

        Raises:
            kgraph.yamlio.InputError: no such herb, or a record of another one.
        """
        from kgraph.reasoning.explanation import resolve_herb
        from kgraph.writing.note import note_on

        return note_on(self.ontology, self.network, resolve_herb(self.ontology, herb), [self.read(r) for r in records], shelf=self.shelf if records else None)

    def panel(self, tastings: Sequence[str | Path | Record], references: Mapping[str, str | Path | Record] | None = None, triangle: tuple[int, int] | None = None) -> Panel:
        """The report on several tasters of one sample.

        Args:
            tastings: their records, or one record of all.
            references: quality to the record of a reference solution that shows it, for what each taster misses.
            triangle: (right, tries) of a triangle test.

        Raises:
            kgraph.yamlio.InputError: different samples, a taster twice, one taster only, an unknown quality.
        """
        from kgraph.reasoning import agreement
        from kgraph.reasoning.explanation import resolve_quality
        from kgraph.reasoning.panel import misses_in, panel_of, together

        records = [self.read(t) for t in tastings]
        record = together(records)
        missed = [m for quality, one in (references or {}).items() for m in misses_in(self.ontology, self.read(one), resolve_quality(self.ontology, quality))]
        remarks = ["The cups were not made alike: part of what differs may be the brew's."] if any(r.preparation != records[0].preparation for r in records) else []
        test = agreement.triangle(*triangle) if triangle else None
        return panel_of(self.ontology, record, self.ask(record).answer, misses=missed, test=test, remarks=remarks)

    def sheet(self, herbs: Sequence[str] = (), tasters: Sequence[str] = (), *, cups: int = 0, seed: int = 1, blind: bool = True, plan: bool = False) -> str:
        """A blank tasting sheet (HTML), or with `plan` the plan of the session (Markdown), for these herbs or for so many unnamed cups.

        Raises:
            kgraph.yamlio.InputError: an unknown herb, one that is never to be tasted, a taster twice, too many cups.
        """
        from kgraph.reasoning.explanation import resolve_herb
        from kgraph.tasting.session_plan import plan_for
        from kgraph.writing import sheet

        ids = [resolve_herb(self.ontology, herb) for herb in herbs]
        sheet.refuse_poisons(self.ontology, ids)
        made = plan_for(len(ids) or cups or 1, tasters, seed)
        return sheet.plan_text(self.ontology, made, ids) if plan else sheet.page(self.ontology, made, ids, blind=blind)

    def to_networkx(self) -> networkx.MultiDiGraph:
        """The graph as networkx: things are nodes, claims are edges; attributes in :mod:`kgraph.graphs.multigraph`."""
        return self._multigraph.copy()

    @cached_property
    def _multigraph(self) -> networkx.MultiDiGraph:
        from kgraph.graphs.multigraph import multigraph

        return multigraph(self.ontology)

    def to_rdflib(self, base: str | None = None) -> rdflib.Graph:
        """The graph as rdflib, over an embedded store: queries run there, and are fast. `base` as in ``kgraph export --base``."""
        import rdflib
        from oxrdflib import OxigraphStore
        from rdflib.graph import DATASET_DEFAULT_GRAPH_ID

        from kgraph.graphs.iris import DEFAULT_BASE, Names
        from kgraph.graphs.querying import store_of

        names = Names(base or DEFAULT_BASE)
        graph = rdflib.Graph(store=OxigraphStore(store=store_of(self.ontology, names)), identifier=DATASET_DEFAULT_GRAPH_ID, bind_namespaces="none")
        for prefix, space in names.prefixes.items():
            graph.bind(prefix, space)
        return graph

    def query(self, question: str, base: str | None = None, seconds: float = 10.0, max_rows: int = 10_000, **settings: str) -> Table:
        """Ask in SPARQL, or by the name of a shipped query: ``known.query("what-gives", quality="drying")``.

        Raises:
            kgraph.yamlio.InputError: what is wrong with the query, or that it took too long.
        """
        from kgraph.graphs import querying
        from kgraph.graphs.iris import DEFAULT_BASE, Names

        names = Names(base or DEFAULT_BASE)
        named = querying.named_queries().get(question)
        bindings = querying.bindings_of(self.ontology, named, settings, names) if named else {}
        if names.base not in self._stores:
            self._stores[names.base] = querying.store_of(self.ontology, names)
        found = querying.ask_graph(self._stores[names.base], named.text if named else question, names, bindings=bindings, seconds=seconds, max_rows=max_rows)
        return Table(found.columns, found.rows)

    @cached_property
    def _stores(self) -> dict[str, Any]:
        return {}

    def paths(self, start: str, end: str, longest: int = 0) -> list[tuple[Step, ...]]:
        """Paths of reasoning from a quality to an action, use or caution: the shortest ones, or all of at most `longest` steps."""
        from kgraph.graphs import paths

        return list(paths.simple(self._multigraph, start, end, longest=longest)) if longest else paths.shortest(self._multigraph, start, end)

    def __repr__(self) -> str:
        o = self.ontology
        return f"<kgraph knowledge {o.version}: {len(o.herbs)} herbs, {len(o.classes)} classes, {len(o.qualities)} qualities, {len(o.claims)} statements>"


def looks_like_file(text: str) -> bool:
    """Is this the name of a file rather than plain words? A YAML ending, a path's beginning, or a file that exists; "bitter/sour" is words."""
    if "\n" in text or len(text) > 1000:
        return False
    if text.lower().endswith((".yaml", ".yml")) or text.startswith(("/", "./", "../", "~")) or text in (".", "..") or "\\" in text:
        return True
    try:
        return Path(text).is_file() or ("/" in text and Path(text).exists())
    except (OSError, ValueError):
        return False


def load(*folders: str | Path, cache: bool = True) -> Knowledge:
    """Load the shipped ontology, with folders of your own added to it.

    >>> known = load()
    >>> known.ask("dry mouth, a little bitter").families[0].id
    'tannins'
    """
    added: Sequence[str | Path] = folders
    if any(not str(folder).strip() for folder in added):
        from kgraph.yamlio import InputError, Place

        raise InputError.single("no-name", "the name of the folder is empty.", "Name a folder with YAML files of an ontology.", Place("--ontology"))
    return Knowledge(load_ontology(added, cache=cache))
