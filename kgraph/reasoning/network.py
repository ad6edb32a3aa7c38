"""The noisy-OR network that an ontology means: classes with priors, percepts, and one arc for each (class, percept).

Words of one percept share its arc; kinds of a group (minty, citrus) are percepts of their own, and the group is true
if any kind is. A claim about an ancestor (a family, a group) adds no arc where its descendants have arcs.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import NamedTuple

from kgraph.claims import Claim, Ontology

TEST = "test/"
MAX_STRENGTH = 0.999
_TEST_OTHER_CAUSE = 0.02


#: A class that fewer described herbs hold keeps the number of its strength word.
MIN_SUPPORT = 5


class Learnt(NamedTuple):
    """What the documented herbs say of an arc: value, the middle nine tenths, and the number of herbs."""

    value: float
    low: float
    high: float
    herbs: int


class Arc(NamedTuple):
    """How likely a class alone makes a percept noticeable, and the claims that say so."""

    strength: float
    claims: tuple[str, ...]
    learnt: Learnt | None = None


@dataclass(slots=True)
class Network:
    """Everything that inference needs, by id.

    Attributes:
        prior: class to probability of its presence, (n + 1/2) / (N + 1) over the herbs of the prior table.
        major: class to probability of its presence at major level; all of `prior` where the table does not part the levels.
        faint: factor of the minor level on an arc into a quality that is (there, plain).
        plain_major: factor of the major level on an arc into a quality that is plain.
        plain_other: share of the other causes that makes a quality plain.
        arcs: class to percept to arc. Percepts are quality ids, or ``test/<id>`` for a test.
        other_cause: percept to the probability that it is noticed with no known cause.
        groups: group quality to its kinds.
        acts: action to class to (strength, claims).
        carriers: (caution, severity) to class to claims.
    """

    prior: dict[str, float] = field(default_factory=dict)
    major: dict[str, float] = field(default_factory=dict)
    faint: tuple[float, float] = (1.0, 1.0)
    plain_major: float = 1.0
    plain_other: float = 1.0
    arcs: dict[str, dict[str, Arc]] = field(default_factory=dict)
    other_cause: dict[str, float] = field(default_factory=dict)
    groups: dict[str, tuple[str, ...]] = field(default_factory=dict)
    acts: dict[str, dict[str, Arc]] = field(default_factory=dict)
    carriers: dict[tuple[str, str], dict[str, tuple[str, ...]]] = field(default_factory=dict)

    def arc(self, class_id: str, percept: str) -> Arc | None:
        return self.arcs[class_id].get(percept)

    def evokers(self, percept: str) -> dict[str, Arc]:
        """Class to arc for one percept."""
        return {id: arcs[percept] for id, arcs in self.arcs.items() if percept in arcs}


def prior_counts(ontology: Ontology, levels: tuple[str, ...] = ("major", "minor")) -> tuple[int, dict[str, int]]:
    """Number of herbs, and for each class the number of herbs that hold it at one of the levels, counted afresh."""
    counts: dict[str, int] = {}
    for id in ontology.classes:
        herbs = {claim.subject for claim in ontology.pointing_at("contains", id)}
        counts[id] = sum(
            1 for herb in herbs
            if ontology.ruling([c for c in ontology.said_of("contains", herb) if c.object == id]).word in levels
        )
    return len(ontology.herbs), counts


def priors_as_yaml(ontology: Ontology) -> str:
    """The section `priors` for `tables/priors.yaml`, counted from the herbs of an ontology."""
    total, counts = prior_counts(ontology)
    _, majors = prior_counts(ontology, ("major",))
    version = ontology.tables.prior_version or 1
    lines = [
        "# How many of the shipped herbs hold each class at major or minor level, and at major level. Made by `kgraph check --priors`; not edited by hand.",
        "priors:", f"  version: {version}", f"  herbs: {total}", "  counts:",
    ]
    lines += [f"    - {{class: {id}, herbs: {count}, major: {majors[id]}}}" for id, count in sorted(counts.items()) if count]
    return "\n".join(lines) + "\n"


def build_network(ontology: Ontology, *, words_alone: bool = False) -> Network:
    """The network of an ontology; with `words_alone` nothing that documented herbs taught goes in."""
    net = Network()
    tables = ontology.tables
    if tables.prior_version:
        total, counts = tables.prior_herbs, tables.prior_counts
    else:
        total, counts = prior_counts(ontology)
    net.prior = {id: (counts.get(id, 0) + 0.5) / (total + 1) for id in ontology.classes}
    net.major = dict(net.prior)
    if tables.prior_majors:
        net.major = {id: p * (tables.prior_majors.get(id, 0) + 0.5) / (counts.get(id, 0) + 1) for id, p in net.prior.items()}
        net.faint = (tables.level("minor"), tables.level("minor", plain=True))
    net.plain_major = tables.plain_levels.get("major", 1.0)
    net.plain_other = tables.constants.get("plain-other-causes", 1.0)
    net.arcs = {id: {} for id in ontology.classes}
    net.groups = {q.id: ontology.kinds_of(q.id) for q in ontology.qualities.values() if q.kind == "group"}
    for q in ontology.qualities.values():
        if q.kind in ("percept", "kind", "group", "colour"):
            net.other_cause[q.id] = tables.other_cause(q.id)
    _add_evokes(net, ontology)
    if not words_alone:
        _add_learnt(net, ontology)
    _add_tests(net, ontology)
    for action in ontology.things["action"]:
        found = _by_subject(ontology.pointing_at("acts_as", action))
        arcs = {id: _ruled(ontology, claims) for id, claims in found.items() if id in net.arcs}
        if arcs:
            net.acts[action] = arcs
    for claim in ontology.linked("warns_of"):
        if claim.subject in net.arcs:
            classes = net.carriers.setdefault((claim.object, claim.word), {})
            classes[claim.subject] = (*classes.get(claim.subject, ()), claim.id)
    return net


def _by_subject(claims: list[Claim]) -> dict[str, list[Claim]]:
    found: dict[str, list[Claim]] = defaultdict(list)
    for claim in claims:
        found[claim.subject].append(claim)
    return found


def _ruled(ontology: Ontology, claims: list[Claim]) -> Arc:
    ruling = ontology.ruling(claims)
    others = [c.id for c in claims if c.id != ruling.id]
    return Arc(min(MAX_STRENGTH, ontology.tables.strength(ruling.word)), (ruling.id, *others))


def _add_evokes(net: Network, ontology: Ontology) -> None:
    for id in ontology.classes:
        by_percept: dict[str, dict[str, list[Claim]]] = defaultdict(lambda: defaultdict(list))
        for claim in ontology.said_of("evokes", id):
            by_percept[ontology.percept(claim.object)][claim.object].append(claim)
        arcs: dict[str, Arc] = {}
        for percept, by_word in by_percept.items():
            if percept in by_word:
                # the percept's own claim rules; what is said of its words names the same percept
                arc = _ruled(ontology, by_word[percept])
            else:
                arc = max((_ruled(ontology, claims) for claims in by_word.values()), key=lambda a: a.strength)
            rest = tuple(c.id for claims in by_word.values() for c in claims if c.id not in arc.claims)
            arcs[percept] = Arc(arc.strength, (*arc.claims, *rest))
        for group, kinds in net.groups.items():
            if group in arcs and any(kind in arcs for kind in kinds):
                del arcs[group]
        net.arcs[id] = {percept: arc for percept, arc in arcs.items() if arc.strength > 0}


def _add_learnt(net: Network, ontology: Ontology) -> None:
    """Strengths of the fitted table, where enough herbs stand behind one and its word is still the claim's."""
    for (cls, percept), (word, *figures) in ontology.tables.fitted.items():
        arc = net.arcs.get(cls, {}).get(percept)
        learnt = Learnt(*figures)  # type: ignore[arg-type]
        if arc is not None and learnt.herbs >= MIN_SUPPORT and ontology.claim(arc.claims[0]).word == word:
            net.arcs[cls][percept] = Arc(min(MAX_STRENGTH, learnt.value), arc.claims, learnt)
    for percept, value in ontology.tables.fitted_others.items():
        if percept in net.other_cause:
            net.other_cause[percept] = value


def _add_tests(net: Network, ontology: Ontology) -> None:
    rate = ontology.tables.rate
    families = ontology.families
    for test in ontology.tests:
        percept = TEST + test
        false_positive = 0.0
        for claim in ontology.pointing_at("shown_by", test):
            if claim.subject in ontology.herbs:
                continue
            false_positive = max(false_positive, rate(str(claim.facts["false_positive"])))
            direct = claim.subject in net.arcs
            for id in (claim.subject,) if direct else families.get(claim.subject, ()):
                hit = rate(claim.word)
                if hit > 0 and (direct or percept not in net.arcs[id]):
                    net.arcs[id][percept] = Arc(min(MAX_STRENGTH, hit), (claim.id,))
        net.other_cause[percept] = min(0.5, false_positive or _TEST_OTHER_CAUSE)


def percept_label(ontology: Ontology, percept: str) -> str:
    """The label of a quality or a test."""
    if percept.startswith(TEST):
        return ontology.label("test", percept.removeprefix(TEST))
    return ontology.label("quality", percept)
