"""The commands before a tasting: prepare, sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kgraph.cli.app import ForceOption, JsonOption, OntologyOption, _herbs, _known, _print_json, app
from kgraph.cli.graphs import _settings, _write
from kgraph.cli.notes import command

__all__ = ["app", "command"]


@app.command()
def prepare(
    sum: Annotated[str, typer.Argument(metavar="[SUM]", help="Which sum, such as strength, mixing, ethanol, swelling. Left out: the list.")] = "",
    given: Annotated[list[str] | None, typer.Argument(metavar="[NAME=VALUE]...", help="Its inputs with units, such as herb=2g water=150ml.")] = None,
    json: JsonOption = False,
) -> None:
    """Do the sums of the bench, with units and sources: strength, mixing temperature, ethanol left, pharmacopoeial figures."""
    from kgraph.reasoning.answer import NOTICE, as_plain
    from kgraph.tasting.bench import SUMS, work_out
    from kgraph.writing.bench_text import listing, render

    if not sum:
        typer.echo(listing(SUMS), nl=False)
        return
    found, values, results = work_out(sum, _settings(given))
    if json:
        _print_json({"answer": "prepare", "version": 1, "sum": sum, "formula": found.formula, "rests_on": found.rests_on, "inputs": values, "results": as_plain(results), "notice": NOTICE})
        return
    from kgraph.writing.screen import terminal_width

    typer.echo(render(found, values, results, width=terminal_width()), nl=False)


def _number(text: str, option: str, low: int, high: int) -> int:
    from kgraph.yamlio import InputError, Place, shorten

    if not text.strip().isdecimal() or not low <= int(text) <= high:
        raise InputError.single("number", f"`{shorten(text)}` is no number from {low} to {high}.", f"Write {option} {low}.", Place(option))
    return int(text)


@app.command()
def sheet(
    herb: Annotated[list[str] | None, typer.Argument(metavar="[HERB]...", help="The herbs of the cups, by id, botanical or common name. Left out: unnamed cups.", autocompletion=_herbs)] = None,
    tasters: Annotated[str, typer.Option("--tasters", metavar="A,B,C", help="Who tastes, parted by commas.")] = "",
    cups: Annotated[str, typer.Option("--cups", metavar="N", help="How many unnamed cups, where no herbs are given.")] = "1",
    plan: Annotated[bool, typer.Option("--plan", help="The plan of the session instead: codes, serving orders, amounts, rests, reference solutions (Markdown).")] = False,
    named: Annotated[bool, typer.Option("--named", help="Put the herbs' names on the sheet; else it is blind until all have finished.")] = False,
    seed: Annotated[str, typer.Option("--seed", metavar="N", help="Another number, other codes and orders.")] = "1",
    output: Annotated[str, typer.Option("--output", metavar="FILE", help="Where to write; `-` for stdout. A page (.html), or with --plan a text (.md).")] = "-",
    force: ForceOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Make a blank tasting sheet that works on a phone and saves a record, or the plan of a blind session."""
    from kgraph.writing import files

    if output != "-":
        files.format_of(output, "", {".md": "markdown"} if plan else {".html": "html"})
        files.ready(Path(output), force=force)
    who = [name.strip() for name in tasters.split(",") if name.strip()]
    text = _known(ontology).sheet(herb or (), who, cups=_number(cups, "--cups", 1, 12), seed=_number(seed, "--seed", 0, 10**9), blind=not named, plan=plan)
    _write(output, text, force)
