"""Batches of rows in the exact engine: slices, single rows against enumeration, groups and bundles in rows that differ."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from kgraph.reasoning import elimination
from kgraph.reasoning.elimination import Elimination
from kgraph.reasoning.plan import Bit, Node


def network(seed: int) -> tuple[list[Node], list[Bit]]:
    """Five classes, four percepts; the first one or two are kinds of the last in two of three cases; some classes share one single percept."""
    rng = random.Random(seed)
    kinds = seed % 3
    bits = [Bit(rng.uniform(0.05, 1), rng.uniform(0.05, 1), rng.uniform(0, 0.4), 3 if i < kinds else -1) for i in range(4)]
    rng_arcs = [rng.sample(range(4), rng.randint(1, 3)) for _ in range(3)] + [[seed % 4]] * 2
    return [Node(rng.uniform(0.05, 0.9), tuple((b, rng.uniform(0.1, 0.95)) for b in arcs)) for arcs in rng_arcs], bits


def by_enumeration(nodes: list[Node], bits: list[Bit], absent: list[float], present: list[float]) -> float:
    """The weight of all states, each class weighed as the row says; percepts are independent given the classes, but for the group."""
    total = 0.0
    for state in itertools.product((0, 1), repeat=len(nodes)):
        weight = 1.0
        for on, a, p in zip(state, absent, present, strict=True):
            weight *= p if on else a
        quiet = [1 - b.other for b in bits]
        for on, node in zip(state, nodes, strict=True):
            for b, s in node.arcs:
                quiet[b] *= 1 - s * on
        for there in itertools.product((0, 1), repeat=len(bits)):
            value = weight
            for on, q in zip(there, quiet, strict=True):
                value *= 1 - q if on else q
            true = {b for b, on in enumerate(there) if on}
            true |= {bits[b].parent for b in true if bits[b].parent >= 0}
            for b, bit in enumerate(bits):
                value *= bit.there if b in true else bit.not_there
            total += value
    return total


@pytest.mark.parametrize("seed", range(24))
def test_rows_that_differ(seed: int) -> None:
    """Each row with class weights of its own equals enumeration; weights need not add up to 1."""
    nodes, bits = network(seed)
    engine = Elimination(nodes, bits)
    rng = np.random.default_rng(seed)
    weights = engine.weights(4)
    weights.present[1:] *= rng.uniform(0, 1, (3, 5))
    weights.absent[2:] *= rng.uniform(0, 2, (2, 5))
    truth = [by_enumeration(nodes, bits, list(weights.absent[r]), list(weights.present[r])) for r in range(4)]
    assert engine.totals(weights) == pytest.approx(truth, rel=1e-11)
    assert len(weights) == 4 and engine.totals(weights.rows(1, 3)) == pytest.approx(truth[1:3], rel=1e-11)


@pytest.mark.parametrize("seed", range(24))
def test_marginals_are_the_rows_that_demand_a_class(seed: int) -> None:
    """The backward pass gives what a row with one class forbidden gives: P(reports) - P(reports, class absent)."""
    nodes, bits = network(seed)
    engine = Elimination(nodes, bits)
    total, present, fired = engine.marginals()
    for c, node in enumerate(nodes):
        absent, there = [1 - n.prior for n in nodes], [n.prior for n in nodes]
        there[c] = 0.0
        assert present[c] == pytest.approx(total - by_enumeration(nodes, bits, absent, there), rel=1e-9)
        for number, (b, s) in enumerate(node.arcs):
            cut = Node(node.prior, tuple(a for k, a in enumerate(node.arcs) if k != number))
            rest = [*nodes[:c], cut, *nodes[c + 1 :]]
            absent = [0.0 if k == c else 1 - n.prior for k, n in enumerate(nodes)]
            # P(present, arc quiet, reports) is the row with the arc cut, times the chance that it stays quiet
            quiet = (1 - s) * by_enumeration(rest, bits, absent, [n.prior for n in nodes])
            assert fired[(c, b)] == pytest.approx(present[c] - quiet, rel=1e-8, abs=1e-12)


@pytest.mark.parametrize(("cells", "largest"), [(1, 1), (8, 1), (16, 2), (40, 5), (1 << 17, 7)])
def test_slices_keep_memory_bounded(cells: int, largest: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Seven rows over three live percepts: as many at once as the cells allow, at least one, and the same totals in order."""
    nodes = [Node(0.1 * (c + 1), ((0, 0.5), (1, 0.3), (2, 0.2 + 0.1 * c))) for c in range(3)]
    engine = Elimination(nodes, [Bit(0.9, 0.2, 0.05)] * 3)
    assert engine.width == 3 and elimination.MAX_CELLS == 131072
    weights = engine.weights(7)
    weights.present *= np.linspace(0, 1, 7)[:, None]
    whole = engine.totals(weights)
    sizes: list[int] = []
    forward = Elimination._forward

    def spy(self: Elimination, w: elimination.Weights) -> elimination.Array:
        sizes.append(len(w))
        return forward(self, w)

    monkeypatch.setattr(Elimination, "_forward", spy)
    monkeypatch.setattr(elimination, "MAX_CELLS", cells)
    assert list(engine.totals(weights)) == pytest.approx(list(whole), rel=1e-14) and len(set(whole)) == 7
    assert max(sizes) == largest and sum(sizes) == 7


def test_nothing_to_work_out() -> None:
    """No class and no percept: P(reports) is 1."""
    total, present, fired = Elimination([], []).marginals()
    assert total == 1.0 and len(present) == 0 and fired == {}
