"""The order of elimination: narrow tables, few steps, the same plan on every run."""

from __future__ import annotations

import random

import pytest

from kgraph.reasoning import plan as planning
from kgraph.reasoning.elimination import Elimination
from kgraph.reasoning.plan import Bit, Enter, Leave, Node, Plan, TakeBundle, TakeClass, TooWide, _greedy, _ones


def bits(count: int, **parents: int) -> list[Bit]:
    return [Bit(0.8, 0.1, 0.02, parents.get(f"b{i}", -1)) for i in range(count)]


def chain(length: int) -> list[Node]:
    """Class i gives percepts i and i + 1."""
    return [Node(0.2, ((i, 0.5), (i + 1, 0.6))) for i in range(length)]


def test_a_chain_needs_two_percepts_at_once() -> None:
    """Thirty percepts in a row, whatever the order in which the classes stand: never more than two live, not counting ends that one class alone touches."""
    nodes = chain(30)
    assert Plan(nodes, bits(31)).width == 2
    random.Random(3).shuffle(nodes)
    assert Plan(nodes, bits(31)).width <= 3


def test_steps_of_a_small_network() -> None:
    """Percepts that one class alone touches never enter the table; classes with one and the same percept are one bundle."""
    nodes = [Node(0.1, ((0, 0.5),)), Node(0.2, ((0, 0.6), (1, 0.7), (2, 0.8))), Node(0.3, ((0, 0.9),)), Node(0.4, ((2, 0.4),))]
    plan = Plan(nodes, bits(3))
    (bundle,) = [s for s in plan.steps if isinstance(s, TakeBundle)]
    assert (bundle.bit, bundle.members) == (0, ((0, 0.5, 0.0), (2, 0.9, 0.0)))
    taken = {s.number: s for s in plan.steps if isinstance(s, TakeClass)}
    assert set(taken) == {1, 3} and taken[1].branches[0].alone == ((1, 0.7),) and taken[1].lonely == (1,) and taken[1].names == (0, 2)
    assert [s for _, s in taken[1].branches[0].arcs] == [0.6, 0.8] and taken[3].branches[0].alone == ()
    assert all(len(s.branches) == 1 for s in taken.values()), "no class here has a minor level"
    assert sorted(s.bit for s in plan.steps if isinstance(s, Enter)) == [0, 2] == sorted(s.bit for s in plan.steps if isinstance(s, Leave))
    assert plan.width == 2


def test_a_percept_that_nothing_touches() -> None:
    """It enters and leaves at the end, the table being as narrow as can be."""
    plan = Plan([], bits(2))
    assert [type(s) for s in plan.steps] == [Enter, Leave, Enter, Leave] and plan.width == 1
    assert Elimination([], bits(2)).marginals()[0] == pytest.approx((0.02 * 0.8 + 0.98 * 0.1) ** 2)


def test_a_group_lives_as_short_as_it_can() -> None:
    """Kinds of a group: each leaves after its last class and passes its truth on; the group leaves after its last kind."""
    nodes = [Node(0.2, ((0, 0.5), (3, 0.5))), Node(0.3, ((1, 0.6), (3, 0.5)))]
    plan = Plan(nodes, bits(4, b0=2, b1=2))
    left = [s.bit for s in plan.steps if isinstance(s, Leave)]
    assert left.index(2) > max(left.index(0), left.index(1)) and sorted(left) == [0, 1, 2, 3]
    assert all((s.parent >= 0) == (s.bit in (0, 1)) for s in plan.steps if isinstance(s, Leave)) and plan.width <= 3


def replay(plan: Plan) -> tuple[int, list[int]]:
    """Follow the steps and check each position; the widest table and the percepts in the order in which they left."""
    live: list[int] = []
    widest, left = 0, []
    for step in plan.steps:
        if isinstance(step, Enter):
            assert step.bit not in live and step.bit not in left
            live.append(step.bit)
            widest = max(widest, len(live))
        elif isinstance(step, Leave):
            assert live[step.position] == step.bit and (step.parent < 0 or live[step.parent] == plan.bits[step.bit].parent)
            live.remove(step.bit)
            left.append(step.bit)
        elif isinstance(step, TakeBundle):
            assert live[step.position] == step.bit
        else:
            for branch in step.branches:
                assert [live[position] for position, _ in branch.arcs] == list(step.names) and [b for b, _ in branch.alone] == list(step.lonely)
    assert live == []
    return widest, left


def random_network(seed: int, classes: int, count: int, arcs: int) -> tuple[list[Node], list[Bit]]:
    rng = random.Random(seed)
    parent = count - 1 if rng.random() < 0.5 else -1
    made = [Bit(0.8, 0.1, 0.02, parent if 0 <= parent != i and rng.random() < 0.3 else -1) for i in range(count)]
    nodes = [Node(rng.uniform(0.01, 0.5), tuple((b, rng.uniform(0.1, 0.9)) for b in rng.sample(range(count), rng.randint(1, arcs)))) for _ in range(classes)]
    return nodes, made


