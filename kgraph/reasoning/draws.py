"""Exact inference for many worlds at once: the same plan, with every row its own strengths, priors, other causes and reports."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from kgraph.reasoning.elimination import Array, Elimination, Weights, row_view
from kgraph.reasoning.figures import Figures
from kgraph.reasoning.inference import Inference, covers
from kgraph.reasoning.plan import Leave, TakeClass


@dataclass(slots=True)
class DrawnWeights(Weights):
    """Weights with, in addition, one column an arc at major level (`strengths`) and at minor level (`faint`), and `other` causes, R by bits."""

    strengths: Array
    faint: Array
    other: Array

    def rows(self, start: int, stop: int) -> DrawnWeights:
        return DrawnWeights(*(a[start:stop] for a in (
            self.absent, self.present, self.minor, self.off, self.on, self.not_there, self.strengths, self.faint, self.other)))


class DrawnElimination(Elimination):
    """The plan of another elimination, for :class:`DrawnWeights`."""

    def __init__(self, engine: Elimination) -> None:
        self.nodes, self.bits, self.steps, self.width = engine.nodes, engine.bits, engine.steps, engine.width
        self.column = {(c, bit): i for i, (c, bit) in enumerate((c, bit) for c, node in enumerate(self.nodes) for bit, _ in node.arcs)}

    def _strength_of(self, w: Weights, number: int, bit: int, minor: bool, stated: float) -> Array:
        assert isinstance(w, DrawnWeights)
        return (w.faint if minor else w.strengths)[:, self.column[(number, bit)]]

    def _stacked(self, step: TakeClass, w: Weights) -> list[tuple[int, Array]]:
        return [
            (position, np.concatenate([self._strength_of(w, step.number, bit, branch.minor, 0.0) for branch in step.branches]))
            for (position, _), bit in zip(step.branches[0].arcs, step.names, strict=True)
        ]

    def _take(self, table: Array, step: TakeClass, w: Weights) -> Array:
        whole = table * self._absent(step, w)
        for branch in step.branches:
            present = table * self._lonely(step, branch, w)
            for (position, _), bit in zip(branch.arcs, step.names, strict=True):
                strength = self._strength_of(w, step.number, bit, branch.minor, 0.0)
                view = row_view(present, position)
                off = view[:, 0]
                view[:, 1] += strength * off
                off *= 1 - strength
            whole += present
        return whole

    def _kind_weights(self, step: Leave, w: Weights) -> tuple[Array, Array, Array, Array]:
        assert isinstance(w, DrawnWeights)
        off, on = w.off[:, step.bit], w.on[:, step.bit]
        nothing = (1 - w.other[:, step.bit]) * w.not_there[:, step.bit]
        return nothing, off - nothing, off, on


class Drawn:
    """An inference, many times over, each row with the figures of that row."""

    def __init__(self, inference: Inference, figures: Figures) -> None:
        self.inference, self.figures = inference, figures
        self.engine = DrawnElimination(inference.engine)
        self.priors = {id: figures.prior(id)[:, 0] for id in inference.posed.classes}
        self.weights = self._weights()
        self.total = self.engine.totals(self.weights)

    def _weights(self) -> DrawnWeights:
        inference, figures = self.inference, self.figures
        net, around, rows = inference.net, inference.circumstances, figures.rows
        covered = covers(net, inference.cells)
        into = {percept: number for number, percepts in enumerate(covered) for percept in percepts}
        there, not_there, other = (np.empty((rows, len(inference.cells))) for _ in range(3))
        for number, (cell, percepts) in enumerate(zip(inference.cells, covered, strict=True)):
            yes, no = figures.reports(cell)
            there[:, number], not_there[:, number] = yes[:, 0], no[:, 0]
            nothing = np.ones(rows)
            for percept in percepts:
                nothing *= 1 - figures.other_cause(around, percept, plain=cell.plain)[:, 0]
            other[:, number] = 1 - nothing
        quiet, quiet_minor = np.ones((rows, len(self.engine.column))), np.ones((rows, len(self.engine.column)))
        present, minor = (np.empty((rows, len(inference.posed.classes))) for _ in range(2))
        for c, id in enumerate(inference.posed.classes):
            share = net.major.get(id, net.prior[id]) / net.prior[id] if net.prior[id] else 1.0
            present[:, c] = self.priors[id] * share
            minor[:, c] = self.priors[id] * (1 - share)
            for percept in net.arcs[id]:
                number = into.get(percept, -1)
                if number < 0 or (c, number) not in self.engine.column:
                    continue
                column, plain = self.engine.column[(c, number)], inference.cells[number].plain
                quiet[:, column] *= 1 - figures.arc(around, id, percept, plain=plain)[:, 0]
                if self.engine.nodes[c].minor > 0:
                    quiet_minor[:, column] *= 1 - figures.arc(around, id, percept, minor=True, plain=plain)[:, 0]
        return DrawnWeights(
            1 - present - minor, present, minor, (1 - other) * not_there + other * there, there, not_there, 1 - quiet, 1 - quiet_minor, other,
        )

    def _prior(self, id: str) -> Array:
        if id not in self.priors:
            self.priors[id] = self.figures.prior(id)[:, 0]
        return self.priors[id]

    def before(self, members: Mapping[str, Array]) -> Array:
        """P(any member takes part) before any report, shape (R,); a member's own share is (R,)."""
        none = np.ones(self.figures.rows)
        for id, part in members.items():
            none *= 1 - self._prior(id) * part
        return 1 - none

    def after(self, members: Mapping[str, Array]) -> Array:
        """P(any member takes part | reports), shape (R,)."""
        w = self.weights
        present, minor = w.present.copy(), w.minor.copy()
        outside = np.ones(self.figures.rows)
        for id, part in members.items():
            number = self.inference.index.get(id)
            if number is None:
                outside *= 1 - self._prior(id) * part
            else:
                present[:, number] *= 1 - part
                minor[:, number] *= 1 - part
        without = DrawnWeights(w.absent, present, minor, w.off, w.on, w.not_there, w.strengths, w.faint, w.other)
        found: Array = np.clip(1 - self.engine.totals(without) / self.total * outside, 0.0, 1.0)
        return found
