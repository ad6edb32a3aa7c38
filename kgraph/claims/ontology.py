"""The compiled ontology: things by id, claims by their ends, and the questions every other room asks of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from kgraph.claims.model import Claim, Condition, ConstituentClass, Herb, Quality, Source, Test, Thing
from kgraph.claims.store import ClaimStore, chunk_name
from kgraph.claims.tables import Tables
from kgraph.yamlio import InputError, Place, did_you_mean

if TYPE_CHECKING:
    from kgraph.claims.draft import Draft

T = TypeVar("T", bound=Thing)
_GRADE_ORDER = {"A": 0, "B": 1}


@dataclass(frozen=True)
class Ontology:
    """What is known. Build one with :func:`kgraph.claims.load`, not by hand.

    Attributes:
        header: id, version, licence and title.
        sha256: fingerprint of all its files.
        things: kind to id to thing.
        sources: id to source.
        store: the claims, in chunks.
        tables: the numbers.
    """

    header: Mapping[str, str]
    sha256: str
    things: Mapping[str, Mapping[str, Thing]]
    sources: Mapping[str, Source]
    store: ClaimStore
    tables: Tables

    @classmethod
    def build(cls, draft: Draft, sha256: str) -> Ontology:
        """The ontology of a checked draft."""
        store = ClaimStore.of(draft.claims, draft.things["herb"])
        return cls(dict(draft.header), sha256, draft.things, draft.sources, store, draft.tables)

    @property
    def version(self) -> str:
        return self.header.get("version", "")

    @property
    def identity(self) -> dict[str, str]:
        """What every answer says of the ontology behind it."""
        return {"id": self.header.get("id", ""), "version": self.version, "sha256": self.sha256}

    @cached_property
    def claims(self) -> tuple[Claim, ...]:
        """Every claim, by relation, what is said of herbs first."""
        return tuple(claim for name in self.store.names() for claim in self.store.chunk(name))

    @cached_property
    def _ids(self) -> dict[str, dict[str, Claim]]:
        return {}

    def claim(self, id: str) -> Claim:
        """A claim by its id."""
        relation, subject, _ = id.split("/", 2)
        name = chunk_name(relation, subject in self.things["herb"])
        if name not in self._ids:
            self._ids[name] = {claim.id: claim for claim in self.store.chunk(name)}
        return self._ids[name][id]

    def said_of(self, relation: str, subject: str) -> list[Claim]:
        """Claims of a relation with this subject."""
        return self.store.by_subject(chunk_name(relation, subject in self.things["herb"]), subject)

    def pointing_at(self, relation: str, object: str) -> list[Claim]:
        """Claims of a relation with this object."""
        return [*self.store.by_object(chunk_name(relation, True), object), *self.store.by_object(chunk_name(relation, False), object)]

    def all_of(self, relation: str) -> list[Claim]:
        """Every claim of a relation, what is said of herbs first."""
        return [*self.store.chunk(chunk_name(relation, True)), *self.store.chunk(chunk_name(relation, False))]

    def linked(self, relation: str) -> list[Claim]:
        """The claims of a relation that are said of anything but herbs."""
        return self.store.chunk(chunk_name(relation, False))

    def ruling(self, claims: Iterable[Claim]) -> Claim:
        """The claim that the sums use where sources disagree: read before remembered, better grade first, then by id."""

        def rank(claim: Claim) -> tuple[bool, int, str]:
            grades = [_GRADE_ORDER.get(self.sources[a.source].grade, 2) for a in claim.attributions if a.source in self.sources]
            return (not claim.seen, min(grades, default=3), claim.id)

        return min(claims, key=rank)

    # -- things ------------------------------------------------------------------------------------------------

    def find(self, kind: str, id: str, place: Place | None = None) -> Thing:
        """A thing by id. Raises :class:`InputError` that names the nearest ids."""
        thing = self.things[kind].get(id)
        if thing is None:
            raise InputError.single(f"unknown-{kind}", f"no {kind} is called `{id}`.", did_you_mean(id, self.things[kind]), place)
        return thing

    def label(self, kind: str, id: str) -> str:
        thing = self.things[kind].get(id)
        return thing.label if thing is not None else id

    def _typed(self, kind: str, cls: type[T]) -> dict[str, T]:
        return {id: thing for id, thing in self.things[kind].items() if isinstance(thing, cls)}

    @cached_property
    def qualities(self) -> dict[str, Quality]:
        return self._typed("quality", Quality)

    @cached_property
    def classes(self) -> dict[str, ConstituentClass]:
        return self._typed("class", ConstituentClass)

    @cached_property
    def herbs(self) -> dict[str, Herb]:
        return self._typed("herb", Herb)

    @cached_property
    def conditions(self) -> dict[str, Condition]:
        return self._typed("condition", Condition)

    @cached_property
    def tests(self) -> dict[str, Test]:
        return self._typed("test", Test)

    @cached_property
    def families(self) -> dict[str, tuple[str, ...]]:
        """Family id to its leaf classes; a class that stands alone is a family of one under its own id."""
        members: dict[str, list[str]] = {id: [] for id in self.things["family"]}
        for id, thing in self.classes.items():
            members.setdefault(thing.family or id, []).append(id)
        return {id: tuple(found) for id, found in members.items() if found}

    def family_of(self, class_id: str) -> str:
        return self.classes[class_id].family or class_id

    def family_label(self, id: str) -> str:
        return self.label("family", id) if id in self.things["family"] else self.label("class", id)

    def percept(self, quality: str) -> str:
        """The percept behind a quality: a word stands for its percept, everything else for itself."""
        found = self.qualities.get(quality)
        return found.of if found is not None and found.kind == "word" else quality

    def kinds_of(self, group: str) -> tuple[str, ...]:
        return tuple(q.id for q in self.qualities.values() if q.kind == "kind" and q.of == group)

    @cached_property
    def contradictions(self) -> list[tuple[Claim, ...]]:
        """Sets of sourced claims that disagree on the word for the same two ends."""
        groups: dict[tuple[str, str, str, str], list[Claim]] = defaultdict(list)
        for claim in self.claims:
            if claim.relation in ("evokes", "contains", "described_as", "acts_as") and claim.word:
                groups[(claim.relation, claim.subject, claim.object, claim.text("stimulus"))].append(claim)
        return [tuple(found) for found in groups.values() if len({claim.word for claim in found}) > 1]
