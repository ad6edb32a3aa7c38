"""Published worked examples of probability, with the book's own tables."""

from __future__ import annotations

import math
from typing import ClassVar

import pytest

from kgraph.reasoning.elimination import Elimination
from kgraph.reasoning.plan import Bit, Node
from kgraph.reasoning.weights import decibans


class TestFever:
    """Noisy-OR for fever.

    Source: Russell S, Norvig P, Artificial Intelligence: A Modern Approach, section on efficient representation of
    conditional distributions: inhibition probabilities cold 0.6, flu 0.2, malaria 0.1; no leak.
    """

    INHIBIT = (("cold", 0.6), ("flu", 0.2), ("malaria", 0.1))

    @pytest.mark.parametrize(
        ("state", "fever"),
        [
            ((0, 0, 0), 0.0), ((0, 0, 1), 0.9), ((0, 1, 0), 0.8), ((0, 1, 1), 0.98),
            ((1, 0, 0), 0.4), ((1, 0, 1), 0.94), ((1, 1, 0), 0.88), ((1, 1, 1), 0.988),
        ],
    )
    def test_the_printed_table(self, state: tuple[int, int, int], fever: float) -> None:
        """Each row of the printed table: P(fever | the diseases that are there)."""
        nodes = [Node(float(on), ((0, 1 - q),)) for on, (_, q) in zip(state, self.INHIBIT, strict=True)]
        total, _, _ = Elimination(nodes, [Bit(1.0, 0.0, 0.0)]).marginals()
        assert total == pytest.approx(fever, abs=1e-12)


class TestBurglary:
    """The burglary network, alarm as the percept and the two callers as reports.

    Source: Pearl's example as printed in Russell & Norvig (Artificial Intelligence: A Modern Approach, figure of the
    burglary network): P(B) = 0.001, P(E) = 0.002; P(A | B, E) = 0.95, 0.94, 0.29, 0.001; P(John | A) = 0.90, 0.05;
    P(Mary | A) = 0.70, 0.01; printed result P(B | John, Mary) = 0.284.

    The book's alarm table is no noisy-OR (0.95 against 1 - 0.999 * 0.06 * 0.71 = 0.957), so the check states the table
    as a mixture: with both causes the alarm's own weight is corrected outside the engine.
    """

    ALARM: ClassVar = {(1, 1): 0.95, (1, 0): 0.94, (0, 1): 0.29, (0, 0): 0.001}

    def weight(self, b: int, e: int) -> float:
        """P(both call | b, e) from the engine: the alarm as a percept with the book's own probability."""
        total, _, _ = Elimination([Node(float(1), ((0, self.ALARM[(b, e)]),))], [Bit(0.90 * 0.70, 0.05 * 0.01, 0.0)]).marginals()
        return total

    def test_both_call(self) -> None:
        """P(burglary | John and Mary call) = 0.28417."""
        prior = {0: {1: 0.001, 0: 0.999}, 1: {1: 0.002, 0: 0.998}}
        joint = {(b, e): prior[0][b] * prior[1][e] * self.weight(b, e) for b in (0, 1) for e in (0, 1)}
        assert (joint[(1, 0)] + joint[(1, 1)]) / sum(joint.values()) == pytest.approx(0.28417, abs=5e-6)
        assert (joint[(0, 1)] + joint[(1, 1)]) / sum(joint.values()) == pytest.approx(0.176067, abs=5e-7)

    def test_as_a_noisy_or_it_stays_within_a_thousandth(self) -> None:
        """With the table read as a noisy-OR (leak 0.001) the whole network runs in the engine and explains away as the book says."""
        leak = 0.001
        strength = {"burglary": 1 - 0.06 / (1 - leak), "earthquake": 1 - 0.71 / (1 - leak)}
        nodes = [Node(0.001, ((0, strength["burglary"]),)), Node(0.002, ((0, strength["earthquake"]),))]
        total, present, _ = Elimination(nodes, [Bit(0.63, 0.0005, leak)]).marginals()
        assert present[0] / total == pytest.approx(0.28417, abs=1e-3)
        alarm, given, _ = Elimination(nodes, [Bit(1.0, 0.0, leak)]).marginals()
        assert given[0] / alarm == pytest.approx(0.373551, abs=1e-3)
        both = Elimination([nodes[0], Node(1.0, nodes[1].arcs)], [Bit(1.0, 0.0, leak)]).marginals()
        assert both[1][0] / both[0] == pytest.approx(0.003268, abs=1e-4), "the earthquake explains the alarm away"


