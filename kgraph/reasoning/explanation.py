"""Why a herb feels as it does: from one quality to the classes that give it, what they act as, and what would speak against."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, NamedTuple

from kgraph.claims import Claim, Ontology
from kgraph.reasoning.answer import NOTICE, Heed, as_plain
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.heed import SEVERITY_ORDER, heed_of_label
from kgraph.reasoning.herbs import herb_levels
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.network import Network
from kgraph.reasoning.weights import firm
from kgraph.yamlio import InputError, Place, did_you_mean

VERSION = 1
_COMPARE = 3
_RISKY = ("chemesthesis", "felt", "mouthfeel")


class Link(NamedTuple):
    """One statement of a chain, in the words that grade it."""

    object: str
    label: str
    word: str
    basis: str
    note: str
    claims: tuple[str, ...]


class Cause(NamedTuple):
    """A class that gives the quality.

    Attributes:
        probability: P(the class is there and gave it | the quality was plainly noticed), nothing else known.
        level: its level in the herb asked about, "" when none was named or the herb is not known to hold it.
        actions, tests, expected: what it acts as; tests that show it; what else it gives at least often.
        heeds: what to mind about it.
        learnt: what documented herbs say of the strength: (value, low, high, herbs), or nothing.
    """

    cls: str
    label: str
    family: str
    word: str
    mechanism: str
    threshold: str
    probability: float
    level: str
    claims: tuple[str, ...]
    actions: tuple[Link, ...]
    tests: tuple[Link, ...]
    expected: tuple[Link, ...]
    heeds: tuple[Heed, ...]
    learnt: tuple[float, float, float, int] | None = None

    @property
    def never_tasted(self) -> bool:
        """Is what holds this class never to be tasted?"""
        return any(h.id == "do-not-taste" and h.severity == "avoid" for h in self.heeds)


@dataclass(frozen=True, slots=True)
class Explanation:
    """Everything that is said about one quality, alone or in one herb.

    ``unsafe``: tasting again to make sure is not to be offered, for poisons give the quality too.
    """

    quality: str
    label: str
    definition: str
    percept: str
    percept_label: str
    kind: str
    sense: str
    unsafe: bool
    herb: str
    herb_label: str
    taste_safety: str
    taste_note: str
    documented: tuple[Link, ...]
    causes: tuple[Cause, ...]
    fakes: tuple[Link, ...]
    dulls: tuple[Link, ...]
    readings: tuple[Link, ...]
    compare_with: tuple[tuple[str, str], ...]
    ontology: tuple[tuple[str, str], ...]
    notice: str = NOTICE
    why: int = VERSION

    def as_dict(self) -> dict[str, Any]:
        """Plain dictionaries and lists for JSON."""
        data = {f.name: as_plain(getattr(self, f.name)) for f in fields(self)}
        for cause in data["causes"]:
            cause["class"] = cause.pop("cls")
        data["ontology"] = dict(data["ontology"])
        return {"why": data.pop("why"), **data}


def _link(ontology: Ontology, claim: Claim, kind: str, note: str, object: str | None = None) -> Link:
    target = object if object is not None else claim.object
    return Link(target, ontology.label(kind, target), claim.word, claim.basis, note, (claim.id,))


def resolve_quality(ontology: Ontology, word: str) -> str:
    """A quality by id, label or another word for it. Raises :class:`InputError` with the nearest names."""
    key = word.strip().lower()
    for quality in ontology.qualities.values():
        if key in (quality.id, quality.label.lower(), *(name.lower() for name in quality.also)):
            return quality.id
    names = [n for q in ontology.qualities.values() for n in (q.id, q.label, *q.also)]
    raise InputError.single("unknown-quality", f"no quality is called `{word}`.", did_you_mean(word, names), Place("QUALITY"))


def resolve_herb(ontology: Ontology, word: str) -> str:
    """A herb by id, botanical name, drug name or common name. Raises :class:`InputError` with the nearest names."""
    key = word.strip().lower()
    names: list[str] = []
    for herb in ontology.herbs.values():
        mine = (herb.id, herb.name, herb.drug_name, *herb.synonyms, *herb.common_names)
        if key and key in (name.lower() for name in mine):
            return herb.id
        names += [name for name in mine if name]
    raise InputError.single("unknown-herb", f"no herb is called `{word}`.", did_you_mean(word, names), Place("HERB"))


def why(ontology: Ontology, net: Network, quality: str, herb: str = "") -> Explanation:
    """Explain a quality, in general or as it stands in one herb."""
    thing = ontology.qualities[resolve_quality(ontology, quality)]
    herb_id = resolve_herb(ontology, herb) if herb else ""
    percept = ontology.percept(thing.id)
    plant = ontology.herbs.get(herb_id)
    note = "" if plant is None else plant.taste_limit if plant.taste_safety == "small-amount" else plant.taste_reason
    wanted = {thing.id, percept, *(q.id for q in ontology.qualities.values() if q.of == percept and q.kind == "word")}
    documented = [c for c in ontology.said_of("described_as", herb_id) if c.object in wanted] if herb_id else []
    causes = _causes(ontology, net, percept, herb_id)
    return Explanation(
        quality=thing.id,
        label=thing.label,
        definition=thing.definition,
        percept=percept,
        percept_label=ontology.label("quality", percept),
        kind=thing.kind,
        sense=ontology.qualities[percept].sense,
        unsafe=_unsafe(ontology.qualities[percept].sense, causes),
        herb=herb_id,
        herb_label=ontology.label("herb", herb_id) if herb_id else "",
        taste_safety=plant.taste_safety if plant else "",
        taste_note=note,
        documented=tuple(_link(ontology, c, "quality", c.text("stimulus")) for c in documented),
        causes=causes,
        fakes=_conditions(ontology, "fakes", wanted),
        dulls=_conditions(ontology, "dulls", wanted),
        readings=tuple(Link(c.object, c.object, "", "tradition", c.text("reading"), (c.id,)) for id in sorted(wanted) for c in ontology.said_of("read_as", id)),
        compare_with=_compare_with(ontology, percept, herb_id),
        ontology=(("id", ontology.header.get("id", "")), ("version", ontology.version), ("sha256", ontology.sha256)),
    )


def _unsafe(sense: str, causes: tuple[Cause, ...]) -> bool:
    """Bitter and minty are everywhere; what stings, numbs or sickens, or comes from poisons alone, is not to be tried twice."""
    mine = [c for c in causes if c.level] or causes
    poisons = [c for c in mine if c.never_tasted]
    return bool(poisons) and (sense in _RISKY or len(poisons) == len(mine))


def _causes(ontology: Ontology, net: Network, percept: str, herb: str) -> tuple[Cause, ...]:
    percepts = [percept, *net.groups.get(percept, ())]
    evokers: dict[str, str] = {}
    for p in percepts:
        for id in net.evokers(p):
            if id not in evokers or net.arcs[id][p].strength > net.arcs[id][evokers[id]].strength:
                evokers[id] = p
    if not evokers:
        return ()
    there, not_there = ontology.tables.report("taster", "strong", percept)
    cell = Cell(percept, "strong", 1.0, not_there / there, (percept,), plain=ontology.tables.asks_plain("taster", "strong", percept))
    fired = Inference(net, Circumstances(), [cell]).fired
    levels = {c.object: c.word for c in ontology.said_of("contains", herb)} if herb else {}
    factors = herb_levels(ontology, herb) if herb else {}
    causes = [_cause(ontology, net, id, p, fired.get((id, percept), 0.0), levels.get(id, ""), bool(herb)) for id, p in evokers.items()]

    def order(c: Cause) -> tuple[bool, float, float, str]:
        # the word goes first: a figure from herbs that hold many classes at once must not make a "rarely" lead
        strength = ontology.tables.strength(c.word)
        return (bool(herb) and not c.level, -firm(factors.get(c.cls, 0.0) * strength), -firm(c.probability), c.cls)

    return tuple(sorted(causes, key=order))


def _cause(ontology: Ontology, net: Network, id: str, percept: str, probability: float, level: str, labelled: bool) -> Cause:
    arc = net.arcs[id][percept]
    lead = ontology.claim(arc.claims[0])
    actions = sorted(
        ((a, arcs[id]) for a, arcs in net.acts.items() if id in arcs), key=lambda pair: (-pair[1].strength, pair[0])
    )
    expected = sorted(
        ((p, other) for p, other in net.arcs[id].items() if p != percept and p in ontology.qualities and ontology.qualities[p].kind != "colour" and ontology.claim(other.claims[0]).word in ("almost-always", "often") and other.strength >= 0.5),
        key=lambda pair: (-pair[1].strength, pair[0]),
    )
    subjects = (id, ontology.family_of(id))
    tests = [c for s in dict.fromkeys(subjects) for c in ontology.said_of("shown_by", s) if labelled or ontology.tests[c.object].safe_without_label]
    heeds = sorted((heed_of_label(ontology, c) for c in ontology.said_of("warns_of", id)), key=lambda h: (SEVERITY_ORDER[h.severity], h.label))
    return Cause(
        cls=id,
        label=ontology.label("class", id),
        family=ontology.family_label(ontology.family_of(id)),
        word=lead.word,
        mechanism=lead.text("mechanism"),
        threshold=lead.text("threshold"),
        probability=probability,
        level=level,
        claims=arc.claims,
        actions=tuple(_link(ontology, ontology.claim(a.claims[0]), "action", ontology.claim(a.claims[0]).text("note")) for _, a in actions),
        tests=tuple(_link(ontology, c, "test", c.text("seen")) for c in tests),
        expected=tuple(_link(ontology, ontology.claim(other.claims[0]), "quality", "", p) for p, other in expected),
        heeds=tuple(heeds),
        learnt=(arc.learnt.value, arc.learnt.low, arc.learnt.high, arc.learnt.herbs) if arc.learnt else None,
    )


def _conditions(ontology: Ontology, relation: str, wanted: set[str]) -> tuple[Link, ...]:
    claims = [c for id in sorted(wanted) for c in ontology.pointing_at(relation, id)]
    return tuple(
        Link(c.subject, ontology.label("condition", c.subject), c.word, "", c.text("detail"), (c.id,))
        for c in sorted(claims, key=lambda c: c.subject)
    )


def _compare_with(ontology: Ontology, percept: str, herb: str) -> tuple[tuple[str, str], ...]:
    """(herb, label) of well-known herbs that show the quality plainly and are safe to taste."""
    found: dict[str, int] = {}
    for claim in ontology.all_of("described_as"):
        if ontology.percept(claim.object) == percept and claim.word in ("strong", "moderate") and claim.subject != herb:
            plant = ontology.herbs[claim.subject]
            if plant.taste_safety == "ok":
                found[plant.id] = max(found.get(plant.id, 0), 2 if claim.word == "strong" else 1)
    ranked = sorted(found, key=lambda id: (-found[id], len(ontology.said_of("warns_of", id)), id))
    return tuple((id, ontology.label("herb", id)) for id in ranked[:_COMPARE])
