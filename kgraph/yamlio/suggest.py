"""The nearest right name for a misspelt one."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def nearest(word: str, known: Iterable[str], count: int = 3) -> list[str]:
    """Up to `count` known names close to `word`, best first; names that contain it count as close."""
    names = list(dict.fromkeys(known))
    key = word.strip().lower().replace("_", "-").replace(" ", "-")
    if not key:
        return []
    found = get_close_matches(key, names, n=count, cutoff=0.6)
    for name in names:
        if len(found) >= count:
            break
        if name not in found and len(key) >= 4 and (key in name or (len(name) >= 4 and name in key)):
            found.append(name)
    return found[:count]


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A remedy sentence, empty when nothing is near.

    >>> did_you_mean("biter", ["bitter", "sweet"])
    'Did you mean `bitter`?'
    """
    found = nearest(word, known)
    if not found:
        return ""
    return "Did you mean " + " or ".join(f"`{name}`" for name in found) + "?"
