"""What a published description says of a herb, as cells of the book channel.

A description leaves much unsaid, so its silence is weighed by tables of its own and never by those of a taster. Used
where documented herbs are judged or learnt from; a tasting record never passes through here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from kgraph.claims import Ontology
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.herbs import documented_intensities
from kgraph.reasoning.network import Network

#: A herb with fewer documented qualities (absences not counted) is not described.
DESCRIBED = 2


def is_described(ontology: Ontology, herb: str) -> bool:
    """Has the herb enough documented qualities to be learnt from or judged by?"""
    return sum(1 for word in documented_intensities(ontology, herb).values() if word != "absent") >= DESCRIBED


def described_states(ontology: Ontology, net: Network, herb: str, looked_for: Iterable[str]) -> dict[str, str]:
    """Percept to state (strong, moderate, weak, absent, unnoticed) for what a description says and for `looked_for`.

    A group that a documented kind implies has no state of its own; an absent group settles its kinds; the colour of
    the cup is one finding with several values.
    """
    states = {p: word for p, word in documented_intensities(ontology, herb).items() if p in net.other_cause}
    noticed = {p for p, word in states.items() if word != "absent"}
    for group, kinds in net.groups.items():
        if group in states and noticed & set(kinds):
            del states[group]
    settled = {kind for group, kinds in net.groups.items() if states.get(group) == "absent" for kind in kinds}
    coloured = any(ontology.qualities[p].kind == "colour" for p in noticed)
    for id in looked_for:
        quality, percept = ontology.qualities[id], ontology.percept(id)
        if quality.kind in ("absence", "stop") or percept in states or percept in settled or percept not in net.other_cause:
            continue
        if (coloured and quality.kind == "colour") or noticed & set(net.groups.get(percept, ())):
            continue
        states[percept] = "unnoticed"
    return states


def book_cell(ontology: Ontology, percept: str, state: str) -> Cell:
    """One cell of the book channel."""
    there, not_there = ontology.tables.report("book", state, percept)
    log_ratio = math.log(there / not_there)
    plain = ontology.tables.asks_plain("book", state, percept)
    return Cell(percept, state, math.exp(min(0.0, log_ratio)), math.exp(min(0.0, -log_ratio)), (percept,), 1, int(log_ratio > 0), plain=plain)


def book_cells(ontology: Ontology, net: Network, herb: str) -> list[Cell]:
    """The cells of a herb's description with the standard list looked for; findings first."""
    states = described_states(ontology, net, herb, ontology.tables.standard_list)
    return sorted((book_cell(ontology, p, s) for p, s in states.items()), key=lambda c: c.state == "unnoticed")