class TestWeightOfEvidence:
    """Decibans. Source: Good IJ, Probability and the Weighing of Evidence (1950); the coin example after Good."""

    @pytest.mark.parametrize(("factor", "db"), [(2, 3.0103), (5, 6.9897), (10, 10.0), (100, 20.0), (0.5, -3.0103)])
    def test_the_table(self, factor: float, db: float) -> None:
        """A factor of two in the odds is about three decibans, of ten ten."""
        odds = 0.25 / 0.75 * factor
        assert decibans(0.25, odds / (1 + odds)) == pytest.approx(db, abs=1e-3)

    def test_a_two_headed_coin(self) -> None:
        """Odds of 1 to 10 000 and twenty heads in a row: 60.2 decibans of evidence, odds of 104.86 after it."""
        prior = 1 / 10_001
        odds = 2**20 / 10_000
        assert decibans(prior, odds / (1 + odds)) == pytest.approx(60.206, abs=1e-3)
        assert odds == pytest.approx(104.86, abs=5e-3)
        assert 10 * math.log10(odds) == pytest.approx(20.206, abs=1e-3)


class TestTwoLevelExample:
    """A made-up two-level network of the kind of Heckerman (1989), worked by full enumeration; numbers carried here.

    Two diseases (0.1, 0.2), two findings; links f1: 0.7, 0.4; f2: 0.5, 0.6; no leak.
    """

    NODES = (Node(0.1, ((0, 0.7), (1, 0.5))), Node(0.2, ((0, 0.4), (1, 0.6))))

    def posterior(self, f1: tuple[float, float], f2: tuple[float, float]) -> tuple[float, list[float]]:
        total, present, _ = Elimination(self.NODES, [Bit(*f1, 0.0), Bit(*f2, 0.0)]).marginals()
        return total, [float(p / total) for p in present]

    def test_both_findings(self) -> None:
        """P(f1, f2) = 0.08432; P(d1 | both) = 0.487666, P(d2 | both) = 0.667932."""
        total, posterior = self.posterior((1, 0), (1, 0))
        assert total == pytest.approx(0.08432, abs=1e-12)
        assert posterior == pytest.approx([0.487666, 0.667932], abs=1e-6)

    def test_one_there_one_not(self) -> None:
        """P(d1 | f1, not f2) = 0.520639, P(d2 | f1, not f2) = 0.533955."""
        assert self.posterior((1, 0), (0, 1))[1] == pytest.approx([0.520639, 0.533955], abs=1e-6)


class TestEffectiveNumber:
    """The effective number of n correlated observations, n / (1 + (n - 1) rho). Source: Kish L, Survey Sampling (1965), design effect."""

    @pytest.mark.parametrize(("n", "rho", "effective"), [(1, 0.3, 1.0), (4, 0.0, 4.0), (4, 1.0, 1.0), (5, 0.25, 2.5), (10, 0.1, 10 / 1.9)])
    def test_pooling(self, n: int, rho: float, effective: float) -> None:
        """n tasters who agree weigh as much as the effective number of independent ones."""
        import foreign

        spec = foreign.random_spec(1)
        spec.rho, spec.silent_rho = rho, 0.0
        there, not_there = spec.report("blim", "strong")
        pooled = foreign.pooled(spec, foreign.Tasting([{"blim": "strong"}] * n))[0]["blim"]
        assert math.log(pooled[0]) == pytest.approx(effective * math.log(there / not_there), rel=1e-12)

    @pytest.mark.parametrize(("n", "rho", "effective"), [(1, 0.3, 1.0), (4, 0.0, 4.0), (4, 1.0, 1.0), (5, 0.25, 2.5)])
    def test_the_programs_own_cells(self, n: int, rho: float, effective: float, tmp_path) -> None:
        """The program pools a record of n tasters by the same rule."""
        import foreign

        from kgraph.claims import load
        from kgraph.reasoning import build_network
        from kgraph.reasoning.circumstances import circumstances_of
        from kgraph.reasoning.evidence import cells_of
        from kgraph.tasting import Finding, Record, Taster

        spec = foreign.random_spec(1)
        spec.rho = rho
        ontology = load([foreign.write(spec, tmp_path / "w")], cache=False)
        tasters = {f"T{i}": Taster(f"T{i}") for i in range(n)}
        record = Record(tuple(Finding("blim", 3, t) for t in tasters), tasters=tasters)
        (cell,) = cells_of(ontology, build_network(ontology), record, circumstances_of(ontology, record))
        there, not_there = spec.report("blim", "strong")
        assert cell.log_ratio == pytest.approx(effective * math.log(there / not_there), rel=1e-9)
