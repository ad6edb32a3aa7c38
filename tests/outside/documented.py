"""The record that a taster would write who noticed of a herb just what the ontology's books describe, and no more."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from typing import Any

import pytest

from kgraph.claims import Ontology
from kgraph.session import Knowledge, Reply
from kgraph.tasting import Finding, Record

STRENGTH = {"absent": 0, "weak": 1, "moderate": 2, "strong": 3}
A_PLAIN_ABSENCE = 2  # `no smell` and `no taste` carry no intensity of their own

Keep = Callable[[Finding], bool]


def described(ontology: Ontology, herb: str) -> dict[str, int]:
    """Quality to strength as the books describe it; where they disagree, the strongest. Stop signs are no finding."""
    found: dict[str, int] = {}
    for claim in ontology.said_of("described_as", herb):
        kind = ontology.qualities[claim.object].kind
        if kind != "stop":
            strength = A_PLAIN_ABSENCE if kind == "absence" else STRENGTH[claim.word]
            found[claim.object] = max(strength, found.get(claim.object, 0))
    return found


def record_of(ontology: Ontology, herb: str, keep: Keep = lambda finding: True, *more: Finding) -> Record:
    """A record without a label: one taster, no list of what was looked for, so that silence says nothing."""
    findings = (Finding(quality, strength) for quality, strength in described(ontology, herb).items())
    return Record((*(f for f in findings if keep(f)), *more))


def risen(reply: Reply) -> list[str]:
    """The families that rose, best first."""
    return [c.id for c in reply.risen("families")]


def rise_db(known: Knowledge, record: Record, family: str) -> float:
    """Decibans that a record gives to a family."""
    return float(next(c.weight_db for c in known.ask(record).families if c.id == family))


def params(items: Iterable[Any], misses: Mapping[Any, str], key: Callable[[Any], Hashable], name: Callable[[Any], str]) -> list[Any]:
    """Parameters with ids. A known miss must go on missing: a mended one fails until it is struck from the list."""
    marks = {k: pytest.mark.xfail(strict=True, reason=reason) for k, reason in misses.items()}
    return [pytest.param(item, id=name(item), marks=marks.get(key(item), ())) for item in items]
