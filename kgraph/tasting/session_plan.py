"""The plan of a blind tasting: three-digit codes, serving orders balanced for carry-over, amounts, rests, and solutions that train the tongue."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import NamedTuple

from kgraph.yamlio import InputError, Place

MOST_SAMPLES, MOST_TASTERS = 12, 60
#: g in 100 mL and mL a taster: common practice for a tasting, weaker than a cup to drink.
STRENGTH, SIP_ML = 1.0, 30.0
REST_MINUTES = 3.0


class Solution(NamedTuple):
    """A reference solution: what it shows, substance, grams in a litre, and where that stands."""

    quality: str
    substance: str
    grams_per_litre: float
    source: str


SOLUTIONS = (
    Solution("sweet", "sucrose", 50.0, "US FDA, Laboratory Manual vol. IV, exercise 8.2: 20.0 g in 400 mL"),
    Solution("sour", "citric acid", 0.5, "the same: 0.2 g in 400 mL"),
    Solution("salty", "sodium chloride", 3.5, "the same: 1.4 g in 400 mL"),
    Solution("bitter", "caffeine", 0.5, "the same: 0.2 g in 400 mL"),
    Solution("drying", "alum (aluminium potassium sulphate)", 0.7, "Drobna Z, Wismer WV, Goonewardene LA: the best of the astringent standards tried for black tea (abstract)"),
)
CLEANSERS = (
    "Spit, rinse, wait: crackers between samples helped more than water after astringent wine (Ross, Hinken and Weller 2007, abstract).",
    "No cleanser stops the build-up of astringency altogether: few samples, and time between them (Vidal and others 2016, abstract).",
    "In another study pectin, 1 to 5 g/L, did best and crackers better than water (Colonna, Adams and Noble 2004, abstract).",
)


class Plan(NamedTuple):
    """Codes in the order of the samples, and for each taster the samples (by number) in the order of serving."""

    seed: int
    codes: tuple[str, ...]
    tasters: tuple[str, ...]
    orders: tuple[tuple[int, ...], ...]


def codes_for(count: int, seed: int) -> tuple[str, ...]:
    """So many different three-digit codes, the same for the same seed; none begins with 0 and none has two digits alike, so that none is easily taken for another."""
    rng = random.Random(f"codes {seed}")
    pool = [f"{n}" for n in range(102, 988) if len(set(str(n))) == 3]
    return tuple(rng.sample(pool, count))


def williams(count: int) -> list[tuple[int, ...]]:
    """A Williams design (Williams EJ 1949, Australian Journal of Scientific Research A 2:149-168; cited from memory, the property itself is tested): orders in which each sample follows each other one equally often; `count` orders for an even number, twice as many for an odd one.

    >>> williams(4)
    [(0, 1, 3, 2), (1, 2, 0, 3), (2, 3, 1, 0), (3, 0, 2, 1)]
    """
    first = [0]
    low, high = 1, count - 1
    while len(first) < count:
        first.append(low)
        low += 1
        if len(first) < count:
            first.append(high)
            high -= 1
    square = [tuple((k + shift) % count for k in first) for shift in range(count)]
    return square if count % 2 == 0 else [*square, *(tuple(reversed(row)) for row in square)]


def plan_for(samples: int, tasters: Sequence[str], seed: int) -> Plan:
    """Codes and serving orders.

    Raises:
        InputError: no sample, too many, a taster twice.
    """
    if not 1 <= samples <= MOST_SAMPLES:
        raise InputError.single("samples", f"{samples} samples; 1 to {MOST_SAMPLES} can be tasted in one session.", "Fewer is better: the tongue tires.", Place("sheet"))
    if len(tasters) > MOST_TASTERS:
        raise InputError.single("tasters", f"{len(tasters)} tasters, at most {MOST_TASTERS}.", "Split the group.", Place("--tasters"))
    twice = next((t for i, t in enumerate(tasters) if t in tasters[:i]), None)
    if twice is not None:
        raise InputError.single("taster-twice", f"the taster `{twice}` stands twice.", "Give each a name of their own.", Place("--tasters"))
    rng = random.Random(f"orders {seed}")
    design = williams(samples) if samples > 1 else [(0,)]
    names = list(range(samples))
    rng.shuffle(names)  # which sample plays which part in the design
    rng.shuffle(design)
    orders = tuple(tuple(names[k] for k in design[i % len(design)]) for i in range(len(tasters)))
    return Plan(seed, codes_for(samples, seed), tuple(tasters), orders)
