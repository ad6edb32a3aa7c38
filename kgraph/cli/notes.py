"""The commands of the writing desk: note, panel."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kgraph.cli.app import ForceOption, FullOption, JsonOption, OntologyOption, _herbs, _known, _print_json, app
from kgraph.cli.graphs import _settings, _write
from kgraph.cli.lectures import command

__all__ = ["app", "command"]

ENDINGS = {".md": "markdown", ".html": "html", ".docx": "docx"}


@app.command()
def note(
    herb: Annotated[str, typer.Argument(metavar="HERB", help="The herb, by id, botanical or common name.", autocompletion=_herbs)],
    record: Annotated[list[str] | None, typer.Option("--record", metavar="FILE", help="A tasting of your own to stand beside the descriptions. May be given again.")] = None,
    output: Annotated[str, typer.Option("--output", metavar="FILE", help="Where to write; `-` for stdout. The format follows the ending: .md, .html, .docx (with pandoc).")] = "-",
    bib: Annotated[str, typer.Option("--bib", metavar="FILE", help="Write the sources as BibTeX beside it; the note then uses pandoc's citation keys.")] = "",
    yours: Annotated[str, typer.Option("--yours", metavar="FILE", help="An earlier note (Markdown) whose own text is taken over. With --force an earlier note at --output is taken by itself.")] = "",
    since: Annotated[str, typer.Option("--since", metavar="FILE", help="Only say which statements have changed since an earlier note (Markdown).")] = "",
    force: ForceOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Write a materia medica note: every statement with its source, your own tastings beside it, your own text kept."""
    from kgraph.writing import files, keeping, note_text, pandoc, references
    from kgraph.writing.note import SECTIONS, all_claims
    from kgraph.yamlio import decode, read_bytes

    chosen = "markdown" if output == "-" else files.format_of(output, "", ENDINGS)
    for target in (output, bib):
        if target not in ("-", ""):
            files.ready(Path(target), force=force)
    known = _known(ontology)
    made = known.note(herb, record or ())
    if since:
        _say_changes(known.ontology, made, since)
        return
    earlier = yours or (output if chosen == "markdown" and output != "-" and Path(output).is_file() else "")
    kept = keeping.own_text(decode(read_bytes(Path(earlier)), earlier), SECTIONS, note_text.as_markdown(made, known.ontology, citation_keys=bool(bib))) if earlier else {}
    sources = references.bibtex(known.ontology.sources[s] for s in {a.source for id in all_claims(made) for a in known.ontology.claim(id).attributions if a.read}) if bib else ""
    if chosen == "html":
        _write(output, note_text.as_html(made, known.ontology, kept), force)
    else:
        text = note_text.as_markdown(made, known.ontology, kept, citation_keys=bool(bib))
        if chosen == "docx":
            files.write_file(Path(output), pandoc.docx(text, sources), force=force)
        else:
            _write(output, text, force)
    if bib:
        _write(bib, sources, force)
    aside = sum(name.startswith("aside-") for name in kept)
    if aside:
        typer.echo(f"{aside} pieces of your own text had lost their place; they stand at the end, under Kept aside", err=True)


def _say_changes(ontology: object, made: object, since: str) -> None:
    from kgraph.claims import Ontology
    from kgraph.writing import keeping
    from kgraph.writing.note import Note, changes, sentence
    from kgraph.yamlio import InputError, Place, decode, read_bytes

    assert isinstance(ontology, Ontology) and isinstance(made, Note)
    before = keeping.statements_in(decode(read_bytes(Path(since)), since))
    if before is None:
        raise InputError.single("no-statements", "this file does not tell which statements it was made from.", "Give a note that `kgraph note` wrote as Markdown.", Place(since))
    new, gone, otherwise = changes(made, before)
    for lead, ids in (("new", new), ("said otherwise now", otherwise)):
        for id in ids:
            typer.echo(f"{lead}: {sentence(ontology, ontology.claim(id))}")
    for id in gone:
        typer.echo(f"gone: {id}")
    if not (new or gone or otherwise):
        typer.echo("nothing has changed")


def _triangle(text: str) -> tuple[int, int] | None:
    from kgraph.yamlio import InputError, Place, shorten

    if not text:
        return None
    right, slash, tries = text.partition("/")
    if not (slash and right.strip().isdecimal() and tries.strip().isdecimal()) or not 0 <= int(right) <= int(tries) or not 1 <= int(tries) <= 10_000:
        raise InputError.single("triangle", f"`{shorten(text)}` is no result of a triangle test.", "Write right/tries, such as 15/30.", Place("--triangle"))
    return int(right), int(tries)


@app.command()
def panel(
    records: Annotated[list[str], typer.Argument(metavar="RECORD...", help="The records of all who tasted one sample, or one record of all of them.")],
    reference: Annotated[list[str] | None, typer.Option("--reference", metavar="QUALITY=FILE", help="The record of a reference solution that shows a quality: who missed it is told. May be given again.")] = None,
    triangle: Annotated[str, typer.Option("--triangle", metavar="RIGHT/TRIES", help="A triangle test to be told beside it, such as 15/30.")] = "",
    output: Annotated[str, typer.Option("--output", metavar="FILE", help="Where to write; `-` for the screen. The format follows the ending: .md, .html.")] = "-",
    full: FullOption = False,
    json: JsonOption = False,
    force: ForceOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Compare tasters: where they agree and part, who stands apart, what they say together."""
    import sys

    from kgraph.writing import files, panel_text
    from kgraph.writing.screen import terminal_width, wants_bold

    chosen = "" if output == "-" else files.format_of(output, "", {".md": "markdown", ".html": "html"})
    if chosen:
        files.ready(Path(output), force=force)
    found = _known(ontology).panel(records, _settings(reference), _triangle(triangle))
    if json:
        _print_json(found.as_dict())
    elif chosen:
        _write(output, panel_text.as_html(found) if chosen == "html" else panel_text.as_markdown(found), force)
    else:
        typer.echo(panel_text.render(found, full_answer=full, width=terminal_width(), bold=wants_bold(sys.stdout)), nl=False)
