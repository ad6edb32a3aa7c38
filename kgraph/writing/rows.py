"""Rows of a query as a table for a terminal, as CSV, as JSON."""

from __future__ import annotations

import csv
import io
import json
import textwrap
from collections.abc import Sequence
from typing import Any

from kgraph.writing.plain import visible

_NARROWEST = 8


def cell(value: Any) -> str:
    """A value as text: nothing for what is unbound, yes and no for truth."""
    return "" if value is None else ("yes" if value else "no") if isinstance(value, bool) else str(value)


def table(columns: Sequence[str], rows: Sequence[Sequence[Any]], width: int) -> str:
    """Columns side by side, long cells wrapped: nothing is cut off."""
    if not columns:
        return "no columns\n"
    texts = [[visible(cell(value)) for value in row] for row in rows]
    heads = [name.replace("_", " ") for name in columns]
    wanted = [max(len(heads[i]), *(len(row[i]) for row in texts)) if texts else len(heads[i]) for i in range(len(columns))]
    widths = _share(wanted, max(_NARROWEST * len(columns), width - 2 * (len(columns) - 1)))
    lines = [*_row(heads, widths), "  ".join("-" * w for w in widths)]
    for row in texts:
        lines += _row(row, widths)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _share(wanted: list[int], room: int) -> list[int]:
    """Narrow columns get what they want, wide ones share what is left."""
    widths = list(wanted)
    while sum(widths) > room and max(widths) > _NARROWEST:
        widest = max(range(len(widths)), key=lambda i: widths[i])
        widths[widest] -= 1
    return widths


def _row(cells: Sequence[str], widths: Sequence[int]) -> list[str]:
    wrapped = [textwrap.wrap(text, width) or [""] for text, width in zip(cells, widths, strict=True)]
    deep = max(len(lines) for lines in wrapped)
    return ["  ".join((lines[i] if i < len(lines) else "").ljust(width) for lines, width in zip(wrapped, widths, strict=True)) for i in range(deep)]


def harmless(text: str) -> str:
    """Text that a spreadsheet will not run: what begins like a formula gets an apostrophe before it (OWASP, CSV injection)."""
    return "'" + text if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def as_csv(columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> str:
    """CSV after RFC 4180 with a line of names; formulae are made harmless, numbers stay numbers."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([value if isinstance(value, int | float) and not isinstance(value, bool) else harmless(cell(value)) for value in row])
    return out.getvalue()


def as_json(columns: Sequence[str], rows: Sequence[Sequence[Any]], *, cut: bool) -> str:
    """One object: names of the columns, a list of objects, and whether rows were cut off."""
    data = {"columns": list(columns), "rows": [dict(zip(columns, row, strict=True)) for row in rows], "cut": cut}
    return json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False) + "\n"
