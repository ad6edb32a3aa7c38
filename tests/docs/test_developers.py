"""The example worked by hand in DEVELOPERS.md is what the engine gives."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from kgraph.reasoning.elimination import Elimination
from kgraph.reasoning.plan import Bit, Node
from kgraph.reasoning.weights import decibans

TEXT = (Path(__file__).resolve().parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
NODES = (Node(0.3, ((0, 0.9), (1, 0.25))), Node(0.4, ((1, 0.9),)), Node(0.2, ()))
BITS = (Bit(0.22, 0.007, 0.05), Bit(0.12, 0.92, 0.05))


def test_the_figures_of_the_text() -> None:
    """Posteriors, decibans, path and support stand in the text as the engine works them out."""
    engine = Elimination(NODES, BITS)
    total, present, fired = engine.marginals()
    assert f"{total:.7f}" in TEXT
    tannins, bitters, mucilage = (float(p / total) for p in present)
    assert f"= {tannins:.4f}, up from 0.3" in TEXT and f"P(B | reports) = {bitters:.4f}" in TEXT
    assert mucilage == pytest.approx(0.2)
    assert f"{decibans(0.3, tannins):+.1f} decibans" in TEXT and f"{decibans(0.4, bitters):.1f} decibans" in TEXT
    path = fired[(0, 0)] / total
    assert f"P = {path:.4f}" in TEXT and f"0.9 · {path:.4f} = {0.9 * path:.4f}" in TEXT
    weights = engine.weights(1)
    weights.present[0, 0] *= 1 - 0.9
    support = 1 - float(engine.totals(weights)[0]) / total
    assert f"{support:.4f}"[:6] in TEXT


def test_the_table_of_the_text() -> None:
    """Each row: prior, percepts, weights of the two reports, product."""
    rows = re.findall(r"^\| (\d) \| (\d) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$", TEXT, re.M)
    assert len(rows) == 4
    for t, b, prior, drying, bitter, first, second, product in rows:
        tannins, bitters = int(t), int(b)
        expected_prior = (0.3 if tannins else 0.7) * (0.4 if bitters else 0.6)
        p_drying = 1 - 0.95 * 0.1**tannins
        p_bitter = 1 - 0.95 * 0.75**tannins * 0.1**bitters
        w_drying = p_drying * 0.22 + (1 - p_drying) * 0.007
        w_bitter = p_bitter * 0.12 + (1 - p_bitter) * 0.92
        for text, value in ((prior, expected_prior), (drying, p_drying), (bitter, p_bitter), (first, w_drying), (second, w_bitter), (product, expected_prior * w_drying * w_bitter)):
            assert float(text) == pytest.approx(value, abs=6e-8 if text == product else 6e-6)
