"""From a network, its circumstances and the cells of a record to exact figures for every question."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.elimination import Array, Elimination, Weights
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.network import MAX_STRENGTH, Network
from kgraph.reasoning.plan import Bit, Node, TooWide


@dataclass(slots=True)
class Posed:
    """The part of a network that the cells touch, as the elimination wants it."""

    classes: list[str]
    nodes: list[Node]
    bits: list[Bit]
    strengths: dict[tuple[str, str], float] = field(default_factory=dict)
    faint: dict[tuple[str, str], float] = field(default_factory=dict)


#: A class to the probability that it takes part, given that it is there; a pair is (at major level, at minor level).
Question = Mapping[str, float | tuple[float, float]]


def other_cause(net: Network, circumstances: Circumstances, percept: str, *, plain: bool = False) -> float:
    """P(percept there, or plain, with no class evoking it): other causes and what the conditions fake."""
    nothing = 1 - net.other_cause.get(percept, 0.0) * (net.plain_other if plain else 1.0)
    for effect in circumstances.faked.get(percept, ()):
        nothing *= 1 - effect.value
    return 1 - nothing


def arc_strength(net: Network, circumstances: Circumstances, class_id: str, percept: str, *, minor: bool = False, plain: bool = False) -> float:
    """The strength of an arc at a level of the class, with what the conditions draw out and dull."""
    arc = net.arcs[class_id].get(percept)
    if arc is None:
        return 0.0
    factor = circumstances.drawn.get(class_id, 1.0) * circumstances.dulled.get(percept, 1.0)
    if minor:
        factor *= net.faint[plain]
    elif plain:
        factor *= net.plain_major
    return min(MAX_STRENGTH, arc.strength * factor)


def evoked_share(net: Network, class_id: str, percept: str, *, plain: bool = False) -> float:
    """P(class there at either level and evoking the percept) before any report."""
    major = net.major.get(class_id, net.prior[class_id])
    at = {minor: arc_strength(net, Circumstances(), class_id, percept, minor=minor, plain=plain) for minor in (False, True)}
    return major * at[False] + (net.prior[class_id] - major) * at[True]


def evoking(net: Network, circumstances: Circumstances, percept: str) -> dict[str, tuple[float, float]]:
    """The question "does any class evoke this percept"."""
    return {
        id: (arc_strength(net, circumstances, id, percept), arc_strength(net, circumstances, id, percept, minor=True)) for id in net.evokers(percept)
    }


def covers(net: Network, cells: Sequence[Cell]) -> list[list[str]]:
    """For each cell the percepts whose arcs go into it: itself, and of a group those kinds that have no cell of their own."""
    own = {cell.percept for cell in cells}
    return [[cell.percept, *(kind for kind in net.groups.get(cell.percept, ()) if kind not in own)] for cell in cells]


def pose(net: Network, circumstances: Circumstances, cells: Sequence[Cell]) -> Posed:
    """Bits and nodes for the cells. A group's bit takes over the arcs of those of its kinds that have no cell."""
    index = {cell.percept: i for i, cell in enumerate(cells)}
    parents = {kind: index[g] for g, kinds in net.groups.items() if g in index for kind in kinds if kind in index}
    covered = covers(net, cells)
    bits: list[Bit] = []
    for cell, percepts in zip(cells, covered, strict=True):
        nothing = 1.0
        for percept in percepts:
            nothing *= 1 - other_cause(net, circumstances, percept, plain=cell.plain)
        bits.append(Bit(cell.there, cell.not_there, 1 - nothing, parents.get(cell.percept, -1)))
    posed = Posed([], [], bits)
    into = {percept: cell for cell, percepts in zip(cells, covered, strict=True) for percept in percepts}
    for id, arcs in net.arcs.items():
        found: list[tuple[int, float]] = []
        faint: list[float] = []
        minor = net.prior[id] - net.major.get(id, net.prior[id])
        silence: dict[int, tuple[float, float]] = {}
        for percept in arcs:
            if percept not in into:
                continue
            cell = into[percept]
            number = index[cell.percept]
            quiet, quiet_minor = silence.get(number, (1.0, 1.0))
            quiet *= 1 - arc_strength(net, circumstances, id, percept, plain=cell.plain)
            if minor > 0:
                quiet_minor *= 1 - arc_strength(net, circumstances, id, percept, minor=True, plain=cell.plain)
            silence[number] = quiet, quiet_minor
        for number in sorted(silence):
            cell, (quiet, quiet_minor) = cells[number], silence[number]
            if quiet < 1.0:
                found.append((index[cell.percept], 1 - quiet))
                faint.append(1 - quiet_minor)
                posed.strengths[(id, cell.percept)] = 1 - quiet
                posed.faint[(id, cell.percept)] = 1 - quiet_minor
        if found:
            posed.classes.append(id)
            posed.nodes.append(Node(net.prior[id] - minor, tuple(found), minor, tuple(faint)))
    return posed


