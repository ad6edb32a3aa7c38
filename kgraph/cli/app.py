"""The commands. Heavy rooms are imported inside each command, so that `--help` loads none of them."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    name="kgraph",
    help="From the taste of a medicinal herb to its constituents, actions and cautions, with every step traced to its source.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

OntologyOption = Annotated[
    list[Path] | None,
    typer.Option("--ontology", metavar="DIR", help="A folder of YAML that adds to the shipped ontology, or replaces it if its header says so."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]


def _version(asked: bool) -> None:
    if asked:
        from kgraph import __version__

        typer.echo(f"kgraph {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and leave.")] = False,
) -> None:
    pass


@app.command()
def check(
    what: Annotated[Path | None, typer.Argument(metavar="[DIR or RECORD]", help="An ontology folder or a tasting record; the shipped ontology if left out.")] = None,
    ontology: OntologyOption = None,
) -> None:
    """Check an ontology or a tasting record: every fault with file, line and remedy."""
    from kgraph.claims import reading
    from kgraph.yamlio import InputError

    try:
        folders = reading.select([*(ontology or []), *([what] if what is not None else [])])
        found, remarks = reading.compile_folders(folders)
    except InputError as error:
        for fault in error.faults:
            typer.echo(str(fault))
        raise typer.Exit(1) from None
    for remark in remarks:
        typer.echo(str(remark))
    typer.echo(f"{len(found.herbs)} herbs, {len(found.claims)} statements, {len(remarks)} remarks", file=sys.stderr)
    raise typer.Exit(1 if remarks else 0)
