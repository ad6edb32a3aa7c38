"""What the reader gathers from all files before it is checked: things and claims by kind, each with its place."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeVar

from kgraph.claims.model import KINDS, Claim, Herb, Source, Thing
from kgraph.claims.relations import OF_HERB
from kgraph.claims.tables import Tables
from kgraph.yamlio import FaultList, Fields, Place

T = TypeVar("T", bound=Thing)
_LAXER = ("ok", "small-amount", "do-not-taste")


@dataclass(slots=True)
class Draft:
    """Things and claims as read, not yet checked against each other."""

    faults: FaultList
    header: dict[str, str] = field(default_factory=dict)
    things: dict[str, dict[str, Thing]] = field(default_factory=lambda: {kind: {} for kind in KINDS})
    sources: dict[str, Source] = field(default_factory=dict)
    claims: list[Claim] = field(default_factory=list)
    tables: Tables = field(default_factory=Tables)
    places: dict[tuple[str, str], Place] = field(default_factory=dict)
    layer: int = 0
    below: int = 0
    kept: list[Claim] = field(default_factory=list)
    layers: dict[tuple[str, str], int] = field(default_factory=dict)

    def begin(self, layer: int) -> None:
        """A further folder begins; the claims so far lie below it."""
        self.layer, self.below = layer, len(self.claims)

    def finish(self) -> None:
        """An `avoid` of a herb that a later folder replaced stands on, unless that folder speaks of the same caution."""
        stated = {(c.relation, c.subject, c.object) for c in self.claims}
        self.claims += [c for c in self.kept if (c.relation, c.subject, c.object) not in stated]

    def add(self, kind: str, thing: Thing, row: Fields) -> None:
        """Take a thing in. An id may stand once in one folder; a later folder replaces a herb and clashes on all else."""
        before = self.things[kind].get(thing.id)
        if not self._admit(kind, thing.id, row):
            return
        if isinstance(thing, Herb) and isinstance(before, Herb) and _LAXER.index(thing.taste_safety) < _LAXER.index(before.taste_safety):
            row.fault(
                "taste_safety", "laxer", f"`{thing.id}` is `{before.taste_safety}` already; a folder of one's own cannot make it `{thing.taste_safety}`.",
                "Keep the stricter word, or give your herb an id of its own.",
            )
        self.things[kind][thing.id] = thing

    def add_source(self, source: Source, row: Fields) -> None:
        if self._admit("source", source.id, row):
            self.sources[source.id] = source

    def _admit(self, kind: str, id: str, row: Fields) -> bool:
        key = (kind, id)
        if key in self.places:
            replaces = kind == "herb" and self.layers[key] < self.layer
            if not replaces:
                row.fault(
                    "id", "stated-twice", f"the {kind} `{id}` stands already at {self.places[key]}.",
                    "Use another id, or state only what is new about it.",
                )
                return False
            if kind == "herb":
                self._replace(id)
        self.places[key] = row.place
        self.layers[key] = self.layer
        return True

    def _replace(self, herb: str) -> None:
        lower, mine = self.claims[: self.below], self.claims[self.below :]
        gone = [c for c in lower if c.subject == herb and c.relation in OF_HERB]
        self.kept += [c for c in gone if c.relation == "warns_of" and c.word == "avoid"]
        lower = [c for c in lower if not (c.subject == herb and c.relation in OF_HERB)]
        self.claims, self.below = lower + mine, len(lower)
