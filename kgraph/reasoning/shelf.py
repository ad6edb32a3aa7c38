"""Every herb on file as arrays, so that one record is held against all of them at once.

P(reports | herb), percept by percept: a documented quality speaks for itself through the table "report given documented
intensity"; the other qualities come from the herb's classes, scaled by their level. Given a herb its classes are known,
so the percepts part and the product is exact.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kgraph.claims import Ontology
from kgraph.claims.words import INTENSITIES, LEVELS
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.figures import Figures
from kgraph.reasoning.herbs import documented_intensities, level_words
from kgraph.reasoning.network import Network

Array = NDArray[np.float64]
#: Numbers held at once (rows by herbs): more herbs are worked through in slices, so that memory does not grow with the shelf.
_CELLS = 1 << 20
UNDESCRIBED = -1


@dataclass(frozen=True, slots=True)
class _Terms:
    """What every herb needs of one cell; each figure is a number, or one a row (R, 1)."""

    cell: Cell
    there: Array
    not_there: Array
    spontaneous: Array  # P(there by other causes)
    arcs: Mapping[str, Array]  # class to strength at major level
    documented: Sequence[Array]  # log likelihood for absent, weak, moderate, strong; empty where no table speaks of it


class Shelf:
    """The herbs of an ontology, compiled once.

    Attributes:
        ids: herb ids; all arrays run in this order.
        described: number of documented qualities of each herb, shape (H,).
    """

    def __init__(self, ontology: Ontology, net: Network) -> None:
        self.ontology, self.net = ontology, net
        self.ids = tuple(ontology.herbs)
        self.index = {id: i for i, id in enumerate(self.ids)}
        holders: dict[str, list[tuple[int, int]]] = {}
        said: dict[str, list[tuple[int, int]]] = {}
        self.described = np.zeros(len(self.ids), dtype=int)
        for i, herb in enumerate(self.ids):
            for cls, word in level_words(ontology, herb).items():
                holders.setdefault(cls, []).append((i, LEVELS.index(word)))
            intensities = documented_intensities(ontology, herb)
            self.described[i] = len(intensities)
            for percept, word in intensities.items():
                said.setdefault(percept, []).append((i, INTENSITIES.index(word)))
        self._holders = {cls: (np.array([i for i, _ in rows]), np.array([level for _, level in rows])) for cls, rows in holders.items()}
        self._said = {p: (np.array([i for i, _ in rows]), np.array([word for _, word in rows], dtype=np.int8)) for p, rows in said.items()}
        self._documented: dict[str, NDArray[np.int8]] = {}

    def _own(self, percept: str) -> NDArray[np.int8]:
        column = np.full(len(self.ids), UNDESCRIBED, dtype=np.int8)
        if percept in self._said:
            where, words = self._said[percept]
            column[where] = words
        return column

    def documented(self, percept: str) -> NDArray[np.int8]:
        """Each herb's documented intensity of a percept (0 absent to 3 strong, -1 undescribed), shape (H,).

        A group is as strong as the strongest of its kinds, and a denied group denies these.
        """
        if percept not in self._documented:
            column = self._own(percept)
            kinds = [self._own(kind) for kind in self.net.groups.get(percept, ())]
            if kinds:
                column = np.where(column == UNDESCRIBED, np.max(kinds, axis=0), column)
            for group, its in self.net.groups.items():
                if percept in its:
                    column = np.where((column == UNDESCRIBED) & (self._own(group) == 0), np.int8(0), column)
            self._documented[percept] = column
        return self._documented[percept]

    def classes_of(self, herb: str) -> tuple[str, ...]:
        """The classes that a herb holds, at any level."""
        return tuple(level_words(self.ontology, herb))

    def one_slice(self, rows: int) -> bool:
        """Do all herbs fit in one slice of so many rows?"""
        return len(self.ids) * rows <= _CELLS

    # -- likelihoods -------------------------------------------------------------------------------------------

    def _terms(self, figures: Figures, circumstances: Circumstances, cell: Cell) -> _Terms:
        percepts = (cell.percept, *self.net.groups.get(cell.percept, ()))
        quiet = figures.whole(1.0)
        arcs: dict[str, Array] = {}
        for percept in percepts:
            quiet = quiet * (1 - figures.other_cause(circumstances, percept, plain=cell.plain))
            for id in self.net.evokers(percept):
                strength = figures.arc(circumstances, id, percept)
                arcs[id] = 1 - (1 - arcs[id]) * (1 - strength) if id in arcs else strength
        there, not_there = figures.reports(cell)
        return _Terms(cell, there, not_there, 1 - quiet, arcs, figures.documented(cell))

    def _quiet(self, figures: Figures, terms: _Terms, start: int, stop: int) -> Array:
        """P(the percept is not there | herb) by its classes and other causes, for the herbs from `start` to `stop`; shape (R, stop - start)."""
        quiet = np.repeat(1 - terms.spontaneous, stop - start, axis=1)
        for cls, strength in terms.arcs.items():
            if cls not in self._holders:
                continue
            where, levels = self._holders[cls]
            first, last = np.searchsorted(where, (start, stop))
            if first < last:
                quiet[:, where[first:last] - start] *= 1 - strength * figures.levels(plain=terms.cell.plain)[:, levels[first:last]]
        return quiet

    def _one(self, figures: Figures, terms: _Terms, start: int, stop: int) -> Array:
        """Natural log of P(report | herb) in the cell's own scale, for the same herbs."""
        quiet = self._quiet(figures, terms, start, stop)
        found: Array = np.log(quiet * terms.not_there + (1 - quiet) * terms.there)
        if terms.documented:
            words = self.documented(terms.cell.percept)[start:stop]
            for number, value in enumerate(terms.documented):
                found[:, words == number] = value
        return found

    def by_cell(self, figures: Figures, circumstances: Circumstances, cells: Sequence[Cell]) -> Array:
        """Natural log of P(report | herb) of each cell, figures as they stand: shape (cells, H)."""
        if not cells:
            return np.zeros((0, len(self.ids)))
        return np.stack([self._one(figures, self._terms(figures, circumstances, cell), 0, len(self.ids))[0] for cell in cells])

    def slices(self, figures: Figures, circumstances: Circumstances, cells: Sequence[Cell]) -> Iterator[tuple[int, Array]]:
        """(first herb, natural log of P(reports | herb), shape (R, herbs of the slice)), slice by slice: memory does not grow with the shelf."""
        terms = [self._terms(figures, circumstances, cell) for cell in cells]
        step = max(1, _CELLS // figures.rows)
        for start in range(0, len(self.ids), step):
            stop = min(len(self.ids), start + step)
            total = np.zeros((figures.rows, stop - start))
            for one in terms:
                total += self._one(figures, one, start, stop)
            yield start, total

    def totals(self, figures: Figures, circumstances: Circumstances, cells: Sequence[Cell]) -> Array:
        """Natural log of P(reports | herb): shape (R, H)."""
        parts = [part for _, part in self.slices(figures, circumstances, cells)]
        return np.concatenate(parts, axis=1) if parts else np.zeros((figures.rows, 0))

    def expected(self, figures: Figures, circumstances: Circumstances, cell: Cell) -> Array:
        """P(the percept is there, or plain where the cell asks so), by what each herb's classes give and other causes, descriptions aside; shape (H,)."""
        found: Array = 1 - self._quiet(figures, self._terms(figures, circumstances, cell), 0, len(self.ids))[0]
        return found

    def fits(self, circumstances: Circumstances, cells: Sequence[Cell]) -> dict[str, float]:
        """Herb to decibans below the best-fitting herb (0 for the best, negative for the others)."""
        totals = self.totals(Figures(self.ontology, self.net), circumstances, cells)[0]
        best = float(totals.max(initial=-np.inf)) if len(totals) else 0.0
        return {herb: 10 * (float(value) - best) / math.log(10) for herb, value in zip(self.ids, totals, strict=True)}
