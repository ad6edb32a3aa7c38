"""Exact inference in the two-layer noisy-OR network with reports, without alternating sums.

Classes are processed one at a time and a table is carried over the *live* percepts only: bit 1 means "some class so
far has evoked it". The branch in which a class is absent copies the table; the branches in which it is present, at
major or at minor level, move mass from bit 0 to bit 1 with the arc's strength at that level. A percept leaves the table, weighted by its report, after its last
class. All numbers stay non-negative, so nothing cancels. A kind (minty) that leaves passes its truth on to its group
(aromatic) by OR. Many questions are answered in one batch: a *row* is one set of weights.

The textbook alternative is the alternating sum of Heckerman (1989), which loses its digits with many weak findings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kgraph.reasoning.plan import Bit, Branch, Enter, Leave, Node, Plan, Step, TakeBundle, TakeClass

Array = NDArray[np.float64]

#: Table cells worked on at once; more rows are done in slices, so that memory stays bounded.
MAX_CELLS = 1 << 17


@dataclass(slots=True)
class Weights:
    """One batch of questions, R rows.

    Attributes:
        absent, present, minor: R by classes, weight of each class being absent, there at major or at minor level (the base row: the priors).
        off, on: R by bits, weight on leaving with the bit 0 or 1.
        not_there: R by bits, the report's likelihood where the percept is not there (only used for kinds of a group).
    """

    absent: Array
    present: Array
    minor: Array
    off: Array
    on: Array
    not_there: Array

    def __len__(self) -> int:
        return int(self.absent.shape[0])

    def rows(self, start: int, stop: int) -> Weights:
        return Weights(*(a[start:stop] for a in (self.absent, self.present, self.minor, self.off, self.on, self.not_there)))


class Elimination:
    """A network with reports, planned once and then asked many questions."""

    def __init__(self, nodes: Sequence[Node], bits: Sequence[Bit]) -> None:
        plan = Plan(nodes, bits)
        self.nodes, self.bits, self.steps, self.width = plan.nodes, plan.bits, plan.steps, plan.width
        self._levels = {
            step.number: [(arcs[0][0], np.array([s for _, s in arcs])) for arcs in zip(*(branch.arcs for branch in step.branches), strict=True)]
            for step in self.steps if isinstance(step, TakeClass)
        }
        # a class's two levels go through the table side by side: their strengths along a first axis
        self._side_by_side = {
            step.number: [
                (arcs[0][0], strengths := np.array([s for _, s in arcs]).reshape(-1, 1, 1), 1 - strengths)
                for arcs in zip(*(branch.arcs for branch in step.branches), strict=True)
            ]
            for step in self.steps if isinstance(step, TakeClass) and len(step.branches) > 1
        }

    # -- weights -----------------------------------------------------------------------------------------------

    def weights(self, rows: int) -> Weights:
        """`rows` copies of the base row: the priors and the reports as they are."""
        prior = np.array([node.prior for node in self.nodes])
        minor = np.array([node.minor for node in self.nodes])
        there = np.array([b.there for b in self.bits])
        not_there = np.array([b.not_there for b in self.bits])
        other = np.array([b.other for b in self.bits])

        def tile(values: Array) -> Array:
            return np.tile(values, (rows, 1))

        return Weights(tile(1 - prior - minor), tile(prior), tile(minor), tile((1 - other) * not_there + other * there), tile(there), tile(not_there))

    # -- passes ------------------------------------------------------------------------------------------------

    def totals(self, weights: Weights) -> Array:
        """For each row the total weight: P(reports), or P(reports and what the row demands). Shape (R,)."""
        per_slice = max(1, MAX_CELLS >> self.width)
        if len(weights) <= per_slice:
            return self._forward(weights)
        parts = [self._forward(weights.rows(i, i + per_slice)) for i in range(0, len(weights), per_slice)]
        return np.concatenate(parts)

    def _forward(self, weights: Weights) -> Array:
        table = np.ones((1, len(weights)))  # cells by rows: a row's cells lie apart, so that every operation runs along the rows
        for step in self.steps:
            table = self._step(table, step, weights)
        return table.reshape(-1)

    def _step(self, table: Array, step: Step, w: Weights) -> Array:
        rows = table.shape[1]
        if isinstance(step, TakeClass):
            return self._take(table, step, w)
        if isinstance(step, TakeBundle):
            quiet, loud, total = self._bundle(step, w)
            view = row_view(table, step.position)
            moved = np.empty_like(view)
            moved[:, 0] = view[:, 0] * quiet
            moved[:, 1] = view[:, 1] * total
            moved[:, 1] += view[:, 0] * loud
            return moved.reshape(-1, rows)
        if isinstance(step, Enter):
            grown = np.zeros((table.shape[0], 2, rows))
            grown[:, 0] = table
            return grown.reshape(-1, rows)
        if step.parent < 0:
            view = row_view(table, step.position)
            kept = view[:, 0] * w.off[:, step.bit]
            kept += view[:, 1] * w.on[:, step.bit]
            return kept.reshape(-1, rows)
        return self._pass_on(table, step, w)

    def _take(self, table: Array, step: TakeClass, w: Weights) -> Array:
        """A class is taken in: absent, or there at one of its levels."""
        whole = table * self._absent(step, w)
        if len(step.branches) == 1:
            present = table * self._lonely(step, step.branches[0], w)
            for position, strength in step.branches[0].arcs:
                view = _view(present, position)
                view[:, 1] += strength * view[:, 0]
                view[:, 0] *= 1 - strength
            whole += present
            return whole
        both = np.empty((len(step.branches), *table.shape))
        for number, branch in enumerate(step.branches):
            np.multiply(table, self._lonely(step, branch, w), out=both[number])
        for position, strengths, quiets in self._side_by_side[step.number]:
            levels = both.reshape(len(both), 1 << position, 2, -1)
            off = levels[:, :, 0]
            levels[:, :, 1] += strengths * off
            off *= quiets
        whole += both[0]
        whole += both[1]
        return whole

    @staticmethod
    def _absent(step: TakeClass, w: Weights) -> Array:
        """The weight of the class being absent, with the bits that only it touches summed out. Shape (R,)."""
        factor = w.absent[:, step.number]
        for bit in step.lonely:
            factor = factor * w.off[:, bit]
        return factor

    def _lonely(self, step: TakeClass, branch: Branch, w: Weights) -> Array:
        """The weight of one level of the class, with the bits that only it touches summed out. Shape (R,)."""
        factor = (w.minor if branch.minor else w.present)[:, step.number]
        for bit, stated in branch.alone:
            off = w.off[:, bit]
            factor = factor * (off + self._strength_of(w, step.number, bit, branch.minor, stated) * (w.on[:, bit] - off))
        return factor

    def _bundle(self, step: TakeBundle, w: Weights) -> tuple[Array, Array, Array]:
        """Weights that none of a bundle's classes evoked the percept, that some did, and of both, each (R,); all sums are of non-negative terms."""
        quiet = np.ones(len(w))
        loud = np.zeros(len(w))
        for c, major, minor in step.members:
            strength, faint = self._strength_of(w, c, step.bit, False, major), self._strength_of(w, c, step.bit, True, minor)
            fires = w.present[:, c] * strength + w.minor[:, c] * faint
            quietly = w.absent[:, c] + w.present[:, c] * (1 - strength) + w.minor[:, c] * (1 - faint)
            loud = loud * (fires + quietly) + quiet * fires
            quiet = quiet * quietly
        return quiet, loud, quiet + loud

    def _kind_weights(self, step: Leave, w: Weights) -> tuple[Array, Array, Array, Array]:
        """(off and not there, off but there by another cause, off, on) for a kind that leaves, each (R,)."""
        bit, other = step.bit, self.bits[step.bit].other
        off, on = w.off[:, bit], w.on[:, bit]
        nothing = (1 - other) * w.not_there[:, bit]
        return nothing, off - nothing, off, on

    def _pass_on(self, table: Array, step: Leave, w: Weights) -> Array:
        """A kind leaves and its truth is passed on to the group's bit."""
        rows = table.shape[1]
        nothing, by_other, off, on = self._kind_weights(step, w)
        kind_first = step.position < step.parent
        first, second = min(step.position, step.parent), max(step.position, step.parent)
        view = table.reshape(1 << first, 2, 1 << (second - first - 1), 2, -1, rows)
        k0p0, k1p1 = view[:, 0, :, 0], view[:, 1, :, 1]
        k1p0, k0p1 = (view[:, 1, :, 0], view[:, 0, :, 1]) if kind_first else (view[:, 0, :, 1], view[:, 1, :, 0])
        kept0 = k0p0 * nothing
        kept1 = k0p0 * by_other + k1p0 * on + k0p1 * off + k1p1 * on
        return np.stack([kept0, kept1], axis=2 if kind_first else 1).reshape(-1, rows)

    # -- forward and backward ----------------------------------------------------------------------------------

    def marginals(self) -> tuple[float, Array, dict[tuple[int, int], float]]:
        """P(reports), P(class, reports) and P(class, arc fired, reports) of the base row, as in :meth:`marginals_of`."""
        total, present, fired = self.marginals_of(self.weights(1))
        return float(total[0]), present[0], {key: float(mass[0]) for key, mass in fired.items()}

    def marginals_of(self, w: Weights) -> tuple[Array, Array, dict[tuple[int, int], Array]]:
        """One forward and one backward pass of every row.

        Returns:
            P(reports), shape (R,); P(class present at either level, reports), R by classes; for each arc (class, bit)
            P(class present, this arc evoked the percept, reports), shape (R,).
        """
        per_slice = max(1, MAX_CELLS >> self.width)
        if len(w) > per_slice:
            parts = [self.marginals_of(w.rows(i, i + per_slice)) for i in range(0, len(w), per_slice)]
            fires = {key: np.concatenate([part[2][key] for part in parts]) for key in parts[0][2]}
            return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts]), fires
        before: list[Array] = []
        table = np.ones((1, len(w)))
        for step in self.steps:
            before.append(table)
            table = self._step(table, step, w)
        total = table[0]
        present = np.zeros((len(w), len(self.nodes)))
        fired: dict[tuple[int, int], Array] = {}
        after = np.ones((1, len(w)))
        for step, forward in zip(reversed(self.steps), reversed(before), strict=True):
            if isinstance(step, TakeClass):
                after = self._class_marginals(step, forward, after, w, present, fired)
                continue
            if isinstance(step, TakeBundle):
                self._bundle_marginals(step, forward, after, w, present, fired)
            after = self._back(after, step, w)
        return total, present, fired

    def _strength_of(self, w: Weights, number: int, bit: int, minor: bool, stated: float) -> float | Array:
        """The strength of an arc in every row, as the plan states it."""
        return stated

    def _stacked(self, step: TakeClass, w: Weights) -> list[tuple[int, Array]]:
        """(position in the table, strengths) of a class's arcs, its levels side by side: rows of the first level, then of the second. Shape (levels x R,)."""
        return [(position, strengths if len(w) == 1 else np.repeat(strengths, len(w))) for position, strengths in self._levels[step.number]]

    def _class_marginals(self, step: TakeClass, forward: Array, after: Array, w: Weights, present: Array, fired: dict[tuple[int, int], Array]) -> Array:
        """Notes the class's marginals, and gives what is after it and itself make of each cell before it."""
        arcs, levels, rows = self._stacked(step, w), len(step.branches), len(w)
        wide = _twice(forward) if levels == 2 else forward
        partial = [wide]  # the table after the first 0, 1, 2 ... arcs, for both levels
        for position, strength in arcs:
            moved = partial[-1].copy()
            view = row_view(moved, position)
            view[:, 1] += strength * view[:, 0]
            view[:, 0] *= 1 - strength
            partial.append(moved)
        rest = _twice(after) if levels == 2 else after  # what the later arcs and everything after them make of each cell
        weight = np.concatenate([self._lonely(step, branch, w) for branch in step.branches]) if levels == 2 else self._lonely(step, step.branches[0], w)
        mass = _dot(partial[-1], rest)
        present[:, step.number] += (weight * mass).reshape(levels, rows).sum(axis=0)
        for number in range(len(arcs) - 1, -1, -1):
            position, strength = arcs[number]
            here, there = row_view(partial[number], position), row_view(rest, position)[:, 1]
            evoked = _dot(here[:, 0] + here[:, 1], there)
            _add(fired, (step.number, step.names[number]), (weight * strength * evoked).reshape(levels, rows).sum(axis=0))
            rest = rest.copy()
            view = row_view(rest, position)
            view[:, 0] *= 1 - strength
            view[:, 0] += strength * view[:, 1]
        for level, branch in enumerate(step.branches):
            if branch.alone:
                self._alone_marginals(step, branch, mass[level * rows : (level + 1) * rows], w, fired)
        whole = after * self._absent(step, w)
        taken = rest * weight
        for level in range(levels):
            whole += taken[:, level * rows : (level + 1) * rows]
        return whole

    def _alone_marginals(self, step: TakeClass, branch: Branch, mass: Array, w: Weights, fired: dict[tuple[int, int], Array]) -> None:
        """Arcs into bits that only this class touches: the others of them are summed out."""
        base = (w.minor if branch.minor else w.present)[:, step.number]
        alone = [(bit, self._strength_of(w, step.number, bit, branch.minor, s)) for bit, s in branch.alone]
        for bit, strength in alone:
            factor = base * strength * w.on[:, bit]
            for other_bit, other_strength in alone:
                if other_bit != bit:
                    factor = factor * ((1 - other_strength) * w.off[:, other_bit] + other_strength * w.on[:, other_bit])
            _add(fired, (step.number, bit), factor * mass)

    def _bundle_marginals(self, step: TakeBundle, forward: Array, after: Array, w: Weights, present: Array, fired: dict[tuple[int, int], Array]) -> None:
        f, b = row_view(forward, step.position), row_view(after, step.position)
        stay, move, there = _dot(f[:, 0], b[:, 0]), _dot(f[:, 0], b[:, 1]), _dot(f[:, 1], b[:, 1])
        own = []  # (there and evoking it, there and not, absent) for each member
        for c, s, f_s in step.members:
            strength, faint = self._strength_of(w, c, step.bit, False, s), self._strength_of(w, c, step.bit, True, f_s)
            major, minor = w.present[:, c], w.minor[:, c]
            own.append((major * strength + minor * faint, major * (1 - strength) + minor * (1 - faint), w.absent[:, c]))
        one, none = np.ones(len(w)), np.zeros(len(w))
        before = [(one, none)]  # (none evoked it, some did) over the members before each one
        for fires, silent, absent in own:
            before.append(_join(before[-1], fires, silent + absent))
        behind = (one, none)
        for number in range(len(own) - 1, -1, -1):
            c = step.members[number][0]
            fires, silent, absent = own[number]
            q0, l0 = before[number]
            q1, l1 = behind
            quiet, loud = q0 * q1, l0 * (q1 + l1) + q0 * l1
            fire = fires * (quiet + loud) * (move + there)
            fired[(c, step.bit)] = fire
            present[:, c] = fire + silent * (quiet * stay + loud * move + (quiet + loud) * there)
            behind = _join(behind, fires, silent + absent)

    def _back(self, after: Array, step: TakeBundle | Enter | Leave, w: Weights) -> Array:
        rows = after.shape[1]
        if isinstance(step, TakeBundle):
            quiet, loud, total = self._bundle(step, w)
            moved = after.copy()
            view = row_view(moved, step.position)
            view[:, 0] *= quiet
            view[:, 0] += loud * view[:, 1]
            view[:, 1] *= total
            return moved
        if isinstance(step, Enter):
            return np.ascontiguousarray(after.reshape(-1, 2, rows)[:, 0])
        if step.parent < 0:
            low = 1 << (_bits_of(after) - step.position)
            wide = after.reshape(-1, low, rows)
            return np.stack([wide * w.off[:, step.bit], wide * w.on[:, step.bit]], axis=1).reshape(-1, rows)
        return self._back_pass_on(after, step, w)

    def _back_pass_on(self, after: Array, step: Leave, w: Weights) -> Array:
        rows = after.shape[1]
        nothing, by_other, off, on = self._kind_weights(step, w)
        width = _bits_of(after) + 1
        parent_after = step.parent - (1 if step.parent > step.position else 0)
        view = after.reshape(1 << parent_after, 2, -1, rows)
        p0, p1 = view[:, 0], view[:, 1]
        kind0 = np.stack([nothing * p0 + by_other * p1, off * p1], axis=1)  # parent 0, parent 1
        kind1 = np.stack([on * p1, on * p1], axis=1)
        # the table with the parent in its place, then the kind's axis inserted at its own
        high, low = 1 << step.position, 1 << (width - 1 - step.position)
        return np.stack([kind0.reshape(high, low, rows), kind1.reshape(high, low, rows)], axis=1).reshape(-1, rows)


