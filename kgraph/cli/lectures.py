"""The commands of a lecture: draw, handout."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kgraph.cli.app import ForceOption, OntologyOption, _known, app
from kgraph.cli.graphs import _write, command

__all__ = ["app", "command"]

ENDINGS = {".html": "html", ".svg": "svg"}


def _name_for(what: str, format: str) -> str:
    """The file that a drawing goes into if none is named: after its subject, in the folder one stands in."""
    stem = Path(what).stem if what else "from-taste-to-use"
    return "".join(ch if ch.isalnum() or ch in "-_" else "-" for ch in stem).strip("-") + "." + format


def _format(output: str, *, svg: bool) -> str:
    from kgraph.yamlio import InputError, Place, shorten

    ending = Path(output).suffix.lower()
    if output in ("", "-"):
        return "svg" if svg else "html"
    if ending not in ENDINGS or (svg and ending != ".svg"):
        raise InputError.single("unknown-format", f"`{shorten(output)}` does not tell what to draw.", "End it in .svg." if svg else "End it in .html or .svg.", Place("--output"))
    return ENDINGS[ending]


@app.command()
def draw(
    what: Annotated[str, typer.Argument(metavar="[HERB, QUALITY or RECORD]", help="A herb or quality by id or name, or a tasting record (YAML). Left out: everything.")] = "",
    output: Annotated[str, typer.Option("--output", metavar="FILE", help="Where to write; `-` for stdout. Left out: a file named after the subject. The ending .svg gives a static picture.")] = "",
    svg: Annotated[bool, typer.Option("--svg", help="A static picture for slides and notes instead of the page.")] = False,
    force: ForceOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Draw an interactive page, one file that needs no network: layers from taste to caution, step by step, with a live board."""
    from kgraph.writing import files

    format = _format(output, svg=svg)
    target = output or _name_for(what, format)
    if target != "-":
        files.ready(Path(target), force=force)
    _write(target, _known(ontology).draw(what, svg=format == "svg"), force)
    if target != "-":
        typer.echo(f"written: {target}", err=True)


@app.command()
def handout(
    output: Annotated[str, typer.Option("--output", metavar="FILE", help="Where to write; `-` for stdout. The format follows the ending: .html, .md.")] = "-",
    format: Annotated[str, typer.Option("--format", metavar="FORMAT", help="html or markdown. Left out: markdown on stdout.")] = "",
    force: ForceOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Write the printable key: from what the tongue notices to families, actions and cautions, on two A4 pages."""
    from kgraph.writing import files

    chosen = "markdown" if output == "-" and not format else files.format_of(output, format, {".html": "html", ".md": "markdown"})
    if output != "-":
        files.ready(Path(output), force=force)
    _write(output, _known(ontology).handout(chosen), force)
