"""A tasting record, format 1: what was tasted, how it was made, by whom, and what each taster noticed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from kgraph.yamlio import Place

NOWHERE = Place("")

FORMAT = 1
STRENGTHS = ("absent", "weak", "moderate", "strong")
WHEN = ("first", "holding", "swallowed", "one-minute", "five-minutes", "twenty-minutes")
FORMS = ("infusion", "decoction", "cold-maceration", "diluted-tincture", "chewed-piece", "powder", "smelled-only")
ANONYMOUS = "taster"


class Finding(NamedTuple):
    """One cell: what one taster noticed of one quality at one time. ``strength`` is 0 (absent) to 3 (strong)."""

    quality: str
    strength: int
    taster: str = ANONYMOUS
    when: str = ""
    where: str = ""
    place: Place = NOWHERE

    @property
    def word(self) -> str:
        return STRENGTHS[self.strength]


class Outcome(NamedTuple):
    """The outcome of a kitchen or bench test."""

    test: str
    seen: bool
    place: Place = NOWHERE


class Taster(NamedTuple):
    """Who tasted, and in what state."""

    id: str
    state: tuple[str, ...] = ()
    after_sample: str = ""
    swallowed: bool | None = None


class Preparation(NamedTuple):
    """How the cup was made. Masses in g, volumes in mL, times in minutes and months, temperature in degrees Celsius, ethanol in % v/v."""

    form: str = "infusion"
    herb_grams: float | None = None
    cold_water_ml: float | None = None
    boiling_water_ml: float | None = None
    steep_minutes: float | None = None
    covered: bool | None = None
    ethanol_percent: float | None = None
    tasted_at_celsius: float | None = None
    stored_months: float | None = None
    added: tuple[str, ...] = ()
    water: str = ""
    vessel: str = ""

    @property
    def grams_per_100_ml(self) -> float | None:
        """Dried herb in g per 100 mL of water, None where either was not written down."""
        water = (self.cold_water_ml or 0) + (self.boiling_water_ml or 0)
        return 100 * self.herb_grams / water if self.herb_grams and water else None


@dataclass(frozen=True, slots=True)
class Sample:
    """What stood in the cup: a code, the herb that the label names ("" if none or several), the batch, and the herbs of a blend (two or more)."""

    code: str = ""
    herb: str = ""
    batch: Mapping[str, str] = field(default_factory=dict)
    herbs: tuple[str, ...] = ()


class Impression(NamedTuple):
    """What a taster was reminded of. Personal: kept and printed, never reasoned on."""

    text: str
    taster: str = ANONYMOUS


@dataclass(frozen=True, slots=True)
class Record:
    """One tasting of one sample.

    ``looked_for`` gives, for each taster, the qualities that the taster was asked to look for; a taster without an
    entry was asked nothing beyond the findings. ``said`` keeps plain words as they were typed.
    """

    findings: tuple[Finding, ...]
    tasted_on: str = ""
    sample: Sample = field(default_factory=Sample)
    preparation: Preparation = field(default_factory=Preparation)
    tasters: Mapping[str, Taster] = field(default_factory=lambda: {ANONYMOUS: Taster(ANONYMOUS)})
    looked_for: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    standard: bool = False
    tests: tuple[Outcome, ...] = ()
    impressions: tuple[Impression, ...] = ()
    file: str = ""
    said: tuple[tuple[str, str], ...] = ()
