"""What to look for next: the expected gain of information about the families, quality by quality.

Gain is the sum over families of the mutual information between "family present" and "noticed or not", in bits
(Shannon 1948). All joint probabilities come from one batch of exact rows.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from kgraph.claims import Ontology
from kgraph.reasoning.answer import Look
from kgraph.reasoning.inference import Inference, Question, evoking, other_cause
from kgraph.reasoning.network import TEST
from kgraph.reasoning.weights import firm

#: A family this likely, or this unlikely, is settled and not asked about; of the others, the most undecided ones count.
_OPEN = (0.02, 0.98)
_FAMILIES = 8
#: So many percepts and tests, those whose outcome is least certain, are worked out in full.
_CANDIDATES = 16
#: Less than this is not worth a look.
LEAST_BITS = 1e-3


def _entropy(p: float) -> float:
    if p <= 0 or p >= 1:
        return 0.0
    return -p * math.log2(p) - (1 - p) * math.log2(1 - p)


def expected_gain(p_family: float, p_absent: float, p_neither: float, hit: float, false_report: float) -> float:
    """Mutual information in bits of "family present" and "reported".

    Args:
        p_family: P(family present).
        p_absent: P(percept not there).
        p_neither: P(percept not there and family absent).
        hit, false_report: P(reported | percept there), P(reported | not there).
    """
    absent_and_family = p_absent - p_neither
    there_and_family = p_family - absent_and_family
    reported = hit * (1 - p_absent) + false_report * p_absent
    reported_and_family = hit * there_and_family + false_report * absent_and_family
    if not 0 < reported < 1:
        return 0.0
    silent = 1 - reported
    after = reported * _entropy(reported_and_family / reported) + silent * _entropy((p_family - reported_and_family) / silent)
    return max(0.0, _entropy(p_family) - after)


def open_questions(ontology: Ontology, inference: Inference, *, looking_only: bool) -> list[str]:
    """Percepts and tests that were not asked and may be offered now."""
    asked = {cell.percept for cell in inference.cells} | {cell.percept for cell in inference.left_out}
    offered: list[str] = []
    for quality in ontology.qualities.values():
        if quality.kind in ("percept", "kind", "colour") and quality.id not in asked:
            safe = quality.sense == "appearance"
            if safe or not looking_only:
                offered.append(quality.id)
    for test in ontology.tests.values():
        if TEST + test.id not in asked and (test.safe_without_label or not looking_only):
            offered.append(TEST + test.id)
    return [p for p in offered if inference.net.evokers(p)]


class Outlook(NamedTuple):
    """One percept or test that was not asked: P(it would be reported), the gain in bits, and for each family P(it | reported) and P(it | not)."""

    percept: str
    reported: float
    bits: float
    if_reported: Mapping[str, float]
    if_not: Mapping[str, float]


def rank_looks(ontology: Ontology, inference: Inference, families: dict[str, float], *, looking_only: bool, count: int = 8) -> tuple[Look, ...]:
    """The percepts and tests that would tell most about the most undecided families, best first, at most `count`."""
    percepts = open_questions(ontology, inference, looking_only=looking_only)
    found = family_outlooks(ontology, inference, families, least_certain(ontology, inference, percepts))
    looks = [look_at(ontology, outlook.percept, outlook.bits) for outlook in found]
    # among near equals what needs no bench comes first
    looks.sort(key=lambda look: (-round(firm(look.bits * 20)), look.kind == "bench test", -firm(look.bits), look.id))
    return tuple(look for look in looks[:count] if look.bits > LEAST_BITS)


def family_outlooks(ontology: Ontology, inference: Inference, families: Mapping[str, float], percepts: Sequence[str]) -> list[Outlook]:
    """What each percept would tell about the most undecided families (at most eight); nothing where all are settled."""
    undecided = sorted((f for f, p in families.items() if _OPEN[0] < p < _OPEN[1]), key=lambda f: (-firm(_entropy(families[f])), f))[:_FAMILIES]
    if not undecided or not percepts:
        return []
    net, circumstances = inference.net, inference.circumstances
    quiet = [evoking(net, circumstances, p) for p in percepts]
    questions: list[Question] = list(quiet)
    members = ontology.families
    for parts in quiet:
        questions += [{**parts, **dict.fromkeys(members[f], 1.0)} for f in undecided]
    evoked = inference.posterior_any(questions)[0]
    found = []
    for i, percept in enumerate(percepts):
        spontaneous = other_cause(net, circumstances, percept)
        p_absent = (1 - float(evoked[i])) * (1 - spontaneous)
        hit, false_report = report_rates(ontology, percept)
        reported = hit * (1 - p_absent) + false_report * p_absent
        bits = 0.0
        yes, no = {}, {}
        for j, family in enumerate(undecided):
            neither = (1 - float(evoked[len(percepts) + i * len(undecided) + j])) * (1 - spontaneous)
            bits += expected_gain(families[family], p_absent, neither, hit, false_report)
            both = hit * (families[family] - p_absent + neither) + false_report * (p_absent - neither)
            yes[family] = min(1.0, max(0.0, both / reported)) if reported > 0 else families[family]
            no[family] = min(1.0, max(0.0, (families[family] - both) / (1 - reported))) if reported < 1 else families[family]
        found.append(Outlook(percept, reported, bits, yes, no))
    return found


def least_certain(ontology: Ontology, inference: Inference, percepts: list[str]) -> list[str]:
    """The percepts whose report is least certain beforehand: no report can tell more than its own entropy."""
    net, circumstances = inference.net, inference.circumstances
    evoked = inference.posterior_any([evoking(net, circumstances, p) for p in percepts])[0]
    entropy: dict[str, float] = {}
    for percept, share in zip(percepts, evoked, strict=True):
        p_absent = (1 - float(share)) * (1 - other_cause(net, circumstances, percept))
        hit, false_report = report_rates(ontology, percept)
        entropy[percept] = _entropy(hit * (1 - p_absent) + false_report * p_absent)
    return sorted(percepts, key=lambda p: (-firm(entropy[p]), p))[:_CANDIDATES]


def report_rates(ontology: Ontology, percept: str) -> tuple[float, float]:
    """P(reported | there) and P(reported | not there) of a taster who is asked, or of a test."""
    if percept.startswith(TEST):
        return 0.98, 0.02
    there, not_there = ontology.tables.report("taster", "absent", percept)
    return 1 - there, 1 - not_there


def look_at(ontology: Ontology, percept: str, bits: float) -> Look:
    """A percept or test as something to do next."""
    if percept.startswith(TEST):
        test = ontology.tests[percept.removeprefix(TEST)]
        steps = f"{test.steps} {test.cautions}".strip()
        return Look(test.id, test.label, f"{test.kind} test", bits, steps)
    quality = ontology.qualities[percept]
    return Look(quality.id, quality.label, quality.sense, bits, quality.definition)


