"""Agreement between tasters: Fleiss' kappa, Krippendorff's alpha, Kendall's W, and the triangle test.

Where a coefficient is not defined (everybody said the same, nothing varies) the value is None and the reason is told.
Intervals: 95 %, percentile bootstrap over qualities (Efron 1979), fixed seed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BOOTSTRAP, SEED = 500, 1
#: Words for alpha: from 0.800 on reliable, from 0.667 on tentatively (Krippendorff 2004, Content Analysis, chapter 11; from memory).
RELIABLE, TENTATIVE = 0.800, 0.667


class Coefficient(NamedTuple):
    """A coefficient with its interval; None where it is not defined, and then why."""

    name: str
    value: float | None
    low: float | None
    high: float | None
    reason: str = ""


def fleiss_kappa(counts: Array) -> float | None:
    """Fleiss' kappa (Psychological Bulletin 76:378-382, 1971).

    Args:
        counts: units by categories, how many raters chose each; every unit rated by the same number, at least two.

    >>> round(fleiss_kappa(np.array([[2.0, 0], [1, 1], [0, 2]])) or 0, 3)
    0.333
    """
    raters = counts.sum(axis=1)
    if not len(counts) or (raters != raters[0]).any() or raters[0] < 2:
        return None
    n = raters[0]
    observed = ((counts**2).sum(axis=1) - n) / (n * (n - 1))
    expected = float(((counts.sum(axis=0) / counts.sum()) ** 2).sum())
    return None if expected >= 1 - 1e-12 else float((observed.mean() - expected) / (1 - expected))


def krippendorff_alpha(ratings: Array, level: Literal["nominal", "ordinal", "interval", "ratio"] = "ordinal") -> float | None:
    """Krippendorff's alpha by the library of that name.

    Args:
        ratings: raters by units, not rated as nan.
        level: nominal, ordinal, interval or ratio.
    """
    import krippendorff

    pairable = ratings[:, (~np.isnan(ratings)).sum(axis=0) >= 2]
    if pairable.size == 0 or len(np.unique(pairable[~np.isnan(pairable)])) < 2:
        return None
    return float(krippendorff.alpha(reliability_data=pairable, level_of_measurement=level))


def kendall_w(ratings: Array) -> float | None:
    """Kendall's W with mean ranks and correction for ties (Siegel 1956, chapter 9).

    Args:
        ratings: raters by units, complete; at least two raters and two units.
    """
    m, n = ratings.shape
    if m < 2 or n < 2 or np.isnan(ratings).any():
        return None
    ranks = np.empty_like(ratings)
    ties = 0.0
    for i, row in enumerate(ratings):
        _, inverse, counts = np.unique(row, return_inverse=True, return_counts=True)
        last = np.cumsum(counts)
        ranks[i] = (last - (counts - 1) / 2)[inverse]
        ties += float((counts**3 - counts).sum())
    total = ranks.sum(axis=0)
    s = float(((total - total.mean()) ** 2).sum())
    below = m * m * (n**3 - n) - m * ties
    return None if below <= 0 else 12 * s / below


def with_interval(name: str, ratings: Array, work: Callable[[Array], float | None], undefined: str) -> Coefficient:
    """A coefficient of ratings (raters by units) with its bootstrap interval over the units."""
    value = work(ratings)
    if value is None:
        return Coefficient(name, None, None, None, undefined)
    rng = np.random.default_rng(SEED)
    drawn = [work(ratings[:, rng.integers(0, ratings.shape[1], ratings.shape[1])]) for _ in range(BOOTSTRAP)]
    # a sample in which nothing varies is one in which everybody agrees
    found = np.array([1.0 if v is None else v for v in drawn])
    low, high = np.percentile(found, (2.5, 97.5))
    return Coefficient(name, value, float(low), float(high))


class Triangle(NamedTuple):
    """A triangle test: P(at least so many right by guessing), and the least number that would be rarer than 1 in 20 (None where no result can be)."""

    correct: int
    total: int
    p_value: float
    needed: int | None


def triangle(correct: int, total: int) -> Triangle:
    """The triangle test by the binomial law with 1/3 (ISO 4120).

    >>> triangle(15, 30).needed, round(triangle(15, 30).p_value, 4)
    (15, 0.0435)
    """

    def tail(least: int) -> float:
        ways: int = sum(math.comb(total, k) * 2 ** (total - k) for k in range(least, total + 1))
        return ways / int(3**total)

    needed = next((c for c in range(total + 1) if tail(c) <= 0.05), None)
    return Triangle(correct, total, tail(correct), needed)