class Inference:
    """Exact answers for one record. All questions on it share one plan."""

    def __init__(self, net: Network, circumstances: Circumstances, cells: Sequence[Cell]) -> None:
        self.net = net
        self.circumstances = circumstances
        self.cells, self.left_out, self.posed, self.engine = _narrow(net, circumstances, list(cells))
        self.index = {id: i for i, id in enumerate(self.posed.classes)}
        self.bit = {cell.percept: i for i, cell in enumerate(self.cells)}
        self.total, present, fired = self.engine.marginals()
        self.posterior = {id: float(present[self.index[id]]) / self.total if id in self.index else net.prior[id] for id in net.prior}
        self.fired = {
            (self.posed.classes[c], self.cells[b].percept): mass / self.total for (c, b), mass in fired.items()
        }

    # -- groups of classes -------------------------------------------------------------------------------------

    def prior_any(self, members: Question) -> float:
        """P(any member present and, with its own probability, taking part) before any report."""
        none = 1.0
        for id, part in members.items():
            none *= 1 - self._prior_part(id, part)
        return 1 - none

    def _prior_part(self, id: str, part: float | tuple[float, float]) -> float:
        if not isinstance(part, tuple):
            return self.net.prior[id] * part
        major = self.net.major.get(id, self.net.prior[id])
        return major * part[0] + (self.net.prior[id] - major) * part[1]

    def posterior_any(self, questions: Sequence[Question], without: Iterable[Sequence[int]] = ()) -> Array:
        """P(any member takes part | reports) for each question.

        With `without`, a list of lists of cell numbers, the answer has one row more for each: shape
        (1 + len(without), questions), the later rows with those cells taken out.
        """
        variants: list[Sequence[int]] = [(), *without]
        count = len(questions)
        weights = self.engine.weights(len(variants) * (count + 1))
        outside = np.ones(count)
        asked: list[tuple[int, int, float, float]] = []  # (question, class, share kept at major level, at minor level)
        for q, members in enumerate(questions):
            for id, part in members.items():
                if id in self.index:
                    major, minor = part if isinstance(part, tuple) else (part, part)
                    asked.append((q, self.index[id], 1 - major, 1 - minor))
                else:
                    outside[q] *= 1 - self._prior_part(id, part)
        if asked:
            rows_of, columns, kept, kept_minor = zip(*asked, strict=True)
            for v in range(len(variants)):
                here = np.array(rows_of) + v * (count + 1)
                weights.present[here, columns] *= kept
                weights.minor[here, columns] *= kept_minor
        for v, cells in enumerate(variants):
            rows = slice(v * (count + 1), (v + 1) * (count + 1))
            for cell in cells:
                self._mute(weights, rows, cell)
        totals = self.engine.totals(weights).reshape(len(variants), count + 1)
        none = totals[:, :count] / totals[:, count:] * outside
        return np.clip(1 - none, 0.0, 1.0)

    @staticmethod
    def _mute(weights: Weights, rows: slice, cell: int) -> None:
        for values in (weights.off, weights.on, weights.not_there):
            values[rows, cell] = 1.0

    def unaccounted(self, percepts: Sequence[str]) -> list[float]:
        """For each percept P(no class evoked it | reports)."""
        weights = self.engine.weights(len(percepts) + 1)
        for row, percept in enumerate(percepts):
            weights.on[row, self.bit[percept]] = 0.0
        totals = self.engine.totals(weights)
        return [float(value) for value in totals[:-1] / totals[-1]]

    def faked_share(self, percept: str) -> float:
        """P(percept there, not evoked by any class, but by what a condition fakes | reports), at most."""
        bit = self.posed.bits[self.bit[percept]]
        nothing = 1.0
        for effect in self.circumstances.faked.get(percept, ()):
            nothing *= 1 - effect.value
        weights = self.engine.weights(2)
        weights.on[0, self.bit[percept]] = 0.0
        weights.off[0, self.bit[percept]] = (1 - nothing) * bit.there
        weights.not_there[0, self.bit[percept]] = 0.0
        totals = self.engine.totals(weights)
        return float(totals[0] / totals[1])


def _narrow(net: Network, circumstances: Circumstances, cells: list[Cell]) -> tuple[list[Cell], list[Cell], Posed, Elimination]:
    """The cells that can be worked out exactly at once, those left out (the ones that say least), and the plan."""
    left_out: list[Cell] = []
    while True:
        posed = pose(net, circumstances, cells)
        try:
            return cells, left_out, posed, Elimination(posed.nodes, posed.bits)
        except TooWide:
            weakest = min(cells, key=lambda c: (abs(c.log_ratio), c.percept))
            cells = [c for c in cells if c is not weakest]
            left_out.append(weakest)
