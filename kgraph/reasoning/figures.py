"""The figures that the sums lean on: as they stand, or many times over, each moved by the doubt that is on it.

A figure of chance moves on the log odds, the worth of a report on its logarithm: the value becomes
expit(logit(p) + doubt * z) or value * exp(doubt * z), so that no doubt leaves it as it stands and nothing leaves (0, 1).
Where the doubt comes from: for a strength word the middle half of what people mean by it; for a strength learnt from
herbs its interval; for how common a class is the number of herbs counted; for the rest the constants `doubt-...`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from kgraph.claims import Ontology
from kgraph.claims.words import INTENSITIES, LEVELS
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.network import MAX_STRENGTH, TEST, Network

Array = NDArray[np.float64]
#: A figure's name: what it is, and of what.
Key = tuple[str, ...]
#: Distance of the quartiles, and of the 5th and 95th percentile, from the middle of a normal law, in standard deviations.
QUARTILE, EDGE = 0.6745, 1.6449
_TINY = 1e-6


def logit(p: float) -> float:
    """Log odds of a chance held off 0 and 1."""
    p = min(1 - _TINY, max(_TINY, p))
    return math.log(p / (1 - p))


class Figures:
    """R rows of figures.

    Args:
        ontology, net: what is known, and the network built from it.
        rows: how many rows.
        shift: a figure's name to its moves in standard deviations, shape (R,); None leaves every figure as it stands.
    """

    def __init__(self, ontology: Ontology, net: Network, rows: int = 1, shift: Callable[[Key], Array] | None = None) -> None:
        self.ontology, self.net, self.rows = ontology, net, rows
        self._shift = shift
        self._levels: dict[bool, Array] = {}
        self._words: dict[Key, str] = {}

    def whole(self, value: float) -> Array:
        """One number in every row, shape (R, 1)."""
        return np.full((self.rows, 1), value)

    def _doubt(self, name: str) -> float:
        return self.ontology.tables.constants.get(f"doubt-{name}", 0.0)

    def _chance(self, p: float, moves: Sequence[tuple[Key, float]]) -> Array:
        if self._shift is None or p <= 0 or p >= 1 or not any(doubt for _, doubt in moves):
            return self.whole(p)
        odds = np.full(self.rows, logit(p))
        for key, doubt in moves:
            if doubt:
                odds = odds + doubt * self._shift(key)
        # where nothing moved the figure stays itself, to the last digit
        moved = np.where(odds == logit(p), p, 1 / (1 + np.exp(-odds)))
        return moved[:, None]

    def _factor(self, key: Key, doubt: float) -> Array:
        return self.whole(1.0) if self._shift is None or not doubt else np.exp(doubt * self._shift(key))[:, None]

    # -- the network -------------------------------------------------------------------------------------------

    def doubt_of_word(self, word: str) -> float:
        """Standard deviation on the log odds of what people mean by a strength word, from the middle half of the answers."""
        low, high = self.ontology.tables.middle_halves.get(word, (0.5, 0.5))
        return (logit(high) - logit(low)) / (2 * QUARTILE)

    def word_of(self, class_id: str, percept: str) -> str:
        """The strength word behind an arc; "" where documented herbs say more than the word."""
        key = (class_id, percept)
        if key not in self._words:
            arc = self.net.arcs[class_id][percept]
            self._words[key] = "" if arc.learnt else self.ontology.claim(arc.claims[0]).word
        return self._words[key]

    def strength(self, class_id: str, percept: str) -> Array:
        """The strength of an arc at major level, conditions aside, shape (R, 1)."""
        arc = self.net.arcs[class_id][percept]
        own = ("arc", class_id, percept)
        if self._shift is None:
            return self.whole(arc.strength)
        if arc.learnt:
            return np.minimum(MAX_STRENGTH, self._chance(arc.strength, [(own, (logit(arc.learnt.high) - logit(arc.learnt.low)) / (2 * EDGE))]))
        word = self.word_of(class_id, percept)
        return np.minimum(MAX_STRENGTH, self._chance(arc.strength, [(("word", word), self.doubt_of_word(word)), (own, self._doubt("arc"))]))

    def arc(self, circumstances: Circumstances, class_id: str, percept: str, *, minor: bool = False, plain: bool = False) -> Array:
        """The strength of an arc at a level, with what the conditions draw out and dull, shape (R, 1)."""
        factor = circumstances.drawn.get(class_id, 1.0) * circumstances.dulled.get(percept, 1.0)
        strength = self.strength(class_id, percept) * factor
        if minor:
            faint = self.net.faint[plain]
            strength = strength * (self._chance(faint, [(("level", "minor"), self._doubt("level"))]) if 0 < faint < 1 else faint)
        elif plain:
            strength = strength * self.net.plain_major
        return np.minimum(MAX_STRENGTH, strength)

    def other_cause(self, circumstances: Circumstances, percept: str, *, plain: bool = False) -> Array:
        """P(percept there, or plain, with no class evoking it), shape (R, 1)."""
        share = self._chance(self.net.other_cause.get(percept, 0.0), [(("other", percept), self._doubt("other"))])
        nothing = 1 - share * (self.net.plain_other if plain else 1.0)
        for effect in circumstances.faked.get(percept, ()):
            nothing = nothing * (1 - effect.value)
        return 1 - nothing

    def prior(self, class_id: str) -> Array:
        """P(class present at either level), shape (R, 1)."""
        p = self.net.prior[class_id]
        herbs = self.ontology.tables.prior_herbs or len(self.ontology.herbs)
        count = p * (herbs + 1)
        return self._chance(p, [(("prior", class_id), math.sqrt(1 / count + 1 / max(0.5, herbs + 1 - count)))])

    def support(self, action: str, class_id: str) -> Array:
        """How likely a class makes a herb belong with an action, shape (R, 1)."""
        arc = self.net.acts[action][class_id]
        word = self.ontology.claim(arc.claims[0]).word
        return self._chance(arc.strength, [(("word", word), self.doubt_of_word(word)), (("acts", class_id, action), self._doubt("arc"))])

    # -- reports and herbs -------------------------------------------------------------------------------------

    def reports(self, cell: Cell) -> tuple[Array, Array]:
        """Likelihood of all reports of a cell where the percept is there, and where it is not; the larger is 1; each (R, 1)."""
        if self._shift is None or cell.percept.startswith(TEST) or not cell.reports:
            return self.whole(cell.there), self.whole(cell.not_there)
        tables = self.ontology.tables
        ratio = self.whole(0.0)
        whole = 0.0
        for state, weight in cell.reports:
            there, not_there = tables.report("taster", state, cell.percept)
            part = weight * math.log(there / not_there)
            whole += part
            ratio = ratio + part * self._factor(("report", state), self._doubt("report"))
        if cell.tasters > 1:
            rho = tables.constants["taster-correlation"]
            alike = self._chance(rho, [(("tasters",), self._doubt("tasters"))])
            ratio = ratio * (1 + (cell.tasters - 1) * rho) / (1 + (cell.tasters - 1) * alike)
        if whole:  # a taster's own fakes move the ratio outside these sums
            ratio = ratio * (cell.log_ratio / whole)
        return np.exp(np.minimum(0.0, ratio)), np.exp(np.minimum(0.0, -ratio))

    def documented(self, cell: Cell) -> Sequence[Array]:
        """Natural log of P(reports | documented intensity) for absent, weak, moderate and strong, in the cell's scale; empty where no table speaks of it."""
        table = self.ontology.tables.documented
        if ("absent", cell.state) not in table:
            return ()
        found = []
        for intensity in INTENSITIES:
            # several tasters, and silence, weigh in this table as they do in the reports
            ratio = sum(weight * math.log(table[(intensity, state)] / table[("absent", state)]) for state, weight in cell.reports or ((cell.state, 1.0),))
            found.append(ratio * self._factor(("documented", intensity), self._doubt("documented")) + math.log(cell.not_there))
        return found

    def levels(self, *, plain: bool) -> Array:
        """Factors of the levels on arcs into what is there, or into what is plain; shape (R, levels), in the order of LEVELS."""
        if plain not in self._levels:
            tables = self.ontology.tables
            columns = []
            for word in LEVELS:
                factor = tables.level(word, plain=plain)
                columns.append(self._chance(factor, [(("level", word), self._doubt("level"))]) if word != "major" else self.whole(factor))
            self._levels[plain] = np.concatenate(columns, axis=1)
        return self._levels[plain]

    def none_prior(self) -> Array:
        """The prior of "none of these herbs", shape (R, 1)."""
        return self._chance(self.ontology.tables.constants.get("none-of-these-prior", 0.25), [(("none",), self._doubt("none"))])
