"""Numbers with units, as people write them at the bench: `2 g`, `150 ml`, `15 °C`, `45 %`. The units themselves come from pint."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from kgraph.yamlio import InputError, Place, shorten

if TYPE_CHECKING:
    import pint

_WRITTEN = re.compile(r"\s*([-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*\Z", re.S)
_UNIT = re.compile(r"[A-Za-zµμ°%][A-Za-zµμ°%/* .^0-9-]{0,30}\Z")
_SPELT = {"°c": "degC", "c": "degC", "°f": "degF", "f": "degF", "°": "degC", "%": "percent", "ml": "mL", "l": "L", "min": "minute", "mins": "minute", "h": "hour", "kg": "kg", "g": "g", "mg": "mg"}


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def number_in(text: str, unit: str, name: str) -> float:
    """A written quantity as a number in `unit`; without a unit of its own it is taken to be in it. A comma may be the decimal sign.

    Raises:
        InputError: no number, an unknown unit, or one of another dimension.

    >>> number_in("0,25 l", "mL", "water"), round(number_in("59 °F", "degC", "room"), 3), number_in("45 %", "percent", "ethanol")
    (250.0, 15.0, 45.0)
    """
    place = Place(name)
    match = _WRITTEN.match(text)
    if match is None or len(text) > 60:
        raise InputError.single("no-number", f"`{shorten(text)}` is no number with a unit.", f"Write it as `2 {_short(unit)}`.", place)
    value, written = float(match[1].replace(",", ".")), match[2]
    if not math.isfinite(value):
        raise InputError.single("no-number", f"`{shorten(text)}` is too large.", "Check the figure.", place)
    if not written:
        return value
    if unit == "":
        raise InputError.single("no-unit", f"`{shorten(text)}` has a unit, and this is a plain number.", "Leave the unit out.", place)
    if not _UNIT.match(written):
        raise InputError.single("unknown-unit", f"`{shorten(written)}` is no unit.", f"Give it in {_short(unit)}.", place)
    import pint

    registry = _registry()
    try:
        return float(registry.Quantity(value, registry.parse_units(_SPELT.get(written.lower(), written))).to(unit).magnitude)
    except pint.DimensionalityError:
        raise InputError.single("other-dimension", f"`{shorten(text)}` cannot be told in {_short(unit)}.", f"Give it in {_short(unit)}.", place) from None
    except (pint.PintError, ValueError, TypeError, ArithmeticError, AttributeError, SyntaxError):
        raise InputError.single("unknown-unit", f"`{shorten(written)}` is no unit.", f"Give it in {_short(unit)}.", place) from None


def _short(unit: str) -> str:
    return {"degC": "°C", "percent": "%", "minute": "min", "": "a plain number"}.get(unit, unit)
