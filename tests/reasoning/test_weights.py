"""Weights of evidence, and the standing and order of candidates, at the edges and in between."""

from __future__ import annotations

import pytest

from kgraph.reasoning.answer import Candidate
from kgraph.reasoning.weights import decibans, firm, in_order, standing_of


def candidate(id: str, prior: float, posterior: float, standing: str) -> Candidate:
    return Candidate(id, id, prior, posterior, 0.0, "", standing)


@pytest.mark.parametrize(
    ("prior", "posterior", "db"),
    [(0.5, 0.8, 6.0205999), (0.2, 0.2, 0.0), (0.8, 0.5, -6.0205999), (0.1, 0.5, 9.5424251), (0.0, 0.5, 0.0), (1.0, 0.5, 0.0), (0.0, 1.0, 0.0)],
)
def test_decibans_by_hand(prior: float, posterior: float, db: float) -> None:
    """Ten times the decimal logarithm of the odds ratio; what was certain before cannot be moved."""
    assert decibans(prior, posterior) == pytest.approx(db, abs=1e-7)


def test_certainty_has_a_finite_weight() -> None:
    """Odds of 0 and of infinity are cut at 1e-300 and 1e17, far outside what a report can do."""
    assert decibans(0.5, 0.0) == pytest.approx(-3000)
    assert decibans(0.5, 1.0) == pytest.approx(170)
    assert decibans(0.5, 1 - 1e-15) == pytest.approx(150, abs=0.5)


@pytest.mark.parametrize(
    ("posterior", "db", "standing"),
    [
        (0.5, 1.0, "risen"), (0.5, 0.999, "unchanged"), (0.5, 0.0, "unchanged"), (0.5, -0.999, "unchanged"), (0.5, -1.0, "fallen"),
        (0.10, 1.0, "risen"), (0.0999, 1.0, "unlikely"), (0.0999, 0.5, "unchanged"), (0.0999, -1.0, "fallen"), (0.05, 9.0, "unlikely"), (0.5, 1.5, "risen"), (0.5, -1.5, "fallen"),
    ],
)
def test_standing_at_its_edges(posterior: float, db: float, standing: str) -> None:
    """One deciban and one in ten are the edges, and both belong to the upper side."""
    assert standing_of(0.3, posterior, db) == standing


def test_order_of_candidates() -> None:
    """Risen by rise (not by probability), unchanged by probability (not by rise), then fallen, then unlikely; equals by id."""
    shuffled = [
        candidate("g-unlikely", 0.01, 0.05, "unlikely"), candidate("f-fallen", 0.5, 0.1, "fallen"), candidate("e-fallen", 0.5, 0.3, "fallen"),
        candidate("d-common", 0.31, 0.30, "unchanged"), candidate("c-common", 0.79, 0.77, "unchanged"),
        candidate("b-risen", 0.70, 0.90, "risen"), candidate("a-risen", 0.10, 0.60, "risen"), candidate("b-also", 0.70, 0.90, "risen"),
    ]
    expected = ["a-risen", "b-also", "b-risen", "c-common", "d-common", "e-fallen", "f-fallen", "g-unlikely"]
    assert [c.id for c in in_order(shuffled)] == expected
    assert [c.id for c in in_order(shuffled[::-1])] == expected


def test_rounding_makes_a_rank_firm() -> None:
    """Twelve digits count for a rank, a thirteenth does not."""
    assert firm(0.1 + 0.2) == 0.3
    assert firm(0.3 + 2e-12) > firm(0.3)
    assert firm(0.3 + 4e-13) == firm(0.3)
    one, other = candidate("b", 0.1, 0.3, "risen"), candidate("a", 0.1, 0.3 - 1e-14, "risen")
    assert [c.id for c in in_order([one, other])] == ["a", "b"]
