"""The commands that hand the graph on: export, query, paths."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from kgraph.cli.app import ForceOption, FullOption, JsonOption, OntologyOption, _known, _print_json, app, command

__all__ = ["app", "command"]

#: Bytes of an RDF file that is asked.
LARGEST = 200_000_000
REFERENCES = {".bib": "bibtex", ".json": "csl-json"}
BaseOption = Annotated[str, typer.Option("--base", metavar="IRI", help="What every IRI begins with. Left out: https://kgraph.example/, a reserved name that leads nowhere.")]


def _write(output: str, text: str, force: bool) -> None:
    if output == "-":
        typer.echo(text, nl=False)
    else:
        from kgraph.writing import files

        files.write_file(Path(output), text, force=force)


@app.command()
def export(
    output: Annotated[str, typer.Option("--output", metavar="FILE", help="Where to write; `-` for stdout. The format follows the ending: .ttl, .jsonld, .nq, .graphml, .bib, .json (references).")] = "-",
    format: Annotated[str, typer.Option("--format", metavar="FORMAT", help="turtle, json-ld, n-quads, graphml, node-link; bibtex or csl-json for the sources.")] = "",
    base: BaseOption = "",
    record: Annotated[list[str] | None, typer.Option("--record", metavar="FILE", help="A tasting record to go with it, as observations (RDF formats). May be given again.")] = None,
    force: ForceOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Write the whole graph for other programs (RDF, networkx), or its sources for a reference manager."""
    from kgraph.graphs.formats import ENDINGS, FORMATS, RDF_FORMATS
    from kgraph.graphs.formats import export as whole
    from kgraph.graphs.iris import DEFAULT_BASE, Names
    from kgraph.writing import files, references
    from kgraph.yamlio import InputError, Place

    chosen = files.format_of(output, format, ENDINGS | REFERENCES, FORMATS)
    for given, option in ((base, "--base"), (record, "--record")):
        if given and chosen not in RDF_FORMATS:
            raise InputError.single("only-in-rdf", f"`{option}` has no place in {chosen}.", f"Leave it out, or choose {', '.join(RDF_FORMATS)}.", Place(option))
    names = Names(base or DEFAULT_BASE)
    known = _known(ontology)
    if chosen in FORMATS:
        _write(output, whole(known.ontology, chosen, names, [known.read(Path(file)) for file in record or ()]), force)
        return
    sources = known.ontology.sources.values()
    _write(output, references.bibtex(sources) if chosen == "bibtex" else references.csl_json(sources), force)


def _settings(given: list[str] | None) -> dict[str, str]:
    from kgraph.yamlio import InputError, Place

    found: dict[str, str] = {}
    for one in given or ():
        key, equals, value = one.partition("=")
        if not equals or not key.strip() or not value.strip() or key.strip() in found:
            raise InputError.single("setting", f"`{one}` is no setting, or stands twice.", "Write --set quality=drying.", Place("--set"))
        found[key.strip()] = value.strip()
    return found


def _query_text(question: str) -> tuple[Any, str]:
    """(named query or None, text): the name of a shipped query, a file, or SPARQL itself."""
    from kgraph.graphs.querying import named_queries
    from kgraph.yamlio import InputError, Place, decode, did_you_mean, read_bytes

    named = named_queries()
    if question in named:
        return named[question], named[question].text
    if "{" in question:
        return None, question
    if question.endswith((".rq", ".sparql")) or Path(question).is_file():
        return None, decode(read_bytes(Path(question)), question)
    raise InputError.single("unknown-query", f"no query is called `{question}`.", did_you_mean(question, named) or "Run `kgraph query` for the list, or give SPARQL in quotes.", Place("query"))


