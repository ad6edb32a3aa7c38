"""Figures and findings in plain words: for a student with no statistics."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

STATE_WORDS = {"strong": "strong", "moderate": "plain", "weak": "weak", "absent": "not there", "disputed": "denied by most", "unnoticed": "not mentioned"}
SEVERITY_WORDS = {"avoid": "AVOID", "care": "care", "information": "note"}
BASIS_WORDS = {"tradition": "tradition", "laboratory": "the laboratory", "clinic": "the clinic", "regulator": "a regulator"}
SAFETY_WORDS = {"ok": "may be tasted as a weak infusion", "small-amount": "taste in small amounts only", "do-not-taste": "NEVER TO BE TASTED"}
STATUS_WORDS = {
    "traditional": "traditional use",
    "traditional-use-registered": "traditional use, registered",
    "well-established-use": "well-established use",
    "medicine-only": "as a medicine only",
    "trial-only": "trials only",
    "negative-opinion": "a regulator declined it",
}
_TENTHS = ("", "1", "2", "3", "4", "5", "6", "7", "8", "9")


def chance(p: float) -> str:
    """A probability as people say it.

    >>> [chance(p) for p in (0.004, 0.02, 0.05, 0.12, 0.78, 0.96, 0.999)]
    ['under 1 in 100', '1 in 50', '1 in 20', '1 in 10', '8 in 10', '19 in 20', 'over 99 in 100']
    """
    if p < 0.0075:
        return "under 1 in 100"
    if p < 0.015:
        return "1 in 100"
    if p < 0.0325:
        return "1 in 50"
    if p < 0.075:
        return "1 in 20"
    if p < 0.925:
        return f"{max(1, min(9, round(p * 10)))} in 10"
    if p < 0.975:
        return "19 in 20"
    if p < 0.9925:
        return "49 in 50"
    return "over 99 in 100"


def before_after(before: float, after: float) -> str:
    """`about 3 in 10 → 8 in 10`, or `about 4 in 10 → a little more` where both are told alike."""
    first, second = chance(before), chance(after)
    if first == second and before != after:
        second = "a little more" if after > before else "a little less"
    lead = "" if first.startswith(("under", "over")) else "about "
    return f"{lead}{first} → {second}"


def about(p: float) -> str:
    """`about 3 in 10`."""
    words = chance(p)
    return words if words.startswith(("under", "over")) else f"about {words}"


def speaks(word: str, weight_db: float) -> str:
    """`speaks clearly for`."""
    if not word:
        return "says little either way"
    return f"speaks {word} {'for' if weight_db > 0 else 'against'}"


def listing(items: Iterable[str], last: str = "and") -> str:
    """`a, b and c`."""
    found = list(items)
    if len(found) < 2:
        return "".join(found)
    return f"{', '.join(found[:-1])} {last} {found[-1]}"


def some(items: Sequence[str], most: int) -> str:
    """The first few of a list, and how many more there are."""
    shown = ", ".join(items[:most])
    return shown if len(items) <= most else f"{shown} and {len(items) - most} more"


def wrap(text: str, width: int, indent: str = "", hanging: str | None = None) -> list[str]:
    """Lines of at most `width` characters."""
    return textwrap.wrap(
        text, width, initial_indent=indent, subsequent_indent=indent if hanging is None else hanging,
        break_long_words=True, break_on_hyphens=False,
    ) or [""]


def visible(text: str) -> str:
    """Text fit for a terminal: control characters and direction marks are shown as `?`, so that no label can move the cursor."""
    return "".join(ch if ch.isprintable() else ("\n" if ch == "\n" else "?") for ch in text)
