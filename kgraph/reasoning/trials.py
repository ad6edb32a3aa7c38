"""Moves of figures: draws of all at once, each figure alone at its edges, and what that does to a lead.

One batch holds the figures as they stand, N draws with all figures moved at once (normal on the log odds, seed fixed and
stated), and for each tried figure two rows more in which it alone stands at its 5th or at its 95th percentile.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from kgraph.claims import Ontology
from kgraph.reasoning.answer import Hinge
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.figures import EDGE, Figures, Key
from kgraph.reasoning.network import percept_label
from kgraph.reasoning.weights import firm
from kgraph.yamlio import InputError, Place

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
MOST_DRAWS, SEED = 5_000, 1
HINGES = 3


def checked(draws: int, place: str = "--draws") -> int:
    """The number of draws, or an :class:`InputError` that says what may stand there."""
    if not 0 <= draws <= MOST_DRAWS:
        raise InputError.single("draws", f"{draws} draws cannot be made.", f"Give 0 (off) to {MOST_DRAWS}.", Place(place))
    return draws


class Rows:
    """Moves for every figure, in standard deviations: row 0 as it stands, then the draws, then each tried figure alone at its two edges."""

    def __init__(self, draws: int, alone: Sequence[Key], spread: float = 1.0, seed: int = SEED) -> None:
        self.draws, self.spread, self.seed = draws, spread, seed
        self.alone = tuple(alone)
        self.count = 1 + draws + 2 * len(self.alone)
        self._number = {key: i for i, key in enumerate(self.alone)}
        self._made: dict[Key, Array] = {}

    def __call__(self, key: Key) -> Array:
        if key not in self._made:
            moves = np.zeros(self.count)
            # a stream of its own for each figure: what else is asked does not move it
            stream = np.random.default_rng([self.seed, zlib.crc32("/".join(key).encode())])
            moves[1 : 1 + self.draws] = self.spread * stream.standard_normal(self.draws)
            if key in self._number:
                first = 1 + self.draws + 2 * self._number[key]
                moves[first], moves[first + 1] = -EDGE * self.spread, EDGE * self.spread
            self._made[key] = moves
        return self._made[key]

    def edges(self, values: Array) -> Array:
        """The part of a column in which figures stand alone, shape (figures, 2)."""
        return values[1 + self.draws :].reshape(-1, 2)


def places_of(orders: Sequence[Array], rows: slice) -> Whole:
    """Place of each of the columns in each row, 1 the best: shape (columns, rows). Equals keep the order of the columns."""
    table = np.stack([order[rows] for order in orders])
    places = np.empty(table.shape, dtype=np.int64)
    order = np.argsort(-np.round(table, 9), axis=0, kind="stable")
    np.put_along_axis(places, order, np.arange(1, len(table) + 1)[:, None] * np.ones((1, table.shape[1]), dtype=np.int64), axis=0)
    return places


def middle(values: Whole | Array) -> tuple[float, float]:
    """5th and 95th percentile; of places, whole ones."""
    if values.dtype.kind == "i":
        low, high = np.percentile(values, (5, 95), method="closest_observation")
        return int(low), int(high)
    low, high = np.percentile(values, (5, 95))
    return float(low), float(high)


def report_keys(cells: Iterable[Cell], percepts: Iterable[str]) -> list[Key]:
    found: list[Key] = [("other", percept) for percept in percepts]
    cells = list(cells)
    states = {state for cell in cells for state, _ in cell.reports}
    found += [("report", state) for state in sorted(states)]
    found.append(("level", "minor"))
    if any(cell.tasters > 1 for cell in cells):
        found.append(("tasters",))
    return found


def hinges(ontology: Ontology, figures: Figures, rows: Rows, lead: Array, names: Sequence[str], rivals: Whole, least: float) -> tuple[Hinge, ...]:
    """The figures that, alone at an edge of their doubt, narrow the lead most; those that take less than `least` off it do not matter."""
    edges, nearest = rows.edges(lead), rivals[1 + rows.draws :].reshape(-1, 2)
    found = []
    for i, key in enumerate(rows.alone):
        side = int(edges[i].argmin())
        drop = float(lead[0] - edges[i, side])
        if drop < least:
            continue
        value = _value(figures, key)
        edge = None if value is None else float(value[1 + rows.draws + 2 * i + side])
        instead = names[int(nearest[i, side])] if edges[i, side] < 0 and names else ""
        found.append(Hinge("/".join(key), label(ontology, key), None if value is None else float(value[0]), edge, float(lead[0]), float(edges[i, side]), instead))
    return tuple(sorted(found, key=lambda h: (firm(h.lead_then), h.id))[:HINGES])


def _value(figures: Figures, key: Key) -> Array | None:
    if key[0] == "arc":
        return figures.strength(key[1], key[2])[:, 0]
    if key[0] == "prior":
        return figures.prior(key[1])[:, 0]
    if key[0] == "none":
        return figures.none_prior()[:, 0]
    return None


def label(ontology: Ontology, key: Key) -> str:
    """What a figure is, in plain words."""
    what, *of = key
    texts: dict[str, Callable[[], str]] = {
        "arc": lambda: f"how regularly {ontology.label('class', of[0])} give “{percept_label(ontology, of[1])}”",
        "word": lambda: f"what “{of[0].replace('-', ' ')}” means as a number",
        "prior": lambda: f"how common {ontology.label('class', of[0])} are among herbs",
        "other": lambda: f"how often “{percept_label(ontology, of[0])}” is noticed for other reasons",
        "report": lambda: f"how far a taster's “{'not mentioned' if of[0] == 'unnoticed' else of[0]}” can be trusted",
        "level": lambda: "how much a constituent gives of which there is little",
        "tasters": lambda: "how alike tasters of one cup are",
        "documented": lambda: f"what books mean by “{of[0]}”",
        "none": lambda: "how likely a herb is that is not on file",
    }
    return texts[what]()
