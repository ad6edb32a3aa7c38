"""The order in which classes and percepts are worked off, so that few percepts are live at once.

A plan is a list of steps: a percept enters the table, a class (or a bundle of classes with one and the same single
percept) is taken in, a percept leaves after its last class. The order is greedy: next comes what opens fewest percepts.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import NamedTuple

#: Widest table (live percepts at once) that is still worked out exactly.
MAX_WIDTH = 20
#: An order that touches no more table cells than this is good enough.
_CHEAP = 4_000
#: How many orders are tried where the first one is dear.
_TRIES = 8


class TooWide(Exception):
    """The table over the live percepts would be too large; carries its width."""

    def __init__(self, width: int) -> None:
        super().__init__(f"{width} percepts would be live at once, at most {MAX_WIDTH}")
        self.width = width


class Bit(NamedTuple):
    """A percept with a report.

    Attributes:
        there, not_there: P(report | percept there), P(report | not there), on any common scale.
        other: probability that the percept is there with no class evoking it.
        parent: index of the group's bit that this one is passed on to, or -1.
    """

    there: float
    not_there: float
    other: float
    parent: int = -1


class Node(NamedTuple):
    """A class that touches at least one bit.

    Attributes:
        prior: probability that it is there at major level.
        arcs: (bit, strength) at major level.
        minor: probability that it is there at minor level; the two exclude each other.
        faint: strengths at minor level, in the order of `arcs`.
    """

    prior: float
    arcs: tuple[tuple[int, float], ...]
    minor: float = 0.0
    faint: tuple[float, ...] = ()


class Branch(NamedTuple):
    """A class at one level: what it does to the table."""

    minor: bool
    arcs: tuple[tuple[int, float], ...]  # (position in the table, strength)
    alone: tuple[tuple[int, float], ...]  # (bit, strength) of bits that only this class touches


class TakeClass(NamedTuple):
    number: int
    branches: tuple[Branch, ...]  # at major level, and at minor level where that has any weight
    names: tuple[int, ...]  # the bits of the branches' `arcs`
    lonely: tuple[int, ...]  # the bits of `alone`


class TakeBundle(NamedTuple):
    """Classes that touch one and the same bit and nothing else: together they are one cause of it."""

    bit: int
    position: int
    members: tuple[tuple[int, float, float], ...]  # (class, strength, strength at minor level)


class Enter(NamedTuple):
    bit: int


class Leave(NamedTuple):
    bit: int
    position: int
    parent: int  # position of the group's bit before the removal, or -1


Step = TakeClass | TakeBundle | Enter | Leave


class Plan:
    """The steps for a network with reports, and how wide its table gets.

    Raises:
        TooWide: more than ``MAX_WIDTH`` percepts would be live at once.
    """

    def __init__(self, nodes: Sequence[Node], bits: Sequence[Bit]) -> None:
        self.nodes = tuple(nodes)
        self.bits = tuple(bits)
        self.steps: list[Step] = []
        self.width = 0
        self._make()

    def _groups(self) -> list[list[int]]:
        """Classes to be worked off together: those with one and the same single bit, and each other class alone."""
        single: dict[int, list[int]] = {}
        groups: list[list[int]] = []
        for c, node in enumerate(self.nodes):
            if len(node.arcs) == 1:
                bit = node.arcs[0][0]
                if bit not in single:
                    single[bit] = []
                    groups.append(single[bit])
                single[bit].append(c)
            else:
                groups.append([c])
        return groups

    def _masks(self, groups: list[list[int]]) -> list[int]:
        """For each group the percepts that must be live with it."""
        masks = []
        for group in groups:
            mask = 0
            for bit, _ in self.nodes[group[0]].arcs:
                mask |= 1 << bit
                if self.bits[bit].parent >= 0:  # a kind is live together with its group at the end
                    mask |= 1 << self.bits[bit].parent
            masks.append(mask)
        return masks

    def _order(self, groups: list[list[int]]) -> list[int]:
        """The cheapest of a few greedy orders; one is enough where the table stays small."""
        masks = self._masks(groups)
        numbers = list(range(len(masks)))
        best, best_cost = _greedy(masks, numbers, len(self.bits), False)
        shuffle = random.Random(0).shuffle  # the same tries on every run
        for attempt in range(_TRIES):
            if best_cost <= _CHEAP:
                break
            shuffle(numbers)
            order, cost = _greedy(masks, numbers, len(self.bits), attempt % 2 == 0)
            if cost < best_cost:
                best, best_cost = order, cost
        return best

    def _make(self) -> None:
        groups = self._groups()
        touches = [0] * len(self.bits)
        for group in groups:
            for bit, _ in self.nodes[group[0]].arcs:
                touches[bit] += 1
        children = [0] * len(self.bits)
        for b in self.bits:
            if b.parent >= 0:
                children[b.parent] += 1
        remaining = list(touches)
        waiting = list(children)
        live: list[int] = []

        def enter(bit: int) -> None:
            live.append(bit)
            self.steps.append(Enter(bit))
            self.width = max(self.width, len(live))

        def leave(bit: int) -> None:
            parent = self.bits[bit].parent
            if parent >= 0 and parent not in live:
                enter(parent)
            position = live.index(bit)
            self.steps.append(Leave(bit, position, live.index(parent) if parent >= 0 else -1))
            live.remove(bit)
            if parent >= 0:
                waiting[parent] -= 1
                if waiting[parent] == 0 and remaining[parent] == 0:
                    leave(parent)

        def lonely(bit: int) -> bool:
            return touches[bit] == 1 and self.bits[bit].parent < 0 and children[bit] == 0

        for g in self._order(groups):
            group = groups[g]
            node = self.nodes[group[0]]
            bundle = len(group) > 1
            names = [bit for bit, _ in node.arcs if bundle or not lonely(bit)]
            for bit in names:
                if bit not in live:
                    enter(bit)
            if self.width > MAX_WIDTH:
                raise TooWide(self.width)
            if bundle:
                bit = node.arcs[0][0]
                members = tuple((c, self.nodes[c].arcs[0][1], (*self.nodes[c].faint, 0.0)[0]) for c in group)
                self.steps.append(TakeBundle(bit, live.index(bit), members))
            else:
                levels = [(False, node.arcs)]
                if node.minor > 0:
                    levels.append((True, tuple((bit, s) for (bit, _), s in zip(node.arcs, node.faint, strict=True))))
                branches = tuple(
                    Branch(minor, tuple((live.index(bit), s) for bit, s in arcs if bit in names), tuple((bit, s) for bit, s in arcs if bit not in names))
                    for minor, arcs in levels
                )
                self.steps.append(TakeClass(group[0], branches, tuple(names), tuple(bit for bit, _ in node.arcs if bit not in names)))
            for bit, _ in node.arcs:
                remaining[bit] -= 1
                if remaining[bit] == 0 and bit in live and waiting[bit] == 0:
                    leave(bit)
        for bit in range(len(self.bits)):  # bits that no class touches
            if touches[bit] == 0 and (children[bit] == 0 or self.bits[bit].parent >= 0):
                enter(bit)
                leave(bit)
        if self.width > MAX_WIDTH:
            raise TooWide(self.width)


def _greedy(masks: list[int], among: list[int], bits: int, by_size: bool) -> tuple[list[int], int]:
    """An order that always takes what opens fewest percepts net of those it closes, and the table cells it touches.

    Ties go to what opens least, or (`by_size`) to what touches most, and then to what stands first in `among`.
    """
    counts = [0] * bits
    for mask in masks:
        for bit in _ones(mask):
            counts[bit] += 1
    last = sum(1 << bit for bit, count in enumerate(counts) if count == 1)
    left = list(among)
    live, cost = 0, 0
    order: list[int] = []
    while left:
        best, best_key = -1, (1 << 30, 0)
        for g in left:
            mask = masks[g]
            opening = (mask & ~live).bit_count()
            key = (opening - (mask & last).bit_count(), -mask.bit_count() if by_size else opening)
            if key < best_key:
                best, best_key = g, key
        left.remove(best)
        order.append(best)
        live |= masks[best]
        cost += 1 << live.bit_count()
        for bit in _ones(masks[best]):
            counts[bit] -= 1
            if counts[bit] == 1:
                last |= 1 << bit
            elif counts[bit] == 0:
                live &= ~(1 << bit)
                last &= ~(1 << bit)
    return order, cost


def _ones(mask: int) -> list[int]:
    found = []
    while mask:
        low = mask & -mask
        found.append(low.bit_length() - 1)
        mask ^= low
    return found
