"""What is known, as plain frozen values: sources, things, and claims about them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from kgraph.yamlio import Place

NOWHERE = Place("")
#: Kinds of thing, in the order in which they are shown.
KINDS = ("quality", "family", "class", "action", "use", "caution", "condition", "test", "herb")

Fact = str | float | int | bool | tuple[str, ...]


class Source(NamedTuple):
    """A published text. Grade A: regulator, WHO, pharmacopoeia, standard, peer-reviewed; B: handbook, dispensatory, university."""

    id: str
    grade: str
    title: str
    author: str = ""
    year: str = ""
    journal: str = ""
    document: str = ""
    doi: str = ""
    url: str = ""
    note: str = ""


class Attribution(NamedTuple):
    """Who says a claim: a source, where in it, and when that place was read ("" if it was not)."""

    source: str
    where: str = ""
    read: str = ""


@dataclass(frozen=True, slots=True)
class Thing:
    """Anything with an id and a label. ``also`` holds other words for it."""

    id: str
    label: str
    also: tuple[str, ...] = ()
    definition: str = ""


@dataclass(frozen=True, slots=True)
class Quality(Thing):
    """A quality of a sense. ``of`` names the percept (for a word) or the group (for a kind); see `ontology/README.md`."""

    sense: str = ""
    kind: str = "percept"
    of: str = ""
    absence_of: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Family(Thing):
    """Constituent classes that a taster cannot tell from each other but can tell from others."""


@dataclass(frozen=True, slots=True)
class ConstituentClass(Thing):
    """A class of plant constituents; ``family`` is "" for a class that stands alone."""

    family: str = ""
    poison: bool = False
    split_from: str = ""


@dataclass(frozen=True, slots=True)
class Action(Thing):
    """What herbal practice calls an effect on the body."""


@dataclass(frozen=True, slots=True)
class Use(Thing):
    """What a herb is or was used for."""


@dataclass(frozen=True, slots=True)
class Caution(Thing):
    """Something to mind."""


@dataclass(frozen=True, slots=True)
class Condition(Thing):
    """A circumstance of preparation or taster.

    The trigger: ``field`` of the preparation with ``test`` (at_least, at_most, is, has) and ``values``; or, for a
    taster, ``field`` is ``state`` and ``values`` holds the state word.
    """

    kind: str = "preparation"
    field: str = ""
    test: str = ""
    values: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Test(Thing):
    """A kitchen or bench test. ``safe_without_label``: nothing is tasted or strongly smelled."""

    kind: str = "kitchen"
    steps: str = ""
    safe_without_label: bool = False
    cautions: str = ""


@dataclass(frozen=True, slots=True)
class Herb(Thing):
    """A plant and a part. ``label`` is the first common name, else the botanical name."""

    name: str = ""
    synonyms: tuple[str, ...] = ()
    family: str = ""
    part: str = ""
    drug_name: str = ""
    common_names: tuple[str, ...] = ()
    taste_safety: str = "ok"
    taste_limit: str = ""
    taste_reason: str = ""
    no_description: str = ""
    no_cautions: str = ""


@dataclass(frozen=True, slots=True)
class Claim:
    """One statement: subject, relation, object, the word that grades it, and who says so.

    ``word`` is the strength, level, intensity, severity, status or effect, by relation. ``facts`` holds what only
    this relation has (severity details, markers, thresholds ...).
    """

    id: str
    relation: str
    subject: str
    object: str
    word: str = ""
    basis: str = ""
    attributions: tuple[Attribution, ...] = ()
    from_memory: bool = False
    common_practice: bool = False
    facts: dict[str, Fact] = field(default_factory=dict)
    place: Place = NOWHERE

    @property
    def seen(self) -> bool:
        """True when the supporting text of at least one source was read."""
        return any(attribution.read for attribution in self.attributions)

    @property
    def source_ids(self) -> tuple[str, ...]:
        return tuple(attribution.source for attribution in self.attributions)

    def text(self, key: str) -> str:
        """A fact as text, "" when there is none."""
        value = self.facts.get(key, "")
        return ", ".join(value) if isinstance(value, tuple) else str(value)
