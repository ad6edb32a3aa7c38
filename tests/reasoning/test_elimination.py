"""The exact engine against enumeration, exact fractions, a general-purpose library, and textbook networks."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.reasoning.elimination import Elimination
from kgraph.reasoning.plan import MAX_WIDTH, Bit, Node, TooWide

probability = st.one_of(st.sampled_from([0.0, 1.0, 0.5]), st.floats(0, 1))
inner = st.floats(0.001, 0.999)


@st.composite
def networks(draw: st.DrawFn) -> tuple[list[Node], list[Bit]]:
    """Up to four classes, four percepts and eight arcs, with a group or without."""
    count = draw(st.integers(1, 4))
    parent = count - 1 if count > 1 and draw(st.booleans()) else -1
    bits = [
        Bit(draw(inner), draw(inner), draw(st.floats(0, 0.5)), parent if parent >= 0 and i != parent and draw(st.booleans()) else -1)
        for i in range(count)
    ]
    nodes = []
    budget = 8
    for _ in range(draw(st.integers(1, 4))):
        touched = draw(st.lists(st.integers(0, count - 1), unique=True, max_size=min(budget, count)))
        budget -= len(touched)
        prior = draw(inner)
        minor = draw(st.one_of(st.just(0.0), st.floats(0.001, 1 - prior))) if prior < 0.99 else 0.0
        nodes.append(Node(prior, tuple((b, draw(inner)) for b in touched), minor, tuple(draw(probability) for _ in touched)))
    return nodes, bits


def brute_force(nodes: list[Node], bits: list[Bit], number: type = float) -> tuple[object, list[object], dict[tuple[int, int], object]]:
    """The joint probability added up state by state: classes, arcs, other causes."""
    one = number(1)
    total = number(0)
    present = [number(0)] * len(nodes)
    fired: dict[tuple[int, int], object] = {(c, b): number(0) for c, n in enumerate(nodes) for b, _ in n.arcs}
    for state in itertools.product(("", "major", "minor"), repeat=len(nodes)):
        weight = one
        for on, n in zip(state, nodes, strict=True):
            weight *= {"major": number(n.prior), "minor": number(n.minor), "": one - number(n.prior) - number(n.minor)}[on]
        if not weight:
            continue
        live = [(c, b, s if state[c] == "major" else n.faint[k]) for c, n in enumerate(nodes) if state[c] for k, (b, s) in enumerate(n.arcs)]
        for fires in itertools.product((0, 1), repeat=len(live)):
            joint = weight
            for on, (_, _, s) in zip(fires, live, strict=True):
                joint *= number(s) if on else one - number(s)
            evoked = {b for on, (_, b, _) in zip(fires, live, strict=True) if on}
            for others in itertools.product((0, 1), repeat=len(bits)):
                full = joint
                for on, bit in zip(others, bits, strict=True):
                    full *= number(bit.other) if on else one - number(bit.other)
                there = evoked | {b for b, on in enumerate(others) if on}
                there |= {bits[b].parent for b in there if bits[b].parent >= 0}
                for b, bit in enumerate(bits):
                    full *= number(bit.there) if b in there else number(bit.not_there)
                total += full
                for c, on in enumerate(state):
                    if on:
                        present[c] += full
                for on, (c, b, _) in zip(fires, live, strict=True):
                    if on:
                        fired[(c, b)] += full  # type: ignore[operator]
    return total, present, fired


@given(networks())
def test_equals_enumeration(network: tuple[list[Node], list[Bit]]) -> None:
    """Totals, class marginals and arc events equal brute force to 1e-12, groups included."""
    nodes, bits = network
    engine = Elimination(nodes, bits)
    total, present, fired = engine.marginals()
    truth, truth_present, truth_fired = brute_force(nodes, bits)
    assert total == pytest.approx(truth, rel=1e-12, abs=1e-300)
    assert list(present) == pytest.approx(truth_present, rel=1e-11, abs=1e-300)
    for key, value in truth_fired.items():
        assert fired[key] == pytest.approx(value, rel=1e-11, abs=1e-300)
    assert engine.totals(engine.weights(3)) == pytest.approx([truth] * 3, rel=1e-12)


@given(networks(), st.randoms(use_true_random=False))
def test_order_and_names_do_not_matter(network: tuple[list[Node], list[Bit]], rng) -> None:
    """Shuffled classes and percepts give the same figures."""
    nodes, bits = network
    total, present, _ = Elimination(nodes, bits).marginals()
    classes, percepts = list(range(len(nodes))), list(range(len(bits)))
    rng.shuffle(classes)
    rng.shuffle(percepts)
    where = {old: new for new, old in enumerate(percepts)}
    moved_bits = [bits[old] for old in percepts]
    moved_bits = [Bit(b.there, b.not_there, b.other, where[b.parent] if b.parent >= 0 else -1) for b in moved_bits]
    moved = [nodes[c]._replace(arcs=tuple((where[b], s) for b, s in nodes[c].arcs)) for c in classes]
    again, moved_present, _ = Elimination(moved, moved_bits).marginals()
    assert again == pytest.approx(total, rel=1e-12)
    assert [moved_present[classes.index(c)] for c in range(len(nodes))] == pytest.approx(list(present), rel=1e-10)


def test_a_weightless_arc_changes_nothing() -> None:
    """Strength zero is no arc."""
    bits = [Bit(0.9, 0.1, 0.05), Bit(0.2, 0.8, 0.02)]
    with_arc = Elimination([Node(0.3, ((0, 0.6), (1, 0.0))), Node(0.2, ((1, 0.7),))], bits).marginals()
    without = Elimination([Node(0.3, ((0, 0.6),)), Node(0.2, ((1, 0.7),))], bits).marginals()
    assert with_arc[0] == pytest.approx(without[0], rel=1e-14)
    assert list(with_arc[1]) == pytest.approx(list(without[1]), rel=1e-14)


def test_all_absent_equals_the_product_form() -> None:
    """With certain absences every class is multiplied by the chance that it evoked nothing; no table is needed."""
    nodes = [Node(0.1 * (i + 1), tuple((b, 0.05 * (i + b + 1)) for b in range(5))) for i in range(6)]
    bits = [Bit(0.0, 1.0, 0.03 * b) for b in range(5)]
    expected = math.prod(1 - b.other for b in bits)
    for n in nodes:
        expected *= 1 - n.prior + n.prior * math.prod(1 - s for _, s in n.arcs)
    assert Elimination(nodes, bits).marginals()[0] == pytest.approx(expected, rel=1e-13)


@pytest.mark.parametrize("count", [8, 12, 14])
def test_many_weak_links_against_exact_fractions(count: int) -> None:
    """A dozen findings with weak links: the alternating sum has lost all its digits here, this method has not.

    Exact arithmetic in fractions over the 2^n class states; weak links of 0.02 to 0.1 and other causes of 1e-4.
    """
    nodes = [Node(0.01 + 0.003 * c, tuple((b, 0.02 + 0.08 * ((3 * c + 5 * b) % 7) / 7) for b in range(count) if (c + b) % 3)) for c in range(9)]
    bits = [Bit(1.0, 0.0, 1e-4) for _ in range(count)]
    total, present, _ = Elimination(nodes, bits).marginals()
    truth = Fraction(0)
    truth_present = [Fraction(0)] * len(nodes)
    exact = [(Fraction(n.prior), {b: Fraction(s) for b, s in n.arcs}) for n in nodes]
    other = Fraction(1e-4)
    for state in itertools.product((0, 1), repeat=len(nodes)):
        weight = Fraction(1)
        for on, (prior, _) in zip(state, exact, strict=True):
            weight *= prior if on else 1 - prior
        for b in range(count):
            quiet = 1 - other
            for on, (_, arcs) in zip(state, exact, strict=True):
                if on and b in arcs:
                    quiet *= 1 - arcs[b]
            weight *= 1 - quiet
        truth += weight
        for c, on in enumerate(state):
            if on:
                truth_present[c] += weight
    assert total == pytest.approx(float(truth), rel=1e-11)
    for c in range(len(nodes)):
        assert present[c] / total == pytest.approx(float(truth_present[c] / truth), rel=1e-10)


def test_rows_answer_what_they_demand() -> None:
    """A row that forbids classes gives P(reports and none of them); a row that mutes a cell leaves it out."""
    nodes = [Node(0.3, ((0, 0.7), (1, 0.2))), Node(0.4, ((0, 0.5),)), Node(0.2, ((1, 0.9),))]
    bits = [Bit(0.9, 0.1, 0.02), Bit(0.3, 0.8, 0.05)]
    engine = Elimination(nodes, bits)
    weights = engine.weights(2)
    weights.present[0, [0, 2]] = 0
    for values in (weights.off, weights.on, weights.not_there):
        values[1, 1] = 1.0
    found = engine.totals(weights)
    forbidden, _, _ = brute_force([nodes[1]], bits)
    assert found[0] == pytest.approx(0.7 * 0.8 * forbidden, rel=1e-12)  # type: ignore[operator]
    muted, _, _ = brute_force(nodes, [bits[0], Bit(1.0, 1.0, 0.05)])
    assert found[1] == pytest.approx(muted, rel=1e-12)


def test_a_table_that_would_be_too_wide_is_refused() -> None:
    """Never a silent approximation: the width is named."""
    rng = np.random.default_rng(1)
    count = MAX_WIDTH + 4
    nodes = [Node(0.1, tuple((b, 0.5) for b in range(count))) for _ in range(2)] + [Node(0.1, tuple((int(b), 0.3) for b in rng.choice(count, 5, replace=False))) for _ in range(9)]
    with pytest.raises(TooWide) as caught:
        Elimination(nodes, [Bit(0.9, 0.1, 0.02)] * count)
    assert caught.value.width > MAX_WIDTH


def test_against_a_general_purpose_library() -> None:
    """pyAgrum's noisy-OR nodes (`addNoisyORNet`, whose link weight does not contain the leak) give the same posteriors to 1e-9."""
    gum = pytest.importorskip("pyagrum")
    rng = np.random.default_rng(7)
    for trial in range(12):
        classes, percepts = int(rng.integers(3, 9)), int(rng.integers(3, 8))
        nodes: list[Node] = []
        levels: list[Node] = []
        for _ in range(classes):
            touched = rng.choice(percepts, int(rng.integers(1, min(4, percepts) + 1)), replace=False)
            nodes.append(Node(float(rng.uniform(0.02, 0.5)), tuple((int(b), float(rng.uniform(0.05, 0.95))) for b in touched)))
            faint = tuple(float(rng.uniform(0.05, 0.95)) for _ in touched)
            levels.append(nodes[-1]._replace(minor=float(rng.uniform(0.02, 0.4)), faint=faint))
        bits = [Bit(float(rng.uniform(0.05, 1)), float(rng.uniform(0.05, 1)), float(rng.uniform(0.001, 0.2))) for _ in range(percepts)]
        net = gum.BayesNet()
        for c, node in enumerate(nodes):
            net.add(gum.LabelizedVariable(f"c{c}", "", 2))
            net.cpt(f"c{c}").fillWith([1 - node.prior, node.prior])
        for b, bit in enumerate(bits):
            net.addNoisyORNet(gum.LabelizedVariable(f"p{b}", "", 2), bit.other)
        for c, node in enumerate(nodes):
            for b, s in node.arcs:
                net.addWeightedArc(f"c{c}", f"p{b}", s)
        engine = gum.LazyPropagation(net)
        for b, bit in enumerate(bits):
            scale = max(bit.there, bit.not_there)
            engine.addEvidence(f"p{b}", [bit.not_there / scale, bit.there / scale])
        engine.makeInference()
        total, present, _ = Elimination(nodes, bits).marginals()
        for c in range(classes):
            assert present[c] / total == pytest.approx(float(engine.posterior(f"c{c}")[1]), abs=1e-9), (trial, c)
        _levels_against_the_library(gum, levels, bits)


