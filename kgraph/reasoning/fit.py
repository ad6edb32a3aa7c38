"""Strengths learnt from documented herbs, with the strength words as prior knowledge.

Given a herb, its classes and their levels are known, so the percepts part and each is learnt by itself: the noisy-OR of
the herb's classes and of other causes, seen through the fixed tables of the book channel, which leaves much unsaid.
Maximum a posteriori on the log odds, by expectation and maximisation (Dempster, Laird, Rubin 1977); the prior of a
strength is a Beta distribution with the word's number as mean and `size` as its weight in herbs. Arcs are moved, never added.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from kgraph.claims import Ontology
from kgraph.claims.words import REPORT_STATES
from kgraph.reasoning.book import described_states, is_described
from kgraph.reasoning.herbs import level_words
from kgraph.reasoning.network import MAX_STRENGTH, MIN_SUPPORT, TEST, Learnt, Network, build_network
from kgraph.yamlio import InputError

Array = NDArray[np.float64]

#: Fewer described herbs than this are too few to learn from.
MIN_HERBS = 20
#: Weights of the words that are tried, in herbs.
SIZES = (2.0, 4.0, 8.0, 16.0)
#: Weights of the tabled other causes that are tried, in herbs. Heavy ones: what links are missing would else be learnt as other causes, and explain the rest away.
OTHER_SIZES = (20.0, 60.0)
#: Stopping rule: no figure moves by more than this, or so many rounds; coarser while weights are chosen.
TOLERANCE, ROUNDS = 1e-6, 3000
_COARSE = (1e-3, 60)
_FOLDS = 5


class Strength(NamedTuple):
    """One arc as the herbs have it.

    Attributes:
        word: the strength word of the claim that rules the arc; the figure stands only while the word does.
        value: maximum a posteriori; ``low`` and ``high`` bound nine tenths of a normal law on the log odds, from the
            curvature in all figures of the percept at once (Laplace's approximation), so that what one class leaves to another shows.
        herbs: described herbs that hold the class at major or minor level and whose description counts for the percept.
    """

    cls: str
    quality: str
    word: str
    value: float
    low: float
    high: float
    herbs: int


class OtherCause(NamedTuple):
    """How often a quality is there with no class on file behind it; `herbs` is the number of descriptions that count."""

    quality: str
    value: float
    herbs: int


@dataclass(frozen=True, slots=True)
class Fit:
    """What the herbs taught: strengths and other causes, the number of herbs, and the weights of the words and of the tabled other causes."""

    strengths: tuple[Strength, ...]
    others: tuple[OtherCause, ...]
    herbs: int
    size: float
    other_size: float


@dataclass(slots=True)
class _Percept:
    """The descriptions as one percept sees them: H herbs by K classes with an arc into it."""

    id: str
    classes: list[str]
    mean: Array  # (K,) the numbers of the words
    other: float
    rows: NDArray[np.intp]  # (H,) which herbs count
    there: Array  # (H,)
    not_there: Array
    factor: Array  # (H, K) what the level makes of the arc
    other_factor: Array  # (H,)
    held: NDArray[np.bool_]  # (H, K) at major or minor level


class Descriptions:
    """All descriptions of an ontology, laid out once; then fitted on any part of the herbs."""

    def __init__(self, ontology: Ontology, net: Network) -> None:
        if not all(("book", state) in ontology.tables.reports for state in REPORT_STATES):
            raise InputError.single(
                "no-book-table", "nothing can be learnt from descriptions: `report_tables` has no full table for the channel `book`.",
                "Give `channel: book` for every state.",
            )
        self.ontology, self.net = ontology, net
        self.herbs = [id for id in ontology.herbs if is_described(ontology, id)]
        learnt = [q for q in net.other_cause if not q.startswith(TEST) and q not in net.groups]
        states = [described_states(ontology, net, herb, _listened_for(ontology, herb, learnt)) for herb in self.herbs]
        levels = [level_words(ontology, herb) for herb in self.herbs]
        self._percepts = [found for q in learnt if (found := self._lay_out(q, states, levels)) is not None]

    def _lay_out(self, percept: str, states: list[dict[str, str]], levels: list[dict[str, str]]) -> _Percept | None:
        tables, net = self.ontology.tables, self.net
        rows = [row for row, found in enumerate(states) if percept in found]
        arcs = net.evokers(percept)
        if not rows or not any(states[row][percept] not in ("absent", "unnoticed") for row in rows):
            return None
        plain = [tables.asks_plain("book", states[row][percept], percept) for row in rows]
        pairs = [tables.report("book", states[row][percept], percept) for row in rows]

        def factor(row: int, cls: str, plainly: bool) -> float:
            word = levels[row].get(cls)
            return 0.0 if word is None else tables.level(word, plain=plainly)

        return _Percept(
            percept, list(arcs), np.array([arc.strength for arc in arcs.values()]), net.other_cause[percept],
            np.array(rows), np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs]),
            np.array([[factor(row, c, p) for c in arcs] for row, p in zip(rows, plain, strict=True)]).reshape(len(rows), len(arcs)),
            np.array([net.plain_other if p else 1.0 for p in plain]),
            np.array([[levels[row].get(c) in ("major", "minor") for c in arcs] for row in rows], dtype=bool).reshape(len(rows), len(arcs)),
        )

    def fit(self, herbs: Iterable[str] | None = None, *, size: float | None = None, other_size: float | None = None, progress: Callable[[int, int], None] | None = None) -> Fit:
        """Learn from some of the herbs (all described ones, if not given).

        Args:
            herbs: ids; those that are not described are passed over.
            size, other_size: weights of the words and of the tabled other causes; chosen by leaving out fifths of the herbs where they are not given.
            progress: called with (fifths done, fifths) while the weights are chosen.

        Raises:
            InputError: too few described herbs.
        """
        wanted = set(self.herbs if herbs is None else herbs)
        rows = np.array([wanted.issuperset((herb,)) for herb in self.herbs], dtype=bool)
        if rows.sum() < MIN_HERBS:
            raise InputError.single(
                "too-few-herbs", f"only {int(rows.sum())} herbs are described by at least two qualities, {MIN_HERBS} are wanted.",
                "Add `described_as` statements, or reason with the words alone.",
            )
        if size is None or other_size is None:
            size, other_size = self._best_sizes(rows, (size,) if size else SIZES, (other_size,) if other_size else OTHER_SIZES, progress)
        strengths: list[Strength] = []
        others: list[OtherCause] = []
        for percept in self._percepts:
            here = rows[percept.rows]
            value, other = _climb(percept, here, size, other_size)
            low, high = _nine_tenths(percept, here, value, other, size, other_size)
            held = percept.held[here].sum(axis=0)
            for k, cls in enumerate(percept.classes):
                word = self.ontology.claim(self.net.arcs[cls][percept.id].claims[0]).word
                strengths.append(Strength(cls, percept.id, word, float(value[k]), float(low[k]), float(high[k]), int(held[k])))
            others.append(OtherCause(percept.id, other, int(here.sum())))
        return Fit(tuple(sorted(strengths)), tuple(sorted(others)), int(rows.sum()), size, other_size)

    def _best_sizes(
        self, rows: NDArray[np.bool_], sizes: Iterable[float], other_sizes: Iterable[float], progress: Callable[[int, int], None] | None,
    ) -> tuple[float, float]:
        """The heaviest weights that foretell left-out fifths of the herbs as well as the best ones, give or take one standard error.

        The rule of one standard error (Breiman, Friedman, Olshen, Stone 1984): what people say stands until the herbs speak plainly.
        """
        numbers = np.flatnonzero(rows)
        gain = {(size, other): np.zeros(_FOLDS) for size in sizes for other in other_sizes}
        for fold in range(_FOLDS):
            left = np.zeros_like(rows)
            left[numbers[fold::_FOLDS]] = True
            for percept in self._percepts:
                seen, unseen = (rows & ~left)[percept.rows], left[percept.rows]
                for weights in gain:
                    value, other = _climb(percept, seen, *weights, *_COARSE)
                    gain[weights][fold] += _log_likelihood(percept, unseen, value, other)
            if progress:
                progress(fold + 1, _FOLDS)
        best = max(gain, key=lambda weights: (round(float(gain[weights].sum()), 6), weights))
        bar = gain[best].sum() - gain[best].std(ddof=1) * np.sqrt(_FOLDS)
        return max(weights for weights, gains in gain.items() if gains.sum() >= bar)


def _listened_for(ontology: Ontology, herb: str, learnt: list[str]) -> list[str]:
    """What a description's silence says something of: the standard list, and the qualities of a sense that it speaks of at all."""
    spoken = {ontology.qualities[c.object].sense for c in ontology.said_of("described_as", herb)}
    return [*ontology.tables.standard_list, *(q for q in learnt if ontology.qualities[q].sense in spoken)]


def _quiet(factor: Array, value: Array, other_factor: Array, other: float) -> Array:
    """P(nothing evokes the percept), by herb."""
    quiet: Array = np.prod(1 - factor * value, axis=1) * (1 - other_factor * other)
    return quiet


def _log_likelihood(p: _Percept, rows: NDArray[np.bool_], value: Array, other: float) -> float:
    quiet = _quiet(p.factor[rows], value, p.other_factor[rows], other)
    return float(np.log(quiet * p.not_there[rows] + (1 - quiet) * p.there[rows]).sum())


def _climb(p: _Percept, rows: NDArray[np.bool_], size: float, other_size: float, tolerance: float = TOLERANCE, rounds: int = ROUNDS) -> tuple[Array, float]:
    """Strengths and other causes."""
    factor, there, not_there = p.factor[rows], p.there[rows], p.not_there[rows]
    other_factor = p.other_factor[rows]
    tried = factor > 0
    value, other = p.mean.copy(), p.other
    if not len(there):
        return value, other
    for _ in range(rounds):
        quiet = _quiet(factor, value, other_factor, other)
        likelihood = quiet * not_there + (1 - quiet) * there
        hits = np.where(tried, _fires(factor, value, quiet[:, None], there[:, None], not_there[:, None], likelihood[:, None]), 0.0).sum(axis=0)
        by_other = float(_fires(other_factor, other, quiet, there, not_there, likelihood).sum())
        new = np.minimum(MAX_STRENGTH, (hits + size * p.mean) / (tried.sum(axis=0) + size))
        new_other = (by_other + other_size * p.other) / (len(there) + other_size)
        moved = max(float(np.abs(new - value).max(initial=0.0)), abs(new_other - other))
        value, other = new, new_other
        if moved < tolerance:
            break
    return value, other


def _nine_tenths(p: _Percept, rows: NDArray[np.bool_], value: Array, other: float, size: float, other_size: float) -> tuple[Array, Array]:
    """Nine tenths of a normal law on the log odds, from the curvature of the log posterior in all strengths and the other causes."""
    gate = np.column_stack([p.factor[rows], p.other_factor[rows]])
    s = np.clip(np.append(value, other), 1e-6, 1 - 1e-6)
    weight = np.append(np.full(len(value), size), other_size)
    open_share = 1 - gate * s
    quiet = np.prod(open_share, axis=1)
    gap = p.not_there[rows] - p.there[rows]
    likelihood = p.there[rows] + gap * quiet
    slope = -quiet[:, None] * gate / open_share * (gap / likelihood)[:, None]  # of the log likelihood, by strength
    pull = gate / open_share
    bend = np.einsum("h,hj,hk->jk", gap * quiet / likelihood, pull, pull) - slope.T @ slope
    np.fill_diagonal(bend, -(slope**2).sum(axis=0))
    by_odds = s * (1 - s)
    curvature = -(by_odds[:, None] * bend * by_odds)
    curvature[np.diag_indices_from(curvature)] += weight * by_odds - slope.sum(axis=0) * by_odds * (1 - 2 * s)
    # the prior weight * (mean * log s + (1 - mean) * log(1 - s)) bends by weight * s * (1 - s) on the log odds
    values, vectors = np.linalg.eigh(curvature)
    spread = np.sqrt(np.einsum("jk,k,jk->j", vectors, 1 / np.maximum(values, 1e-9), vectors))[: len(value)]
    odds = np.log(s / (1 - s))[: len(value)]
    low, high = (1 / (1 + np.exp(-(odds + side * 1.6449 * spread))) for side in (-1, 1))
    return low, high


def _fires(gate: Array, strength: Array | float, quiet: Array, there: Array, not_there: Array, likelihood: Array) -> Array:
    """P(this cause would evoke it | report): through an open gate it did; behind a shut one the report says nothing of it."""
    without = quiet / np.maximum(1 - gate * strength, 1e-12)
    shut = without * not_there + (1 - without) * there
    fired: Array = strength * (gate * there + (1 - gate) * shut) / likelihood
    return fired


def fit_as_yaml(fit: Fit, version: int) -> str:
    """The section `fitted` for `tables/fitted.yaml`. The same herbs give the same bytes."""
    lines = [
        "# Strengths as the documented herbs have them, with the words as prior knowledge. Made by `kgraph fit`; not edited by hand.",
        f"# Expectation and maximisation until no figure moves by {TOLERANCE:g} ({ROUNDS} rounds at most); no random numbers.",
        "fitted:", f"  version: {version}", f"  herbs: {fit.herbs}", f"  word_weight: {fit.size:g}", f"  other_weight: {fit.other_size:g}", "  strengths:",
    ]
    lines += [
        f"    - {{class: {s.cls}, quality: {s.quality}, word: {s.word}, value: {s.value:.3f}, low: {s.low:.3f}, high: {s.high:.3f}, herbs: {s.herbs}}}"
        for s in fit.strengths
    ]
    lines.append("  other_causes:")
    lines += [f"    - {{quality: {o.quality}, value: {o.value:.4f}, herbs: {o.herbs}}}" for o in fit.others]
    return "\n".join(lines) + "\n"


def fit_as_dict(fit: Fit) -> dict[str, object]:
    """The same for JSON."""
    return {
        "herbs": fit.herbs, "word_weight": fit.size, "other_weight": fit.other_size,
        "strengths": [dict(zip(("class", *Strength._fields[1:]), s, strict=True)) for s in fit.strengths],
        "other_causes": [o._asdict() for o in fit.others],
    }


def learn(ontology: Ontology, progress: Callable[[int, int], None] | None = None) -> Fit:
    """What the documented herbs of an ontology teach, starting from its words alone. Raises :class:`InputError` where there are too few."""
    return Descriptions(ontology, build_network(ontology, words_alone=True)).fit(progress=progress)


def fitted_network(net: Network, fit: Fit) -> Network:
    """A copy of a network with the learnt strengths and other causes in place of the words'."""
    arcs = {cls: dict(found) for cls, found in net.arcs.items()}
    for s in fit.strengths:
        arc = arcs.get(s.cls, {}).get(s.quality)
        if arc is not None and s.herbs >= MIN_SUPPORT:
            arcs[s.cls][s.quality] = arc._replace(strength=min(MAX_STRENGTH, s.value), learnt=Learnt(s.value, s.low, s.high, s.herbs))
    other = dict(net.other_cause)
    other.update({o.quality: o.value for o in fit.others})
    return replace(net, arcs=arcs, other_cause=other)
