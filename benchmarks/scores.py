"""Scores of predicted probabilities, all by plain formulae over two arrays: herbs by labels.

`given` holds probabilities, `truth` zeros and ones, both of shape (H, L). Herbs without any true label are passed over
where a rank is asked for.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
FIRST = 3


def first_three(given: Array, truth: Array) -> Array:
    """For each herb the share of its true labels among its three likeliest; NaN where it has none. Shape (H,)."""
    top = np.argsort(-given, axis=1, kind="stable")[:, :FIRST]
    hit = np.take_along_axis(truth, top, axis=1).sum(axis=1)
    return np.where(truth.sum(axis=1) > 0, hit / np.maximum(truth.sum(axis=1), 1), np.nan)


def first_right(given: Array, truth: Array) -> Array:
    """For each herb 1 where its likeliest label is true. Shape (H,)."""
    top = np.argmax(given, axis=1)
    return np.where(truth.sum(axis=1) > 0, truth[np.arange(len(truth)), top], np.nan)


def area(scores: Array, truth: Array) -> float:
    """Area under the receiver operating curve: how often a true one is ranked above a false one (Hanley and McNeil 1982)."""
    yes, no = scores[truth == 1], scores[truth == 0]
    if not len(yes) or not len(no):
        return float("nan")
    return float((yes[:, None] > no).mean() + 0.5 * (yes[:, None] == no).mean())


def areas(given: Array, truth: Array) -> Array:
    """The area among the labels of each herb. Shape (H,)."""
    return np.array([area(g, t) for g, t in zip(given, truth, strict=True)])


def squared(given: Array, truth: Array) -> Array:
    """Brier's squared errors, added up for each herb. Shape (H,)."""
    total: Array = ((given - truth) ** 2).sum(axis=1)
    return total


def calibration(given: Array, truth: Array) -> tuple[float, float]:
    """(slope, intercept) of a logistic regression of the outcome on the log odds given (Cox 1958): 1 and 0 are honest."""
    p = np.clip(given.ravel(), 1e-6, 1 - 1e-6)
    x, y = np.log(p / (1 - p)), truth.ravel()
    a, b = 0.0, 1.0
    for _ in range(60):
        z = 1 / (1 + np.exp(-(a + b * x)))
        w = np.maximum(z * (1 - z), 1e-12)
        gradient = np.array([(y - z).sum(), ((y - z) * x).sum()])
        hessian = np.array([[w.sum(), (w * x).sum()], [(w * x).sum(), (w * x * x).sum()]]) + 1e-9 * np.eye(2)
        step = np.linalg.solve(hessian, gradient)
        a, b = a + float(np.clip(step[0], -2, 2)), b + float(np.clip(step[1], -2, 2))
        if np.abs(step).max() < 1e-9:
            break
    return b, a


def diagram(given: Array, truth: Array, bins: int = 10) -> list[tuple[float, float, int]]:
    """(mean probability given, share that was true, number) in bins of equal width, empty ones left out."""
    p, y = given.ravel(), truth.ravel()
    which = np.minimum((p * bins).astype(int), bins - 1)
    return [(float(p[which == b].mean()), float(y[which == b].mean()), int((which == b).sum())) for b in range(bins) if (which == b).any()]


class Score(NamedTuple):
    """The figures of one model on one question; skill is 1 - Brier / Brier of the base rates."""

    recall: float
    first: float
    area: float
    skill: float
    slope: float
    intercept: float


def score(given: Array, truth: Array, base: Array) -> Score:
    slope, intercept = calibration(given, truth)
    return Score(
        float(np.nanmean(first_three(given, truth))), float(np.nanmean(first_right(given, truth))), float(np.nanmean(areas(given, truth))),
        1 - float(squared(given, truth).sum() / squared(base, truth).sum()), slope, intercept,
    )


def difference(ours: Array, theirs: Array, draws: int = 4000, seed: int = 1) -> tuple[float, float, float]:
    """(difference of means, 2.5th, 97.5th percentile) by a paired bootstrap over herbs (Efron 1979); NaN herbs are passed over."""
    keep = ~np.isnan(ours) & ~np.isnan(theirs)
    gap = (ours - theirs)[keep]
    picked = np.random.default_rng(seed).integers(0, len(gap), (draws, len(gap)))
    low, high = np.percentile(gap[picked].mean(axis=1), [2.5, 97.5])
    return float(gap.mean()), float(low), float(high)


def skill_difference(ours: Array, theirs: Array, truth: Array, base: Array, draws: int = 4000, seed: int = 1) -> tuple[float, float, float]:
    """The same for the difference in Brier skill."""
    mine, other, floor = squared(ours, truth), squared(theirs, truth), squared(base, truth)
    picked = np.random.default_rng(seed).integers(0, len(truth), (draws, len(truth)))
    gaps = (other[picked].sum(axis=1) - mine[picked].sum(axis=1)) / floor[picked].sum(axis=1)
    low, high = np.percentile(gaps, [2.5, 97.5])
    return float((other.sum() - mine.sum()) / floor.sum()), float(low), float(high)
