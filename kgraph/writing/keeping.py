"""The writer's own text in a note: found between its markers, never lost, whatever was done to the markers."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from urllib.parse import quote, unquote

_BEGIN = re.compile(r"^[ \t]*<!--\s*yours:\s*([^>]*?)\s*-->[ \t]*$")
_END = re.compile(r"^[ \t]*<!--\s*end of yours:\s*([^>]*?)\s*-->[ \t]*$")
_STATEMENTS = re.compile(r"<!-- statements: (.*?) -->", re.S)
_HEADING = re.compile(r"^## ")


def own_text(markdown: str, places: Collection[str], made: str = "") -> dict[str, str]:
    """The writer's text by place.

    Args:
        markdown: the earlier note.
        places: the names of the places that a note has.
        made: the note as it is made now; where a place has lost its beginning, lines that stand there too are not the writer's.

    Text of a place that stands twice, of an unknown place, or after a marker whose partner is gone (up to the next marker
    or heading) is kept under a name of its own, `aside-1`, `aside-2` ...
    """
    found: dict[str, str] = {}
    aside: list[str] = []
    open_name: str | None = None
    lines: list[str] = []
    outside: list[str] = []  # since the last marker or heading
    ours = set(made.split("\n"))

    def close(*, whole: bool) -> None:
        nonlocal open_name
        text = "\n".join(lines)
        if open_name is not None and text.strip():
            if whole and open_name in places and open_name not in found:
                found[open_name] = text
            else:
                aside.append(text.strip("\n"))
        open_name = None
        lines.clear()

    for line in markdown.replace("\r\n", "\n").split("\n"):
        if match := _BEGIN.match(line):
            close(whole=False)
            open_name = match[1]
            outside.clear()
        elif match := _END.match(line):
            if open_name is None:
                strays = [one for one in outside if one.strip() and one not in ours]
                aside += ["\n".join(strays)] if strays else []
            close(whole=match[1] == open_name)
            outside.clear()
        elif open_name is not None and _HEADING.match(line) and not _is_closed(markdown, open_name):
            close(whole=False)
        elif open_name is not None:
            lines.append(line)
        elif _HEADING.match(line):
            outside.clear()
        else:
            outside.append(line)
    close(whole=False)
    return found | {f"aside-{number}": text for number, text in enumerate(aside, start=1)}


def _is_closed(markdown: str, name: str) -> bool:
    """Does the place's end stand anywhere? Then a heading inside it is the writer's own."""
    return any((match := _END.match(line)) and match[1] == name for line in markdown.split("\n"))


def statements_in(markdown: str) -> dict[str, str] | None:
    """Claim id to fingerprint as the note was made from, or None where it holds no such list."""
    found = _STATEMENTS.findall(markdown)
    if not found:
        return None
    pairs = (part.rpartition("=") for part in found[-1].replace("-&#45;", "--").split(" ") if "=" in part)
    return {unquote(id): print_ for id, _, print_ in pairs}


def statements_text(statements: Mapping[str, str]) -> str:
    """The list of statements as the comment that :func:`statements_in` reads."""
    return "<!-- statements: " + " ".join(f"{quote(id)}={print_}" for id, print_ in statements.items()).replace("--", "-&#45;") + " -->"
