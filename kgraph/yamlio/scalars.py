"""What a plain YAML scalar means here: a strict subset of the YAML 1.2 core schema.

YAML 1.1 turns ``no`` into false, ``012`` into ten and ``12:30`` into 750. Here only ``true``, ``false``, ``null`` and
plain decimal numbers are more than text, so that a country code, a lot number or a time stays what was written.
Source: YAML 1.2.2, section 10.3 (core schema).
"""

from __future__ import annotations

import re

Scalar = str | int | float | bool | None

_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]*)\Z")
_FLOAT = re.compile(r"[-+]?((0|[1-9][0-9]*)\.[0-9]*|\.[0-9]+|(0|[1-9][0-9]*)(?=[eE]))([eE][-+]?[0-9]+)?\Z")
_SPECIAL = {".inf": float("inf"), "+.inf": float("inf"), "-.inf": float("-inf"), ".nan": float("nan")}
_WORDS: dict[str, Scalar] = {"true": True, "false": False, "null": None, "~": None, "": None}
_MAX_DIGITS = 300


def plain_value(text: str) -> Scalar:
    """The value of an unquoted scalar.

    >>> [plain_value(t) for t in ("no", "012", "12:30", "1e3", "true", "7", "2026-05-03")]
    ['no', '012', '12:30', 1000.0, True, 7, '2026-05-03']
    """
    if text in _WORDS:
        return _WORDS[text]
    first = text[0]
    if first not in "+-.0123456789" or len(text) > _MAX_DIGITS:
        return text
    if _INTEGER.match(text):
        return int(text)
    if _FLOAT.match(text):
        return float(text)
    return _SPECIAL.get(text.lower(), text)
