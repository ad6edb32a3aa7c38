"""Lines for a terminal: headings, wrapped items, a budget for the first screen."""

from __future__ import annotations

import os
import shutil
from typing import TextIO

from kgraph.writing.plain import visible, wrap

MIN_WIDTH, MAX_WIDTH, USUAL_WIDTH = 50, 100, 88


def terminal_width() -> int:
    """Columns to write in: those of the terminal (or of COLUMNS), within bounds."""
    return max(MIN_WIDTH, min(MAX_WIDTH, shutil.get_terminal_size((USUAL_WIDTH, 24)).columns))


def wants_bold(stream: TextIO | None) -> bool:
    """Bold headings only on a terminal that has them and a user who has not asked for plain text."""
    return stream is not None and stream.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM", "") != "dumb"


class Screen:
    """Collects lines of bounded width."""

    def __init__(self, width: int, bold: bool = False) -> None:
        self.width = width
        self.bold = bold
        self.lines: list[str] = []
        self.warning_lines = 0

    def heading(self, text: str) -> None:
        lines = wrap(visible(text), self.width, "", "  ")
        self.lines += [f"\x1b[1m{line}\x1b[0m" for line in lines] if self.bold else lines

    def item(self, text: str, indent: int = 2, hang: int = 2) -> None:
        """A wrapped item; its second line stands `hang` further in."""
        lines = wrap(visible(text), self.width, " " * indent, " " * (indent + hang))
        self.lines += lines
        if text.startswith(("STOP", "WARNING", "AVOID")):
            self.warning_lines += len(lines)

    def blank(self) -> None:
        self.lines.append("")

    def text(self) -> str:
        return "\n".join(line.rstrip() for line in self.lines) + "\n"
