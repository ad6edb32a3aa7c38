"""How far published associations and the ontology agree: by the graph's own paths, and by its herbs with one vote a plant family."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from math import comb
from typing import NamedTuple

from association_rows import Row

from kgraph.claims import Ontology
from kgraph.reasoning.answer import Candidate
from kgraph.session import Reply

RAISED, NOT_RAISED = 0.5, 0.2  # decibans; between them undecided, which never agrees


# -- the interval ----------------------------------------------------------------------------------------------


def at_most(k: int, n: int, p: float) -> float:
    """P(at most k of n) of a binomial with chance p."""
    return sum(comb(n, i) * p**i * (1 - p) ** (n - i) for i in range(k + 1))


def interval(k: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """The exact binomial interval of Clopper and Pearson (Biometrika 26:404-413, 1934), by bisection."""
    tail = (1 - level) / 2

    def edge(below: Callable[[float], bool]) -> float:
        low, high = 0.0, 1.0
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if below(middle) else (low, middle)
        return low

    lower = 0.0 if k == 0 else edge(lambda p: 1 - at_most(k - 1, n, p) < tail)
    upper = 1.0 if k == n else edge(lambda p: at_most(k, n, p) > tail)
    return lower, upper


class Count(NamedTuple):
    """Agreements out of all."""

    agreed: int
    rows: int

    @property
    def lower(self) -> float:
        return interval(*self)[0]

    def __str__(self) -> str:
        low, high = interval(*self)
        return f"{self.agreed} of {self.rows} agree, 95 % interval {low:.3f} to {high:.3f}"


def count(agreements: Iterable[bool]) -> Count:
    found = list(agreements)
    return Count(sum(found), len(found))


# -- by the graph's own paths ----------------------------------------------------------------------------------


def family(ontology: Ontology, row: Row) -> str:
    """The family of a row's class (a row may name a family at once)."""
    return row.target[0] if row.target[0] in ontology.families else ontology.family_of(row.target[0])


def carriers(ontology: Ontology, row: Row) -> set[str]:
    """The actions of a row: its own, or those that carry one of its uses in general (what one herb is used for is left out)."""
    if row.kind == "action":
        return set(row.target)
    return {claim.subject for use in row.target for claim in ontology.linked("used_for") if claim.object == use}


def candidates(ontology: Ontology, reply: Reply, row: Row) -> list[Candidate]:
    """What one strong report leads to on the way to the target: the family, or every carrying action with a path, strongest path first."""
    if row.kind == "class":
        return [c for c in reply.families if c.id == family(ontology, row)]
    reached = [c for c in reply.actions if c.id in carriers(ontology, row) and c.paths]
    return sorted(reached, key=lambda c: (-c.paths[0].probability, c.id))


def rise(ontology: Ontology, reply: Reply, row: Row) -> float | None:
    """Decibans of the family, or of the action with the strongest path; None: no path leads there."""
    found = candidates(ontology, reply, row)
    return found[0].weight_db if found else None


def meets(sign: str, db: float | None) -> bool:
    """Does a rise meet the published sign? No path meets a minus, never a plus."""
    return (db is not None and db >= RAISED) if sign == "+" else (db is None or db <= NOT_RAISED)


def reads_back(ontology: Ontology, reply: Reply, row: Row) -> bool:
    """Does any statement on the row's paths cite the very publication that the row is taken from?"""
    found = candidates(ontology, reply, row)
    ids = {id for candidate in found for path in candidate.paths for id in path.claims}
    claims = [ontology.claim(id) for id in ids]
    if row.kind == "use":
        reached = {candidate.id for candidate in found}
        claims += [c for c in ontology.linked("used_for") if c.subject in reached and c.object in row.target]
    return any(a.source == row.ours for claim in claims for a in claim.attributions)


# -- by herbs, one vote a plant family -------------------------------------------------------------------------


class Tally(NamedTuple):
    """Herbs of one plant family: how many, and how many of them carry the target; without the quality, and with it."""

    without: int
    without_carry: int
    having: int
    having_carry: int


def tallies(ontology: Ontology, row: Row) -> list[Tally]:
    """One tally a plant family. A quality is had if it, a word for it or a kind of it is described; a class counts from minor level up."""
    percept = ontology.percept(row.quality)
    wanted = {percept, *ontology.kinds_of(percept)}
    relation = {"class": "contains", "action": "acts_as", "use": "used_for"}[row.kind]
    classes: Mapping[str, tuple[str, ...]] = ontology.families
    targets = set(classes[family(ontology, row)]) if row.kind == "class" else set(row.target)
    by_family: dict[str, list[tuple[bool, bool]]] = defaultdict(list)
    for id, herb in ontology.herbs.items():
        has = any(ontology.percept(c.object) in wanted and c.word != "absent" for c in ontology.said_of("described_as", id))
        carries = any(c.object in targets and (row.kind != "class" or c.word != "trace") for c in ontology.said_of(relation, id))
        by_family[herb.family].append((has, carries))
    return [
        Tally(sum(not h for h, _ in found), sum(c and not h for h, c in found), sum(h for h, _ in found), sum(c and h for h, c in found))
        for found in by_family.values()
    ]


def vote(ontology: Ontology, row: Row) -> str:
    """The sign that most plant families give: +, -, even, or `""` where no family has herbs both with and without the quality."""
    mixed = [t for t in tallies(ontology, row) if t.without and t.having]
    differences = [t.having_carry * t.without - t.without_carry * t.having for t in mixed]
    balance = sum(d > 0 for d in differences) - sum(d < 0 for d in differences)
    return "" if not mixed else "+" if balance > 0 else "-" if balance < 0 else "even"


def weighed(ontology: Ontology, row: Row) -> str:
    """The sign over all herbs, each weighing one part of its plant family, so that every family weighs one; `""`: none has the quality."""
    found = tallies(ontology, row)
    size = [t.without + t.having for t in found]
    without, without_carry, having, having_carry = (sum(t[i] / n for t, n in zip(found, size, strict=True)) for i in range(4))
    if not having:
        return ""
    difference = having_carry / having - without_carry / without
    return "+" if difference > 1e-12 else "-" if difference < -1e-12 else "even"