@pytest.mark.parametrize("seed", range(40))
def test_every_plan_is_sound(seed: int) -> None:
    """Each class is taken once, each percept leaves at most once, positions are right, and the width is what the table reaches."""
    nodes, made = random_network(seed, 12, 8, 3)
    plan = Plan(nodes, made)
    widest, left = replay(plan)
    assert widest == plan.width and len(set(left)) == len(left)
    taken = [s.number for s in plan.steps if isinstance(s, TakeClass)] + [c for s in plan.steps if isinstance(s, TakeBundle) for c, _, _ in s.members]
    assert sorted(taken) == list(range(12))
    alone = {b for s in plan.steps if isinstance(s, TakeClass) for b in s.lonely}
    assert alone | set(left) == set(range(8)) and not alone & set(left)
    assert Plan(nodes, made).steps == plan.steps, "the same on every run"


def test_how_narrow_the_plans_are() -> None:
    """On forty random networks of 24 classes and 14 percepts: six or seven live percepts, never more than eight."""
    widths = [Plan(*random_network(seed, 24, 14, 3)).width for seed in range(40)]
    assert sum(widths) / len(widths) <= 6.6 and max(widths) <= 8


def cost(order: list[int], masks: list[int]) -> int:
    """Table cells touched: two to the number of live percepts at each step; a percept is live from its first class to its last."""
    total = 0
    for step in range(len(order)):
        before, after = order[: step + 1], order[step:]
        opened = {b for g in before for b in _ones(masks[g])}
        needed = {b for g in after for b in _ones(masks[g])}
        total += 1 << len(opened & needed)
    return total


@pytest.mark.parametrize("by_size", [False, True])
@pytest.mark.parametrize("seed", range(12))
def test_the_greedy_order_and_its_cost(seed: int, by_size: bool) -> None:
    """Every class once, the cost is that of the tables, and each step opens as few percepts net of those it closes as any other would."""
    rng = random.Random(seed)
    masks = [sum(1 << b for b in rng.sample(range(7), rng.randint(1, 3))) for _ in range(9)]
    among = list(range(9))
    order, found = _greedy(masks, among, 7, by_size)
    assert sorted(order) == among == list(range(9)) and found == cost(order, masks)
    left, live = list(among), set()
    for taken in order:
        def key(g: int, left: list[int] = left, live: set[int] = live) -> tuple[int, int, int]:
            mine = set(_ones(masks[g]))
            opening = len(mine - live)
            closing = sum(not any(b in _ones(masks[h]) for h in left if h != g) for b in mine)
            return (opening - closing, -len(mine) if by_size else opening, left.index(g))

        assert taken == min(left, key=key)
        left.remove(taken)
        live |= set(_ones(masks[taken]))
        live = {b for b in live if any(b in _ones(masks[h]) for h in left)}


def test_bits_of_a_mask() -> None:
    """The positions of the ones, lowest first."""
    assert _ones(0) == [] and _ones(0b1011001) == [0, 3, 4, 6] and _ones(1 << 40) == [40]


def test_a_dear_order_is_improved(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the first order is dear, eight shuffled ones are tried, by size and not by turns, and the cheapest is taken; a cheap one is left alone."""
    calls: list[tuple[list[int], bool]] = []
    costs = iter([9000, 8000, 8500, 7000, 7000, 9999, 7500, 8000, 7001])

    def fake(masks: list[int], among: list[int], count: int, by_size: bool) -> tuple[list[int], int]:
        calls.append((list(among), by_size))
        return [len(calls), *among], next(costs)

    monkeypatch.setattr(planning, "_greedy", fake)
    plan = object.__new__(Plan)
    plan.nodes, plan.bits = tuple(chain(9)), tuple(bits(10))
    assert plan._order([[i] for i in range(9)])[0] == 4
    assert [by_size for _, by_size in calls] == [False, True, False, True, False, True, False, True, False]
    assert calls[0][0] == list(range(9)) and len({tuple(a) for a, _ in calls}) == 9 and all(sorted(a) == list(range(9)) for a, _ in calls)
    calls.clear()
    costs = iter([4001, 4000, 1])
    assert plan._order([[i] for i in range(9)])[0] == 2 and len(calls) == 2, "4000 cells are few enough"
    calls.clear()
    costs = iter([4000, 1])
    assert plan._order([[i] for i in range(9)])[0] == 1


def dense(count: int, classes: int = 2) -> list[Node]:
    return [Node(0.1, tuple((b, 0.5) for b in range(count))) for _ in range(classes)]


def test_the_widest_table(monkeypatch: pytest.MonkeyPatch) -> None:
    """As many live percepts as allowed are worked out; one more is refused and its number told, where a class or a bare group opens it."""
    assert planning.MAX_WIDTH == 20
    monkeypatch.setattr(planning, "MAX_WIDTH", 4)
    assert Plan(dense(4), bits(4)).width == 4
    with pytest.raises(TooWide, match="5 percepts would be live at once, at most 4") as caught:
        Plan(dense(5), bits(5))
    assert caught.value.width == 5
    monkeypatch.setattr(planning, "MAX_WIDTH", 1)
    with pytest.raises(TooWide, match="2 percepts"):
        Plan([], bits(2, b0=1))
    assert Plan([], bits(2)).width == 1
