"""Numbered sources: each claim's sources as short numbers, and the list they point to."""

from __future__ import annotations

from collections.abc import Iterable

from kgraph.claims import Ontology, Source


def short(source: Source) -> str:
    """Author and year, or title and year."""
    who = source.author.split(",")[0].split(";")[0] if source.author else source.title
    who = who if len(who) <= 48 else who[:45].rstrip() + "..."
    return f"{who} {source.year}".strip()


class Citations:
    """Numbers sources in the order in which they are first cited."""

    def __init__(self, ontology: Ontology) -> None:
        self.ontology = ontology
        self.numbers: dict[str, int] = {}
        self.where: dict[str, str] = {}

    def mark(self, claims: Iterable[str]) -> str:
        """`[1, 3]` for claims that were read in a source, `[from memory]` or `[common practice]` for others."""
        marks: list[str] = []
        memory = practice = False
        for id in claims:
            claim = self.ontology.claim(id)
            read = [a for a in claim.attributions if a.read]
            for attribution in read:
                number = self.numbers.setdefault(attribution.source, len(self.numbers) + 1)
                marks.append(str(number))
            memory = memory or (not read and not claim.common_practice)
            practice = practice or (not read and claim.common_practice)
        parts = sorted(dict.fromkeys(marks), key=int)
        if memory:
            parts.append("from memory")
        if practice:
            parts.append("common practice")
        return f"[{', '.join(parts)}]" if parts else ""

    def listing(self) -> list[tuple[int, Source]]:
        """(number, source), in order."""
        return [(number, self.ontology.sources[id]) for id, number in self.numbers.items()]


def full(source: Source) -> str:
    """A reference as one line."""
    parts = [source.author, source.title, source.journal, source.year, source.document]
    tail = f"doi:{source.doi}" if source.doi else source.url
    return ". ".join(p.rstrip(".") for p in [*parts, tail] if p) + "."
