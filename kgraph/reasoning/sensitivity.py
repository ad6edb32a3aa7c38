"""How steady a conclusion is when every figure behind it is moved by its own doubt, and which figures it hangs on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from kgraph.claims import Ontology
from kgraph.reasoning.answer import Candidate, Sensitivity, Steady
from kgraph.reasoning.draws import Drawn
from kgraph.reasoning.figures import Figures, Key
from kgraph.reasoning.inference import Inference, covers
from kgraph.reasoning.network import Network
from kgraph.reasoning.shelf import Shelf
from kgraph.reasoning.trials import SEED, Array, Rows, Whole, hinges, middle, places_of, report_keys
from kgraph.reasoning.weights import firm

DRAWS = 200
#: "Stays among the first three": as many as a screen shows.
AMONG = 3
#: So many candidates of a kind can take part in the order; a figure is tried alone where its class moved this much.
_CONTENDERS = 6
_MOVED = 0.02
#: A figure that narrows the lead by less than this (a chance; decibans between herbs) does not matter.
_LEAST, _LEAST_DB = 0.002, 0.05


class _Column(NamedTuple):
    """A candidate over all rows: its chance, and what orders it."""

    candidate: Candidate
    chance: Array
    rise: Array


def of_ask(ontology: Ontology, inference: Inference, families: Sequence[Candidate], actions: Sequence[Candidate], draws: int, *, spread: float = 1.0, seed: int = SEED) -> Sensitivity | None:
    """How steady the order of families and actions is; None where nothing rose or no draws are asked for.

    Args:
        ontology, inference: what is known, and the exact answers of one record.
        families, actions: the candidates of the answer, in their order.
        draws, spread, seed: how many worlds, how wide (1: the doubts as they are tabled), and where the random numbers begin.
    """
    leading = [c for c in families if c.standing == "risen"]
    if not draws or not leading:
        return None
    rows = Rows(draws, _tried(ontology, inference, leading[:2]), spread, seed)
    figures = Figures(ontology, inference.net, rows.count, rows)
    drawn = Drawn(inference, figures)
    ones = np.ones(rows.count)
    family_columns = [_column(drawn, c, dict.fromkeys(ontology.families[c.id], ones)) for c in _contenders(families)]
    action_columns = [
        _column(drawn, c, {id: figures.support(c.id, id)[:, 0] for id in inference.net.acts[c.id]}) for c in _contenders(actions)
    ]
    lead, rivals = _lead(family_columns, leading[0].id)
    return Sensitivity(
        draws, seed, spread,
        _steady(family_columns, rows), _steady(action_columns, rows),
        leading[0].id, leading[0].label, hinges(ontology, figures, rows, lead, [c.candidate.label for c in family_columns if c.candidate.id != leading[0].id], rivals, _LEAST),
    )


def _contenders(candidates: Sequence[Candidate]) -> list[Candidate]:
    return sorted(candidates, key=lambda c: (-firm(c.posterior - c.prior), c.id))[:_CONTENDERS]


def _column(drawn: Drawn, candidate: Candidate, members: dict[str, Array]) -> _Column:
    after = drawn.after(members)
    return _Column(candidate, after, after - drawn.before(members))


def _steady(columns: Sequence[_Column], rows: Rows) -> tuple[Steady, ...]:
    if not columns:
        return ()
    among = slice(1, 1 + rows.draws)
    places = places_of([c.rise for c in columns], among)
    return tuple(
        Steady(c.candidate.id, c.candidate.label, int((places[i] <= AMONG).sum()), int((places[i] == 1).sum()), *middle(places[i]), *middle(c.chance[among]))
        for i, c in enumerate(columns)
    )


def _lead(columns: Sequence[_Column], first: str) -> tuple[Array, Whole]:
    """By how much the first one leads in each row, and which of the others comes nearest."""
    own = next(c.rise for c in columns if c.candidate.id == first)
    others = [c.rise for c in columns if c.candidate.id != first]
    if not others:
        return own, np.full(len(own), -1)
    table = np.stack(others)
    return own - table.max(axis=0), table.argmax(axis=0)


# -- the figures that matter -----------------------------------------------------------------------------------


def _tried(ontology: Ontology, inference: Inference, leading: Sequence[Candidate]) -> list[Key]:
    """The figures to be tried alone: those of classes that moved or stand in the first two families, and of the reports."""
    net = inference.net
    into = {percept for percepts in covers(net, inference.cells) for percept in percepts}
    own = {member for c in leading for member in c.members}
    moved = [id for id in inference.posed.classes if id in own or abs(inference.posterior[id] - net.prior[id]) >= _MOVED]
    keys: dict[Key, None] = {}
    for id in moved:
        keys[("prior", id)] = None
        for percept, arc in net.arcs[id].items():
            if percept in into:
                keys[("arc", id, percept)] = None
                if not arc.learnt:
                    keys[("word", ontology.claim(arc.claims[0]).word)] = None
    keys |= dict.fromkeys(report_keys(inference.cells, into))
    return list(keys)


# -- herbs -----------------------------------------------------------------------------------------------------


def of_match(shelf: Shelf, inference: Inference, herbs: Sequence[str], labels: Sequence[str], draws: int, *, spread: float = 1.0, seed: int = SEED) -> Sensitivity | None:
    """How steady the order of herbs is.

    Args:
        shelf, inference: the herbs, and the record's cells.
        herbs, labels: the herbs to be followed, the best first, and their names.
        draws, spread, seed: as in :func:`of_ask`.
    """
    if not draws or not herbs:
        return None
    ontology, net = shelf.ontology, shelf.net
    rows = Rows(draws, _tried_herbs(shelf, net, inference, herbs[:2]), spread, seed)
    figures = Figures(ontology, net, rows.count, rows)
    race = _race(shelf, figures, inference, [shelf.index[h] for h in herbs])
    among = slice(1, 1 + draws)
    steady = tuple(
        Steady(h, name, int((race.places[k, among] <= AMONG).sum()), int((race.places[k, among] == 1).sum()), *middle(race.places[k, among]), *middle(race.chances[k, among]))
        for k, (h, name) in enumerate(zip(herbs, labels, strict=True))
    )
    names = [ontology.label("herb", h) for h in shelf.ids]
    return Sensitivity(draws, seed, spread, (), (), herbs[0], labels[0], hinges(ontology, figures, rows, race.lead, names, race.second, _LEAST_DB), steady)


class _Race(NamedTuple):
    """Herbs followed over all rows: place and chance of each, by how many decibans the first leads, and which herb comes nearest to it."""

    places: Whole
    chances: Array
    lead: Array
    second: Whole


def _race(shelf: Shelf, figures: Figures, inference: Inference, numbers: Sequence[int]) -> _Race:
    """Two rounds over the shelf: the followed herbs first, then everybody against them. Slices keep memory from growing with the shelf."""
    rows = figures.rows
    kept = list(shelf.slices(figures, inference.circumstances, inference.cells)) if shelf.one_slice(rows) else None

    def slices() -> Iterable[tuple[int, Array]]:
        return kept or shelf.slices(figures, inference.circumstances, inference.cells)

    own = np.empty((len(numbers), rows))
    for start, part in slices():
        for k, number in enumerate(numbers):
            if start <= number < start + part.shape[1]:
                own[k] = part[:, number - start]
    firm_own = np.round(own, 9)
    places = np.ones((len(numbers), rows), dtype=np.int64)
    nearest, second = np.full(rows, -np.inf), np.full(rows, -1)
    top = own[0]
    mass = np.zeros(rows)
    for start, part in slices():
        firm_part = np.round(part, 9)
        for k in range(len(numbers)):
            places[k] += (firm_part > firm_own[k][:, None]).sum(axis=1)
        mass += np.exp(part - top[:, None]).sum(axis=1)
        rivals = part.copy()
        if start <= numbers[0] < start + part.shape[1]:
            rivals[:, numbers[0] - start] = -np.inf
        here = rivals.max(axis=1)
        second = np.where(here > nearest, rivals.argmax(axis=1) + start, second)
        nearest = np.maximum(nearest, here)
    none = figures.none_prior()[:, 0]
    each = (1 - none) / len(shelf.ids)
    total = each * mass + none * Drawn(inference, figures).total / np.exp(top)
    return _Race(places, each * np.exp(own - top) / total, (top - nearest) * 10 / np.log(10), second)


def _tried_herbs(shelf: Shelf, net: Network, inference: Inference, leading: Sequence[str]) -> list[Key]:
    into = [percept for percepts in covers(net, inference.cells) for percept in percepts]
    keys: dict[Key, None] = {}
    for herb in leading:
        for cls in shelf.classes_of(herb):
            for percept, arc in net.arcs.get(cls, {}).items():
                if percept in into:
                    keys[("arc", cls, percept)] = None
                    if not arc.learnt:
                        keys[("word", shelf.ontology.claim(arc.claims[0]).word)] = None
    keys |= dict.fromkeys([("documented", word) for word in ("absent", "weak", "moderate", "strong")])
    keys |= dict.fromkeys(report_keys(inference.cells, into))
    return list(keys)
