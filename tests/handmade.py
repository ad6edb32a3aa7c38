"""A small world with round numbers, from which every figure can be worked out on paper."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from pathlib import Path

import foreign

import kgraph
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.inference import Inference
from kgraph.tasting import Finding, Outcome, Preparation, Record, Sample, Taster

SAID = {"sources": [{"id": "tome", "where": "leaf 9", "read": "2026-01-02"}]}
WHO = {"common_practice": True}


def spec(**changes: object) -> foreign.Spec:
    """Classes zork and wug (family fam-one), plon and dax; percepts blim and gorp; group zemm of frim and sneb."""
    fields: dict = {
        "words": {"almost-always": 0.9, "often": 0.7, "sometimes": 0.4, "rarely": 0.1, "almost-never": 0.03},
        "effects": {"much-less": 0.2, "less": 0.5, "slightly-less": 0.8, "more": 1.5},
        "reports": {"strong": (0.4, 0.01), "moderate": (0.3, 0.02), "weak": (0.2, 0.07), "absent": (0.1, 0.9), "unnoticed": (0.45, 0.9)},
        "rho": 0.5, "silent_rho": 0.25, "default_other": 0.05, "other": {},
        "families": {"fam-one": ["zork", "wug"]}, "alone": ["plon", "dax"],
        "group": "zemm", "kinds": ["frim", "sneb"], "percepts": ["blim", "gorp"],
        "evokes": {("zork", "blim"): "almost-always", ("wug", "blim"): "sometimes", ("wug", "gorp"): "often",
                   ("plon", "frim"): "almost-always", ("plon", "gorp"): "rarely", ("dax", "sneb"): "often"},
        "acts": {}, "warns": {}, "priors": {"zork": 2, "wug": 3, "plon": 4, "dax": 1}, "herbs": 10,
    }
    return foreign.Spec(**(fields | changes))


def row(**fields: object) -> dict:
    """One sourced statement."""
    return {**fields, **SAID}


def build(folder: Path, extra: dict[str, list[dict]] | None = None, plants: dict[str, dict] | None = None, **changes: object) -> kgraph.session.Knowledge:
    """The world, with sections and herbs added to it, ready to be asked."""
    foreign.write(spec(**changes), folder, extra=extra)
    for id, fields in (plants or {}).items():
        foreign.herb_file(folder, id, **fields)
    return kgraph.load(folder, cache=False)


def described(**intensities: str) -> list[dict]:
    """Rows of a herb's `described_as`; an empty word is an absence."""
    return [row(quality=q.replace("_", "-"), **({"intensity": w} if w else {})) for q, w in intensities.items()]


def record(*findings: tuple[str, int], herb: str = "", states: tuple[str, ...] = (), looked_for: tuple[str, ...] = (),
           tests: tuple[tuple[str, bool], ...] = (), **preparation: object) -> Record:
    """A record of one taster."""
    return Record(
        tuple(Finding(q, s) for q, s in findings), sample=Sample("", herb), preparation=Preparation(**preparation),  # type: ignore[arg-type]
        tasters={"taster": Taster("taster", states)}, looked_for={"taster": looked_for} if looked_for else {},
        tests=tuple(Outcome(t, seen) for t, seen in tests),
    )


def inference(known: kgraph.session.Knowledge, *cells: Cell) -> Inference:
    """Exact answers for these cells, no condition holding."""
    return Inference(known.network, Circumstances(), cells)


def worlds(world: foreign.Spec, percepts: list[str]) -> Iterator[tuple[float, frozenset[str], frozenset[str]]]:
    """(probability, classes present, percepts there) for every state of the classes and these percepts, nothing reported."""
    for state in itertools.product((0, 1), repeat=len(world.classes)):
        present = frozenset(c for c, on in zip(world.classes, state, strict=True) if on)
        weight = math.prod(world.prior(c) if c in present else 1 - world.prior(c) for c in world.classes)
        quiet = {p: (1 - world.leak(p, False)) * math.prod(1 - world.arc(c, p, False) for c in present) for p in percepts}
        for there in itertools.product((0, 1), repeat=len(percepts)):
            named = frozenset(p for p, on in zip(percepts, there, strict=True) if on)
            yield weight * math.prod(1 - quiet[p] if p in named else quiet[p] for p in percepts), present, named