def _levels_against_the_library(gum, nodes: list[Node], bits: list[Bit]) -> None:  # type: ignore[no-untyped-def]
    """A class with three states; every percept is a chain of two-parent nodes whose tables are written out."""
    net = gum.BayesNet()
    for c, node in enumerate(nodes):
        net.add(gum.LabelizedVariable(f"c{c}", "", 3))
        net.cpt(f"c{c}").fillWith([1 - node.prior - node.minor, node.prior, node.minor])
    last = {}
    for b, bit in enumerate(bits):
        last[b] = f"p{b}"
        net.add(gum.LabelizedVariable(last[b], "", 2))
        net.cpt(last[b]).fillWith([1 - bit.other, bit.other])
        for c, node in enumerate(nodes):
            for k, (touched, s) in enumerate(node.arcs):
                if touched != b:
                    continue
                name = f"p{b}c{c}"
                net.add(gum.LabelizedVariable(name, "", 2))
                net.addArc(f"c{c}", name)
                net.addArc(last[b], name)
                for state, strength in enumerate((0.0, s, node.faint[k])):
                    net.cpt(name)[{f"c{c}": state, last[b]: 0}] = [1 - strength, strength]
                    net.cpt(name)[{f"c{c}": state, last[b]: 1}] = [0, 1]
                last[b] = name
    engine = gum.LazyPropagation(net)
    for b, bit in enumerate(bits):
        scale = max(bit.there, bit.not_there)
        engine.addEvidence(last[b], [bit.not_there / scale, bit.there / scale])
    engine.makeInference()
    total, present, _ = Elimination(nodes, bits).marginals()
    for c in range(len(nodes)):
        assert present[c] / total == pytest.approx(1 - float(engine.posterior(f"c{c}")[0]), abs=1e-9)
