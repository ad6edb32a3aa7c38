"""The benchmark leaves a herb out indeed: nothing that is known of it reaches the figures by which it is judged."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("sklearn")
sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))

import leave_one_out


@pytest.mark.parametrize("number", [3, 80])
def test_what_the_herb_holds_does_not_matter(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the herb's constituents wiped out wherever the benchmark holds them, its own figures are the same to the last digit."""
    b = leave_one_out.bench()
    herb = b.herbs[number]
    before = leave_one_out._ours([herb], fitted=True)[0]
    levels = b.levels.copy()
    levels[b.row[herb]] = 0
    monkeypatch.setattr(b, "levels", levels)
    for percept in b.learnt_from._percepts:
        row = np.flatnonzero(percept.rows == number)
        for name in ("factor", "held"):
            wiped = getattr(percept, name).copy()
            wiped[row] = 0
            monkeypatch.setattr(percept, name, wiped)
    assert np.array_equal(leave_one_out._ours([herb], fitted=True)[0], before)
    other = leave_one_out._ours([b.herbs[number + 1]], fitted=True)[0]
    monkeypatch.undo()
    assert not np.array_equal(leave_one_out._ours([b.herbs[number + 1]], fitted=True)[0], other), "and to another herb it does matter"


def test_priors_are_counted_without_it() -> None:
    """(herbs with the class but this one + 1/2) / (all herbs but this one + 1)."""
    b = leave_one_out.bench()
    herb = b.herbs[10]
    net = leave_one_out._without(b.net, [herb])
    o = b.ontology
    for c in list(o.classes)[::9]:
        holders = {claim.subject for claim in o.said_of("contains", herb) if claim.object == c}
        count = sum(1 for h in o.herbs if h != herb and any(claim.object == c for claim in o.said_of("contains", h))
                    and o.ruling([claim for claim in o.said_of("contains", h) if claim.object == c]).word in ("major", "minor"))
        assert net.prior[c] == pytest.approx((count + 0.5) / len(o.herbs)), (c, holders)


def test_the_ceiling_counts_every_pair() -> None:
    """Pairs without a link are some of the pairs, and add up over the families."""
    pairs, without, by = leave_one_out._ceiling()
    assert 200 < pairs == int(leave_one_out.bench().tasks["families, major"].truth.sum()) and 0 < without == sum(by.values()) < pairs / 4
