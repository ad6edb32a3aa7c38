"""The sums of the bench on a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from kgraph.reasoning.answer import NOTICE
from kgraph.tasting.bench import Result, Sum
from kgraph.writing.screen import Screen

_UNITS = {"degC": "°C", "percent": "%", "minute": "min"}


def _unit(unit: str) -> str:
    return _UNITS.get(unit, unit)


def listing(sums: Mapping[str, Sum], width: int = 88) -> str:
    """Every sum with its inputs."""
    screen = Screen(width)
    for name, one in sums.items():
        screen.item(f"{name}: {one.label}", 0)
        for key, given in one.inputs.items():
            unit = f" in {_unit(given.unit)}" if given.unit else ""
            usual = "" if given.usual is None else f"; {given.usual:g} if left out"
            screen.item(f"{key}{unit}: {given.what}{usual}", 4, 4)
    screen.item("Example: kgraph prepare strength herb=2g water=150ml", 0)
    return screen.text()


def render(found: Sum, values: Mapping[str, float], results: Sequence[Result], *, width: int = 88) -> str:
    """The results first, then what they mean, the formula and what it rests on."""
    screen = Screen(width)
    for result in results:
        screen.item(f"{result.what}: {result.value:.4g} {result.unit}".rstrip(), 0)
        for said in result.said:
            screen.item(said)
    given = ", ".join(f"{key} {value:g} {_unit(found.inputs[key].unit)}".rstrip() for key, value in values.items())
    screen.item(f"{found.label}: {found.formula}, with {given}.", 0)
    screen.item(f"Rests on: {found.rests_on}.", 0)
    screen.item(NOTICE, 0)
    return screen.text()
