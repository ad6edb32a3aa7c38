"""Everything that the sums need, as plain data: what the page of a lecture carries to reason by itself.

Classes, percepts and the rest are numbered in the order of their lists. All figures are those of the network, digit for digit.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kgraph.claims import Ontology
from kgraph.reasoning.circumstances import effects_of
from kgraph.reasoning.evidence import TEST_MISREAD, Cell
from kgraph.reasoning.heed import NEVER
from kgraph.reasoning.network import TEST, Network

STATES = ("strong", "moderate", "weak", "absent", "unnoticed")


def board_of(ontology: Ontology, net: Network) -> dict[str, Any]:
    """The network of an ontology as lists and numbers."""
    tables = ontology.tables
    percepts = [q for q in net.other_cause if not q.startswith(TEST)] + [q for q in net.other_cause if q.startswith(TEST)]
    p_number = {id: i for i, id in enumerate(percepts)}
    c_number = {id: i for i, id in enumerate(net.prior)}
    return {
        "classes": [{"id": id, "label": ontology.label("class", id), "prior": p, "major": net.major.get(id, p), "never": ontology.classes[id].poison} for id, p in net.prior.items()],
        "percepts": [_percept(ontology, id) for id in percepts],
        "arcsOf": [[[p_number[q], arc.strength] for q, arc in net.arcs[id].items()] for id in net.prior],
        "other": [net.other_cause[id] for id in percepts],
        "plainOther": net.plain_other, "plainMajor": net.plain_major, "faint": list(net.faint),
        "groups": [[p_number[g], [p_number[k] for k in kinds if k in p_number]] for g, kinds in net.groups.items() if g in p_number],
        "reports": {state: list(tables.reports[("taster", state)]) for state in STATES},
        "plain": [state for state in STATES if tables.asks.get(("taster", state)) == "plain"],
        "silence": tables.constants["unnoticed-correlation"], "misread": TEST_MISREAD,
        "standard": [p_number[p] for p in dict.fromkeys(ontology.percept(q) for q in tables.standard_list) if p in p_number],
        "families": [{"id": id, "label": ontology.family_label(id), "members": [c_number[m] for m in members]} for id, members in ontology.families.items()],
        "actions": [{"id": id, "label": ontology.label("action", id), "arcs": [[c_number[c], arc.strength] for c, arc in arcs.items()]} for id, arcs in net.acts.items()],
        "carriers": [
            {"id": caution, "label": ontology.label("caution", caution), "severity": severity, "classes": [c_number[c] for c in classes]}
            for (caution, severity), classes in sorted(net.carriers.items())
        ],
        "never": [c_number[c] for c in net.carriers.get(NEVER, {})],
        "conditions": [found for id in ontology.conditions if (found := _condition(ontology, id, p_number, c_number))["effects"]],
    }


def _percept(ontology: Ontology, id: str) -> dict[str, Any]:
    if id.startswith(TEST):
        return {"id": id, "label": ontology.label("test", id.removeprefix(TEST)), "kind": "test", "sense": "test", "false": 1.0}
    quality = ontology.qualities[id]
    return {"id": id, "label": quality.label, "kind": quality.kind, "sense": quality.sense, "false": ontology.tables.false_reports.get(id, 1.0)}


def _condition(ontology: Ontology, id: str, p_number: dict[str, int], c_number: dict[str, int]) -> dict[str, Any]:
    effects = []
    for effect in effects_of(ontology, id):
        if effect.relation == "draws":
            targets: Sequence[str] = ontology.families.get(effect.target, (effect.target,)) if effect.target not in ontology.classes else (effect.target,)
            numbers = [c_number[t] for t in targets]
        else:
            numbers = [p_number[effect.target]] if effect.target in p_number else []
        if numbers:
            effects.append({"relation": effect.relation, "target": numbers, "value": effect.value})
    thing = ontology.conditions[id]
    return {"id": id, "label": thing.label, "kind": thing.kind, "effects": effects}


def cells_as_data(board: dict[str, Any], cells: Sequence[Cell]) -> list[dict[str, Any]]:
    """The cells of a record in the board's numbers."""
    number = {p["id"]: i for i, p in enumerate(board["percepts"])}
    return [{"percept": number[c.percept], "state": c.state, "there": c.there, "notThere": c.not_there, "plain": c.plain} for c in cells]
