"""The scores of the benchmark against scikit-learn, a general-purpose library, and against cases worked by hand."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))

import scores

metrics = pytest.importorskip("sklearn.metrics")


@pytest.fixture
def drawn() -> tuple[np.ndarray, np.ndarray]:
    """Probabilities with ties, and outcomes that follow odds 0.7 times as far from even, and a little above."""
    rng = np.random.default_rng(5)
    given = np.round(rng.beta(0.6, 2.0, (300, 7)), 2).clip(0.01, 0.99)
    odds = 0.7 * np.log(given / (1 - given)) + 0.3
    return given, (rng.random(given.shape) < 1 / (1 + np.exp(-odds))).astype(float)


def test_area(drawn: tuple[np.ndarray, np.ndarray]) -> None:
    given, truth = drawn
    for column in range(given.shape[1]):
        assert scores.area(given[:, column], truth[:, column]) == pytest.approx(metrics.roc_auc_score(truth[:, column], given[:, column]))


def test_brier(drawn: tuple[np.ndarray, np.ndarray]) -> None:
    given, truth = drawn
    assert scores.squared(given, truth).sum() / given.size == pytest.approx(metrics.brier_score_loss(truth.ravel(), given.ravel()))


def test_calibration(drawn: tuple[np.ndarray, np.ndarray]) -> None:
    """Slope and intercept of an unpenalised logistic regression; and they are near what the outcomes were drawn with."""
    from sklearn.linear_model import LogisticRegression

    given, truth = drawn
    slope, intercept = scores.calibration(given, truth)
    odds = np.log(given / (1 - given)).reshape(-1, 1)
    judge = LogisticRegression(C=1e9, max_iter=1000).fit(odds, truth.ravel())
    assert (slope, intercept) == (pytest.approx(judge.coef_[0, 0], abs=2e-3), pytest.approx(judge.intercept_[0], abs=2e-3))
    assert (slope, intercept) == (pytest.approx(0.7, abs=0.12), pytest.approx(0.3, abs=0.15))


def test_first_three_and_first_right() -> None:
    """By hand: two of three true labels among the first three; a herb without a true label is passed over."""
    given = np.array([[0.9, 0.8, 0.1, 0.7, 0.2], [0.5, 0.4, 0.3, 0.2, 0.1]])
    truth = np.array([[0, 1, 1, 1, 0], [0, 0, 0, 0, 0]], dtype=float)
    assert scores.first_three(given, truth)[0] == pytest.approx(2 / 3) and np.isnan(scores.first_three(given, truth)[1])
    assert scores.first_right(given, truth)[0] == 0 and np.isnan(scores.first_right(given, truth)[1])


def test_bootstrap() -> None:
    """The interval of a mean of 400 paired differences is that of the normal law; equal models differ by nothing."""
    rng = np.random.default_rng(1)
    a, b = rng.normal(0.6, 1, 400), rng.normal(0.4, 1, 400)
    mean, low, high = scores.difference(a, b)
    error = (a - b).std() / 20
    assert mean == pytest.approx((a - b).mean()) and (low, high) == (pytest.approx(mean - 1.96 * error, abs=0.02), pytest.approx(mean + 1.96 * error, abs=0.02))
    assert scores.difference(a, a) == (0.0, 0.0, 0.0)


def test_diagram(drawn: tuple[np.ndarray, np.ndarray]) -> None:
    """The bins hold every pair once."""
    given, truth = drawn
    rows = scores.diagram(given, truth)
    assert sum(n for *_, n in rows) == given.size and sum(p * n for p, _, n in rows) == pytest.approx(given.sum()) and sum(s * n for _, s, n in rows) == pytest.approx(truth.sum())