def _dot(a: Array, b: Array) -> Array:
    """Sum of products over all cells, row by row: the last axis stays. Shape (R,)."""
    if a.shape[-1] == 1:
        return np.array([np.vdot(a, b)])
    found: Array = np.einsum("ir,ir->r", a.reshape(-1, a.shape[-1]), b.reshape(-1, b.shape[-1]))
    return found


def _twice(table: Array) -> Array:
    """The rows of a table, and the same rows again behind them."""
    return np.concatenate([table, table], axis=1)


def _join(so_far: tuple[Array, Array], fires: Array, quietly: Array) -> tuple[Array, Array]:
    """(none evoked it, some did) with one class more."""
    quiet, loud = so_far
    return quiet * quietly, loud * (fires + quietly) + quiet * fires


def _add(to: dict[tuple[int, int], Array], key: tuple[int, int], value: Array) -> None:
    to[key] = to[key] + value if key in to else value


def _bits_of(table: Array) -> int:
    return int(table.shape[0]).bit_length() - 1


def _view(table: Array, position: int) -> Array:
    """The table as (higher bits, this bit, lower bits and rows); position 0 is the highest bit."""
    return table.reshape(1 << position, 2, -1)


def row_view(table: Array, position: int) -> Array:
    """The table as (higher bits, this bit, lower bits, rows)."""
    return table.reshape(1 << position, 2, -1, table.shape[1])
