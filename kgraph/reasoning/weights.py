"""Weights of evidence, and the standing and order of candidates."""

from __future__ import annotations

import math

from kgraph.reasoning.answer import Candidate

RISEN_DB = 1.0
RISEN_POSTERIOR = 0.10
_ORDER = {"risen": 0, "unchanged": 1, "fallen": 2, "unlikely": 3}
_EDGE = 1e-300


def decibans(prior: float, posterior: float) -> float:
    """Weight of evidence in decibans: 10 log10(posterior odds / prior odds).

    Source: Good IJ, Probability and the Weighing of Evidence (1950). A factor of 2 in the odds is 3.01 decibans.

    >>> round(decibans(0.5, 2 / 3), 2)
    3.01
    """
    if prior <= 0 or prior >= 1:
        return 0.0
    odds_after = max(posterior, _EDGE) / max(1 - posterior, 1e-17)
    return 10 * math.log10(odds_after / (prior / (1 - prior)))


def standing_of(prior: float, posterior: float, weight_db: float) -> str:
    """risen (at least +1 dB and 0.10), fallen (at most -1 dB), unchanged, or unlikely (risen but still below 0.10)."""
    if weight_db <= -RISEN_DB:
        return "fallen"
    if weight_db < RISEN_DB:
        return "unchanged"
    return "risen" if posterior >= RISEN_POSTERIOR else "unlikely"


def firm(value: float) -> float:
    """A probability fit to sort by: the last digits depend on the order of the sums, and a rank must not."""
    return round(value, 12)


def in_order(candidates: list[Candidate]) -> tuple[Candidate, ...]:
    """By rise among the risen, then the unchanged by probability, then the rest; ties by id."""

    def key(c: Candidate) -> tuple[int, float, str]:
        by = c.posterior if c.standing == "unchanged" else c.posterior - c.prior
        return (_ORDER[c.standing], -firm(by), c.id)

    return tuple(sorted(candidates, key=key))
