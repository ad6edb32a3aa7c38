"""The command of the bench: prepare."""

from __future__ import annotations

from typing import Annotated

import typer

from kgraph.cli.app import JsonOption, _print_json, app
from kgraph.cli.graphs import _settings
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