@app.command()
def query(
    question: Annotated[str, typer.Argument(metavar="[QUERY]", help="The name of a shipped query, a file with SPARQL, or SPARQL in quotes. Left out: the list of shipped queries.")] = "",
    set: Annotated[list[str] | None, typer.Option("--set", metavar="NAME=VALUE", help="What a shipped query needs, such as quality=drying or herb=gentian. May be given again.")] = None,
    data: Annotated[str, typer.Option("--data", metavar="FILE", help="Ask this RDF file (.ttl, .nt, .nq, .trig, .jsonld, .rdf) instead of the ontology; its base is taken from it.")] = "",
    base: BaseOption = "",
    rows: Annotated[str, typer.Option("--rows", metavar="N", help="At most so many rows (10000).")] = "10000",
    seconds: Annotated[str, typer.Option("--seconds", metavar="S", help="At most so many seconds (10).")] = "10",
    json: JsonOption = False,
    csv: Annotated[bool, typer.Option("--csv", help="Print CSV.")] = False,
    output: Annotated[str, typer.Option("--output", metavar="FILE", help="Where to write; `-` for stdout.")] = "-",
    force: ForceOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Ask the graph in SPARQL: a shipped query by name, or your own. Read only; nothing is fetched."""
    from kgraph.graphs import querying
    from kgraph.graphs.iris import DEFAULT_BASE, Names
    from kgraph.writing import rows as writing
    from kgraph.writing.screen import terminal_width
    from kgraph.yamlio import InputError, Limits, Place, read_bytes

    if json and csv:
        raise InputError.single("one-format", "both --json and --csv are given.", "Give one.", Place("--csv"))
    names = Names(base or DEFAULT_BASE)
    most, patience = _number(rows, "--rows", 1, 1_000_000), _number(seconds, "--seconds", 0.01, 3600)
    settings = _settings(set)
    if not question:
        listed = [(q.name, ", ".join(q.needs), q.purpose) for q in querying.named_queries().values()]
        found = querying.Found(("name", "needs", "who_asks_what"), tuple(listed))
    else:
        named, text = _query_text(question)
        if named is None and settings:
            raise InputError.single("unknown-setting", "`--set` goes with a shipped query only.", "Write the values into the query.", Place("--set"))
        querying.guard(text)
        known = _known(ontology).ontology if not data else None
        store = querying.store_of(known, names) if known is not None else querying.store_of_file(read_bytes(Path(data), Limits(bytes=LARGEST)), Path(data).suffix.lower().lstrip("."), data)
        if known is None and not base and (own := querying.base_in(store)):
            names = Names(own)
        bindings = querying.bindings_of(known, named, settings, names) if named is not None else {}
        found = querying.ask_graph(store, text, names, bindings=bindings, seconds=patience, max_rows=int(most))
    if json:
        text = writing.as_json(found.columns, found.rows, cut=found.cut)
    else:
        text = writing.as_csv(found.columns, found.rows) if csv else writing.table(found.columns, found.rows, terminal_width())
    _write(output, text, force)
    if found.cut:
        typer.echo(f"cut off after {len(found.rows):,} rows; there are more (--rows)", err=True)
    elif question and not json and not csv:
        typer.echo(f"{len(found.rows):,} row{'' if len(found.rows) == 1 else 's'}", err=True)


def _number(text: str, option: str, low: float, high: float) -> float:
    from kgraph.yamlio import InputError, Place

    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        raise InputError.single("number", f"`{text}` is no number from {low:g} to {high:g}.", "Check it.", Place(option))
    return value


@app.command()
def paths(
    start: Annotated[str, typer.Argument(metavar="FROM", help="A quality, such as drying.")],
    end: Annotated[str, typer.Argument(metavar="TO", help="An action, use or caution, such as astringent. With its kind where a name is shared: caution/pregnancy.")],
    longest: Annotated[str, typer.Option("--longest", metavar="N", help="Paths of at most so many steps instead of the shortest ones alone.")] = "",
    full: FullOption = False,
    json: JsonOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Show how the graph gets from a quality to an action, a use or a caution, with the sources of each step."""
    from kgraph.graphs import paths as walking
    from kgraph.writing import paths_text
    from kgraph.writing.screen import terminal_width, wants_bold

    known = _known(ontology)
    graph = known.to_networkx()
    steps = int(_number(longest, "--longest", 1, 8)) if longest else 0
    found = list(walking.simple(graph, start, end, longest=steps)) if steps else walking.shortest(graph, start, end)
    if json:
        _print_json(paths_text.as_dict(known.ontology, found))
        return
    typer.echo(paths_text.render(known.ontology, found, width=terminal_width(), bold=wants_bold(sys.stdout), most=0 if full else 8), nl=False)
