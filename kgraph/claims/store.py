"""The claims of an ontology in chunks, each unpacked when it is first asked for.

A chunk holds the claims of one relation said of herbs, or of anything else. Most questions need few of them.
"""

from __future__ import annotations

import gc
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from kgraph.claims.model import Attribution, Claim
from kgraph.yamlio import Place

HERB, LINK = "herb", "link"


def chunk_name(relation: str, of_herb: bool) -> str:
    """The chunk in which a claim stands."""
    return f"{relation}@{HERB if of_herb else LINK}"


def pack(claims: Iterable[Claim]) -> bytes:
    """Claims as JSON rows."""
    rows = [
        [c.id, c.relation, c.subject, c.object, c.word, c.basis, [[a.source, a.where, a.read] for a in c.attributions],
         c.from_memory, c.common_practice, c.facts, [c.place.file, c.place.line, c.place.column]]
        for c in claims
    ]
    return json.dumps(rows, ensure_ascii=False, separators=(",", ":")).encode()


def unpack(data: bytes) -> list[Claim]:
    """Claims from JSON rows."""
    rows: list[list[Any]] = json.loads(data)
    collecting = gc.isenabled()
    gc.disable()  # many small objects are made here and none of them is garbage
    try:
        return [
            Claim(id, relation, subject, object, word, basis, tuple([Attribution(*a) for a in who]), memory, practice,
                  {k: tuple(v) if isinstance(v, list) else v for k, v in facts.items()} if facts else {}, Place(*place))
            for id, relation, subject, object, word, basis, who, memory, practice, facts, place in rows
        ]
    finally:
        if collecting:
            gc.enable()


class ClaimStore:
    """Chunks of claims by name, packed or not, and their indexes."""

    def __init__(self, chunks: Mapping[str, bytes | list[Claim]]) -> None:
        self._chunks: dict[str, bytes | list[Claim]] = dict(chunks)
        self._subjects: dict[str, dict[str, list[Claim]]] = {}
        self._objects: dict[str, dict[str, list[Claim]]] = {}

    @classmethod
    def of(cls, claims: Iterable[Claim], herbs: Mapping[str, object]) -> ClaimStore:
        """A store of claims that were just read."""
        chunks: dict[str, list[Claim]] = defaultdict(list)
        for claim in claims:
            chunks[chunk_name(claim.relation, claim.subject in herbs)].append(claim)
        return cls(dict(sorted(chunks.items())))

    def names(self) -> list[str]:
        return list(self._chunks)

    def chunk(self, name: str) -> list[Claim]:
        """The claims of one chunk; none if there is no such chunk."""
        found = self._chunks.get(name)
        if found is None:
            return []
        if isinstance(found, bytes):
            found = self._chunks[name] = unpack(found)
        return found

    def packed(self, name: str) -> bytes:
        found = self._chunks[name]
        return found if isinstance(found, bytes) else pack(found)

    def by_subject(self, name: str, subject: str) -> list[Claim]:
        index = self._subjects.get(name)
        if index is None:
            index = self._subjects[name] = defaultdict(list)
            for claim in self.chunk(name):
                index[claim.subject].append(claim)
        return index.get(subject, [])

    def by_object(self, name: str, object: str) -> list[Claim]:
        index = self._objects.get(name)
        if index is None:
            index = self._objects[name] = defaultdict(list)
            for claim in self.chunk(name):
                index[claim.object].append(claim)
        return index.get(object, [])
