"""A blend: single-herb reasoning does not hold; which ingredient accounts for which note, and which note for none."""

from __future__ import annotations

from collections.abc import Sequence

from kgraph.claims.words import INTENSITIES
from kgraph.reasoning.answer import Blend, BlendNote, Source
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.figures import Figures
from kgraph.reasoning.network import percept_label
from kgraph.reasoning.shelf import Shelf
from kgraph.reasoning.weights import firm

#: An ingredient that nobody describes so accounts for a note from this chance on, by its constituents.
ACCOUNTS = 0.2


def blend_of(shelf: Shelf, circumstances: Circumstances, cells: Sequence[Cell], herbs: Sequence[str]) -> Blend | None:
    """The account of a blend; None for a single herb.

    Args:
        shelf, circumstances, cells: the herbs, and the record as the sums see it.
        herbs: ids of the ingredients.
    """
    if len(herbs) < 2:
        return None
    ontology = shelf.ontology
    notes = [_note(shelf, circumstances, cell, herbs) for cell in cells if cell.speaks_for]
    denied = [_note(shelf, circumstances, cell, herbs) for cell in cells if cell.state == "absent"]
    missing = tuple(
        note._replace(sources=strong) for note in denied
        if (strong := tuple(s for s in note.sources if s.documented in ("moderate", "strong")))
    )
    return Blend(tuple((h, ontology.label("herb", h), ontology.herbs[h].taste_safety) for h in herbs), tuple(notes), missing)


def _note(shelf: Shelf, circumstances: Circumstances, cell: Cell, herbs: Sequence[str]) -> BlendNote:
    column = shelf.documented(cell.percept)
    chances = shelf.expected(Figures(shelf.ontology, shelf.net), circumstances, cell)
    sources = []
    for herb in herbs:
        number = shelf.index[herb]
        code, chance = int(column[number]), float(chances[number])
        documented = INTENSITIES[code] if code >= 0 else ""
        if documented in INTENSITIES[1:] or (not documented and chance >= ACCOUNTS):
            sources.append(Source(herb, shelf.ontology.label("herb", herb), documented, chance))
    sources.sort(key=lambda s: (-INTENSITIES.index(s.documented) if s.documented else 0, -firm(s.chance), s.herb))
    return BlendNote(cell.percept, percept_label(shelf.ontology, cell.percept), cell.state, tuple(sources))
