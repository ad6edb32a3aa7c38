"""`ask` and `match` for many records: a line each, as JSON Lines or CSV."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from kgraph.cli import FAULTS_FOUND, MAX_SHOWN

if TYPE_CHECKING:
    from kgraph.session import Knowledge
    from kgraph.tasting import Record
    from kgraph.yamlio import InputError

FORMATS = {".jsonl": "json-lines", ".csv": "csv"}
_AT_ONCE = 256


def wants_many(names: Sequence[str], verb: str, output: str, format: str) -> bool:
    """Several records, a folder, a spreadsheet, or a file to write to; `match A B` holds two samples side by side."""
    from kgraph.session import looks_like_file
    from kgraph.tasting.gathering import is_many

    if output != "-" or format or any(looks_like_file(name) and is_many(name) for name in names):
        return True
    return len(names) > (2 if verb == "match" else 1)


def answer_many(known: Knowledge, names: Sequence[str], verb: str, claimed: str, output: str, format: str, force: bool) -> None:
    """Answer every record that can be read, write one line each, list the others on stderr; exit 1 if there were any."""
    from kgraph.tasting.gathering import files_of
    from kgraph.writing import files

    chosen = "json-lines" if output == "-" and not format else files.format_of(output, format, FORMATS)
    if output != "-":
        files.ready(Path(output), force=force)
    bad: list[InputError] = []
    rows = list(_answers(known, files_of(names), verb, claimed, bad))
    text = _csv(rows) if chosen == "csv" else "".join(json.dumps(row, ensure_ascii=False, allow_nan=False) + "\n" for row in rows)
    if output == "-":
        typer.echo(text, nl=False)
    else:
        files.write_file(Path(output), text, force=force)
    for fault in [fault for error in bad for fault in error.faults][:MAX_SHOWN]:
        typer.echo(f"kgraph: {fault}", err=True)
    typer.echo(f"{len(rows)} records answered, {len(bad)} with faults", err=True)
    if bad:
        raise typer.Exit(FAULTS_FOUND)


def _answers(known: Knowledge, paths: list[Path], verb: str, claimed: str, bad: list[InputError]) -> Iterator[dict[str, Any]]:
    from kgraph.tasting.gathering import read_all
    from kgraph.yamlio import InputError

    good: list[tuple[str, Record]] = []
    shows = sys.stderr is not None and sys.stderr.isatty()
    with typer.progressbar(read_all(paths, known.vocabulary), length=len(paths), label="records", file=sys.stderr if shows else None, hidden=not shows) as batches:
        for batch in batches:
            for name, record in batch:
                if isinstance(record, InputError):
                    bad.append(record)
                else:
                    good.append((name, record))
            if len(good) >= _AT_ONCE:
                yield from _some(known, good, verb, claimed, bad)
                good = []
        yield from _some(known, good, verb, claimed, bad)


def _some(known: Knowledge, good: Sequence[tuple[str, Record]], verb: str, claimed: str, bad: list[InputError]) -> Iterator[dict[str, Any]]:
    from kgraph.yamlio import InputError

    for brief in known.briefs(good) if verb == "ask" else known.match_briefs(good, claimed):
        if isinstance(brief, InputError):
            bad.append(brief)
        else:
            yield brief.as_dict()


def _csv(rows: Iterable[dict[str, Any]]) -> str:
    """One line a record: lists joined by semicolons, candidates as `label (before > after)`."""
    from kgraph.writing import rows as table

    lines = [{key: _cell(value) for key, value in row.items() if key not in ("answer", "version")} for row in rows]
    columns = list(lines[0]) if lines else ["record"]
    return table.as_csv(columns, [[line.get(key, "") for key in columns] for line in lines])


def _cell(value: Any) -> Any:
    if isinstance(value, dict):
        return f"{value['label']} ({value['prior']:.3f} > {value['posterior']:.3f})" if "label" in value else "; ".join(f"{k} {_cell(v)}" for k, v in value.items())
    if isinstance(value, list):
        return "; ".join(str(_cell(item)) for item in value)
    return value
