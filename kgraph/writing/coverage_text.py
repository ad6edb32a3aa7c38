"""The counts of coverage on a terminal."""

from __future__ import annotations

from typing import Any

from kgraph.writing.plain import some
from kgraph.writing.screen import Screen

_SHARES = (("seen", "claims"), ("herb_claims_seen", "herb_claims"), ("avoid_seen", "avoid"))


def render(counts: dict[str, Any], *, width: int = 88, bold: bool = False) -> str:
    """Integers first, then counts by name, then what is missing, each with its number (the whole lists are in the JSON)."""
    screen = Screen(width, bold)
    screen.heading("Counts")
    shares = dict(_SHARES)
    for key, value in counts.items():
        if isinstance(value, int):
            share = f" ({value / counts[shares[key]]:.0%} of {shares[key].replace('_', ' ')})" if key in shares and counts[shares[key]] else ""
            screen.item(f"{key.replace('_', ' ')}: {value:,}{share}")
    for key, value in counts.items():
        if isinstance(value, dict):
            screen.item(f"{key.replace('_', ' ')}: {', '.join(f'{name} {count:,}' for name, count in value.items())}")
    screen.heading("Where it is thin")
    for key, value in counts.items():
        if isinstance(value, list):
            names = [" / ".join(v) if isinstance(v, list) else v for v in value]
            screen.item(f"{key.replace('_', ' ')} ({len(names)}): {some(names, 12) if names else 'none'}")
    return screen.text()
