"""What the reader gathers from all files before it is checked: things and claims by kind, each with its place."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeVar

from kgraph.claims.model import KINDS, Claim, Source, Thing
from kgraph.claims.tables import Tables
from kgraph.yamlio import FaultList, Fields, Place

T = TypeVar("T", bound=Thing)



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
    layers: dict[tuple[str, str], int] = field(default_factory=dict)

    def add(self, kind: str, thing: Thing, row: Fields) -> None:
        """Take a thing in. An id may stand once in one folder; a later folder replaces a herb and clashes on all else."""
        if not self._admit(kind, thing.id, row):
            return
        self.things[kind][thing.id] = thing

    def add_source(self, source: Source, row: Fields) -> None:
        if self._admit("source", source.id, row):
            self.sources[source.id] = source

    def _admit(self, kind: str, id: str, row: Fields) -> bool:
        key = (kind, id)
        if key in self.places:
            replaces = kind in ("herb", "source") and self.layers[key] < self.layer
            if not replaces:
                row.fault(
                    "id", "stated-twice", f"the {kind} `{id}` stands already at {self.places[key]}.",
                    "Use another id, or state only what is new about it.",
                )
                return False
            if kind == "herb":
                self.claims = [claim for claim in self.claims if claim.subject != id]
        self.places[key] = row.place
        self.layers[key] = self.layer
        return True
