"""The conditions that hold for a record, and what each does: fakes, dulls or draws (DESIGN 4).

*fakes* is a cause of its own: it explains a finding away. *dulls* scales every arc into a percept. *draws* scales
every arc out of a class. What a taster's own state does (a blocked nose) reaches all arcs when every taster shares it,
and only that taster's reports otherwise.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from kgraph.claims import Claim, Condition, Ontology
from kgraph.tasting import Preparation, Record


class Effect(NamedTuple):
    """One thing that a condition does. ``value`` is the strength of a fake, or the factor of a dulling or drawing."""

    condition: str
    relation: str
    target: str
    value: float
    claim: str


@dataclass(slots=True)
class Circumstances:
    """What the active conditions add up to.

    Attributes:
        active: conditions that hold for the cup or for every taster.
        effects: all effects of these.
        dulled: percept to factor on arcs into it.
        drawn: class to factor on arcs out of it.
        faked: percept to the fakes of it.
        personal: taster to the effects of states that not all tasters share.
    """

    active: tuple[str, ...] = ()
    effects: tuple[Effect, ...] = ()
    dulled: dict[str, float] = field(default_factory=dict)
    drawn: dict[str, float] = field(default_factory=dict)
    faked: dict[str, list[Effect]] = field(default_factory=lambda: defaultdict(list))
    personal: Mapping[str, tuple[Effect, ...]] = field(default_factory=dict)


def _holds(condition: Condition, preparation: Preparation) -> bool:
    """Does a condition of preparation hold? What was not recorded does not trigger anything."""
    if not condition.field or condition.field == "state" or not hasattr(preparation, condition.field):
        return False
    value = getattr(preparation, condition.field)
    if value is None or value == "" or value == ():
        return False
    if condition.test == "at_least":
        return float(value) >= float(condition.values[0])
    if condition.test == "at_most":
        return float(value) <= float(condition.values[0])
    if condition.test == "has":
        mentioned = {word.strip().lower() for word in value}
        return any(word.lower() in mentioned for word in condition.values)
    if isinstance(value, bool):
        return condition.values[0] == ("true" if value else "false")
    return str(value).strip().lower() in {word.lower() for word in condition.values}


def _effect(ontology: Ontology, claim: Claim) -> Effect:
    tables = ontology.tables
    value = tables.strength(claim.word) if claim.relation == "fakes" else tables.effects[claim.word]
    target = claim.object if claim.relation == "draws" else ontology.percept(claim.object)
    return Effect(claim.subject, claim.relation, target, value, claim.id)


def effects_of(ontology: Ontology, condition: str) -> list[Effect]:
    """What a condition does."""
    return [_effect(ontology, claim) for relation in ("fakes", "dulls", "draws") for claim in ontology.said_of(relation, condition)]


def circumstances_of(ontology: Ontology, record: Record) -> Circumstances:
    """The conditions that hold for a record and their combined effect."""
    found = Circumstances()
    active: list[str] = [c.id for c in ontology.conditions.values() if _holds(c, record.preparation)]
    by_state = {c.values[0]: c.id for c in ontology.conditions.values() if c.field == "state"}
    states = [set(taster.state) for taster in record.tasters.values()]
    shared = set.intersection(*states) if states else set()
    active += [by_state[state] for state in sorted(shared) if state in by_state]
    found.active = tuple(dict.fromkeys(active))
    found.effects = tuple(effect for id in found.active for effect in effects_of(ontology, id))
    for effect in found.effects:
        if effect.relation == "fakes":
            found.faked[effect.target].append(effect)
        elif effect.relation == "dulls":
            found.dulled[effect.target] = found.dulled.get(effect.target, 1.0) * effect.value
        else:
            targets = ontology.families.get(effect.target, (effect.target,)) if effect.target not in ontology.classes else (effect.target,)
            for id in targets:
                found.drawn[id] = found.drawn.get(id, 1.0) * effect.value
    found.personal = {
        id: tuple(e for state in taster.state if state not in shared and state in by_state for e in effects_of(ontology, by_state[state]) if e.relation != "draws")
        for id, taster in record.tasters.items()
    }
    return found
