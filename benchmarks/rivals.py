"""Statistics that learn from the same herbs and know nothing of constituents: the rivals of the benchmark.

Each is tuned inside the herbs it may see, by the figure that is compared (true labels among the first three), which is
the kindest choice. Needs scikit-learn.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scores import first_three
from sklearn.ensemble import GradientBoostingClassifier
from sklearn.exceptions import ConvergenceWarning
from sklearn.linear_model import LogisticRegression
from sklearn.naive_bayes import BernoulliNB
from sklearn.neighbors import NearestNeighbors

Array = NDArray[np.float64]
#: (features, labels, setting) to a function from features to probabilities.
Learner = Callable[[Array, Array, float], Callable[[Array], Array]]

#: A label with fewer true herbs than this gets its base rate: no table or regression can learn it.
_RARE = 3


def _each(make: Callable[[], object], x: Array, y: Array) -> Callable[[Array], Array]:
    """One classifier a label."""
    models: list[object | float] = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ConvergenceWarning)
        for label in y.T:
            models.append(make().fit(x, label) if _RARE <= label.sum() < len(label) else (label.sum() + 0.5) / (len(label) + 1))  # type: ignore[attr-defined]

    def predict(new: Array) -> Array:
        return np.stack([np.full(len(new), m) if isinstance(m, float) else m.predict_proba(new)[:, 1] for m in models], axis=1)  # type: ignore[attr-defined]

    return predict


def frequency(x: Array, y: Array, setting: float) -> Callable[[Array], Array]:
    """The share of herbs with the label, whatever is tasted."""
    rate = (y.sum(axis=0) + 0.5) / (len(y) + 1)
    return lambda new: np.tile(rate, (len(new), 1))


def neighbours(x: Array, y: Array, setting: float) -> Callable[[Array], Array]:
    """The nearest herbs by cosine, weighted by likeness, with the base rate as one neighbour more."""
    rate = (y.sum(axis=0) + 0.5) / (len(y) + 1)
    found = NearestNeighbors(n_neighbors=min(int(setting), len(x)), metric="cosine").fit(x)

    def predict(new: Array) -> Array:
        distance, number = found.kneighbors(new)
        weight = np.maximum(1 - distance, 0) + 0.05
        return (np.einsum("hk,hkl->hl", weight, y[number]) + rate) / (weight.sum(axis=1, keepdims=True) + 1)  # type: ignore[no-any-return]

    return predict


def bayes(x: Array, y: Array, setting: float) -> Callable[[Array], Array]:
    """Naive Bayes on "documented or not"."""
    learnt = _each(lambda: BernoulliNB(alpha=setting), (x > 0).astype(float), y)
    return lambda new: learnt((new > 0).astype(float))


def regression(x: Array, y: Array, setting: float) -> Callable[[Array], Array]:
    """Logistic regression on documented intensities."""
    return _each(lambda: LogisticRegression(C=setting, max_iter=400), x, y)


def boosted(x: Array, y: Array, setting: float) -> Callable[[Array], Array]:
    """Boosted trees of depth two."""
    return _each(lambda: GradientBoostingClassifier(n_estimators=int(setting), max_depth=2, learning_rate=0.1, subsample=0.7, random_state=0), x, y)


RIVALS: dict[str, tuple[Learner, tuple[float, ...]]] = {
    "frequency": (frequency, (0.0,)),
    "nearest neighbours": (neighbours, (5.0, 10.0, 20.0)),
    "naive Bayes": (bayes, (0.1, 0.3, 1.0)),
    "logistic regression": (regression, (0.3, 1.0, 3.0, 10.0)),
    "boosted trees": (boosted, (20.0, 40.0)),
}


def tune(learner: Learner, settings: tuple[float, ...], x: Array, y: Array, folds: int = 3) -> float:
    """The setting with the most true labels among the first three over left-out thirds of the herbs."""
    if len(settings) == 1:
        return settings[0]
    fold = np.arange(len(x)) % folds
    gains = []
    for setting in settings:
        given = np.zeros(y.shape)
        for f in range(folds):
            given[fold == f] = learner(x[fold != f], y[fold != f], setting)(x[fold == f])
        gains.append(float(np.nanmean(first_three(given, y))))
    return settings[int(np.argmax(gains))]
