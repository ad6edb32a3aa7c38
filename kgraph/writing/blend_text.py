"""The account of a blend, in plain words."""

from __future__ import annotations

from kgraph.reasoning.answer import Blend, BlendNote, Source
from kgraph.writing.plain import STATE_WORDS, about, listing


def _source(source: Source) -> str:
    return f"{source.label} ({f'books: {source.documented}' if source.documented else f'by what it holds, {about(source.chance)}'})"


def _note(note: BlendNote) -> str:
    return f"{note.label} ({STATE_WORDS[note.reported]}): {listing(map(_source, note.sources))}"


def lines(blend: Blend | None) -> list[str]:
    """What must be said of a blend, a sentence an item; nothing for a single herb."""
    if blend is None:
        return []
    names = listing(label for _, label, _ in blend.herbs)
    found = [f"A blend of {len(blend.herbs)} herbs ({names}): reasoning about a single herb does not hold. What follows tells what is in the cup, not in which herb."]
    accounted = [note for note in blend.notes if note.sources]
    if accounted:
        found.append("What may account for it: " + "; ".join(map(_note, accounted)) + ".")
    nothing = [note.label for note in blend.notes if not note.sources]
    if nothing:
        found.append(f"Nothing in the blend accounts for {listing(nothing)}: ask what else is in it.")
    for note in blend.missing:
        found.append(f"{note.label} is not there, though books give it to {listing(map(_source, note.sources))}.")
    return found
