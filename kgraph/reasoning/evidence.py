"""What a record says about each percept: one cell a percept, with the likelihoods of its reports.

A taster's cell is reported (weak, moderate, strong), absent, unnoticed (on the list, not mentioned) or not asked.
The likelihoods come from the report table; several tasters are pooled with an effective number (Kish 1965).
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import NamedTuple

from kgraph.claims import Ontology
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.network import TEST, Network
from kgraph.tasting import Finding, Record

#: A test result that is misread; the test's own hit and false-positive rates stand on its claims.
TEST_MISREAD = 0.02
_WORDS = ("absent", "weak", "moderate", "strong")


class Cell(NamedTuple):
    """The reports on one percept.

    Attributes:
        percept: quality id or ``test/<id>``.
        state: strong, moderate, weak, absent or unnoticed: the strongest report of any taster.
        there, not_there: likelihood of all reports where the percept is there, and where it is not; the larger is 1.
        named: the quality ids that were written in the record.
        tasters: how many tasters have a cell.
        reporting: how many of them noticed it.
        reports: state and weight of each taster's report; the weight is its share in the pooled log ratio.
        plain: the reports say that the percept is plain, not only that it is there.
    """

    percept: str
    state: str
    there: float
    not_there: float
    named: tuple[str, ...]
    tasters: int = 1
    reporting: int = 0
    reports: tuple[tuple[str, float], ...] = ()
    plain: bool = False

    @property
    def speaks_for(self) -> bool:
        """Noticed, and not outweighed by those who did not notice it."""
        return self.state in ("strong", "moderate", "weak") and self.log_ratio > 0

    @property
    def log_ratio(self) -> float:
        return math.log(self.there / self.not_there)


def _taster_states(ontology: Ontology, net: Network, record: Record, taster: str) -> dict[str, tuple[str, tuple[str, ...]]]:
    """Percept to (state, names written) for one taster."""
    strongest: dict[str, int] = {}
    names: dict[str, list[str]] = defaultdict(list)
    only_other_words: dict[str, bool] = {}
    absences: list[Finding] = []
    for finding in record.findings:
        if finding.taster != taster:
            continue
        quality = ontology.qualities[finding.quality]
        if quality.kind == "stop":
            continue
        if quality.kind == "absence":
            absences.append(finding)
            continue
        percept = ontology.percept(quality.id)
        strongest[percept] = max(strongest.get(percept, 0), finding.strength)
        names[percept].append(quality.id)
        only_other_words[percept] = only_other_words.get(percept, True) and quality.id != percept
    states: dict[str, tuple[str, tuple[str, ...]]] = {}
    for percept, strength in strongest.items():
        # "not puckering" alone leaves open whether it dries: no more than silence on drying
        state = "unnoticed" if strength == 0 and only_other_words[percept] else _WORDS[strength]
        states[percept] = (state, tuple(dict.fromkeys(names[percept])))
    looked_for = record.looked_for.get(taster, ())
    denied = _add_absences(ontology, net, absences, looked_for, states)
    _drop_implied_groups(net, states)
    for id in looked_for:
        quality = ontology.qualities[id]
        percept = ontology.percept(id)
        if quality.kind in ("absence", "stop") or percept in states or percept in denied:
            continue
        if quality.kind == "colour" and any(ontology.qualities[p].kind == "colour" for p in strongest):
            continue  # the colour of the infusion is one finding with several values
        states[percept] = ("unnoticed", (id,))
    return states


def _add_absences(ontology: Ontology, net: Network, absences: list[Finding], looked_for: tuple[str, ...], states: dict[str, tuple[str, tuple[str, ...]]]) -> set[str]:
    """`insipid` and `faint-or-none` mean: what was looked for there is absent. Returns the percepts settled by that."""
    denied: set[str] = set()
    for finding in absences:
        for id in ontology.qualities[finding.quality].absence_of:
            percept = ontology.percept(id)
            kinds = net.groups.get(percept, ())
            # an absent group settles its kinds; listing each again would count one statement many times
            denied.update(kinds)
            asked = not looked_for or id in looked_for or bool(kinds)
            if percept not in states and asked and not any(states.get(k, ("absent",))[0] in _WORDS[1:] for k in kinds):
                states[percept] = ("absent", (finding.quality,))
    return denied


def _drop_implied_groups(net: Network, states: dict[str, tuple[str, tuple[str, ...]]]) -> None:
    """A group is implied by a kind that the same taster noticed as strongly; its own cell then says nothing more."""
    for group, kinds in net.groups.items():
        if group in states:
            strongest = max((_WORDS.index(states[k][0]) for k in kinds if k in states and states[k][0] in _WORDS), default=0)
            own = states[group][0]
            if strongest and (own not in _WORDS or _WORDS.index(own) <= strongest):
                del states[group]


def _taster_likelihood(ontology: Ontology, net: Network, circumstances: Circumstances, taster: str, percept: str, state: str) -> tuple[float, float]:
    there, not_there = ontology.tables.report("taster", state, percept)
    effects = circumstances.personal.get(taster, ())
    if (kinds := net.groups.get(percept)) and not any(e.target == percept for e in effects):
        # a group is noticed through its kinds: a nose closed to these is closed to it
        dulled = {kind: min(1.0, e.value) for e in effects if e.relation == "dulls" for kind in kinds if e.target == kind}
        keep = sum(dulled.get(kind, 1.0) for kind in kinds) / len(kinds)
        there = keep * there + (1 - keep) * not_there
    for effect in effects:
        if effect.target == percept and effect.relation == "dulls":
            keep = min(1.0, effect.value)
            there = keep * there + (1 - keep) * not_there
        elif effect.target == percept and effect.relation == "fakes":
            not_there = effect.value * there + (1 - effect.value) * not_there
    return there, not_there


def cells_of(ontology: Ontology, net: Network, record: Record, circumstances: Circumstances) -> list[Cell]:
    """The cells of a record: findings first, in the order of the record, then what was looked for and not mentioned."""
    constants = ontology.tables.constants
    by_percept: dict[str, list[tuple[str, tuple[str, ...], float, float]]] = defaultdict(list)
    for taster in record.tasters:
        states = _taster_states(ontology, net, record, taster)
        silent = sum(1 for state, _ in states.values() if state == "unnoticed")
        damp = 1 / (1 + (silent - 1) * constants["unnoticed-correlation"]) if silent else 1.0
        for percept, (state, named) in states.items():
            there, not_there = _taster_likelihood(ontology, net, circumstances, taster, percept, state)
            log_ratio = math.log(there / not_there) * (damp if state == "unnoticed" else 1.0)
            plain_there, plain_not = ontology.tables.report("taster", state, percept)
            whole = math.log(plain_there / plain_not)
            by_percept[percept].append((state, named, log_ratio, log_ratio / whole if whole else 1.0))
    cells: list[Cell] = []
    rho = constants["taster-correlation"]
    for percept, reports in by_percept.items():
        count = len(reports)
        effective = count / (1 + (count - 1) * rho)
        log_ratio = effective / count * sum(r[2] for r in reports)
        states_of = [r[0] for r in reports]
        state = max(states_of, key=lambda s: (*_WORDS, "unnoticed").index(s) if s != "unnoticed" else -1)
        named = tuple(dict.fromkeys(name for r in reports for name in r[1]))
        plain = log_ratio > 0 and _most_say_plain(ontology, percept, reports)
        cells.append(
            Cell(percept, state, math.exp(min(0.0, log_ratio)), math.exp(min(0.0, -log_ratio)), named, count,
                 sum(1 for s in states_of if s in _WORDS[1:]), tuple((r[0], r[3] * effective / count) for r in reports), plain)
        )
    for result in record.tests:
        hit, miss = (1 - TEST_MISREAD, TEST_MISREAD) if result.seen else (TEST_MISREAD, 1 - TEST_MISREAD)
        scale = max(hit, miss)
        cells.append(Cell(TEST + result.test, "moderate" if result.seen else "absent", hit / scale, miss / scale, (), 1, int(result.seen)))
    return sorted(_one_threshold(net, cells), key=lambda c: c.state == "unnoticed")


def _most_say_plain(ontology: Ontology, percept: str, reports: list[tuple[str, tuple[str, ...], float, float]]) -> bool:
    """Do the reports that call it plain carry most of what speaks for it? One taster's "moderate" among weak ones does not."""
    speaking = [(state, ratio) for state, _, ratio, _ in reports if ratio > 0]
    plain = sum(ratio for state, ratio in speaking if ontology.tables.asks_plain("taster", state, percept))
    return 2 * plain > sum(ratio for _, ratio in speaking)


def _one_threshold(net: Network, cells: list[Cell]) -> list[Cell]:
    """A group and its kinds are asked the same: where they differ, whether they are there, which a plain one is too."""
    plain = {cell.percept: cell.plain for cell in cells}
    lower: set[str] = set()
    for group, kinds in net.groups.items():
        family = [p for p in (group, *kinds) if p in plain]
        if group in plain and len({plain[p] for p in family}) > 1:
            lower.update(family)
    return [cell._replace(plain=False) if cell.percept in lower else cell for cell in cells]


