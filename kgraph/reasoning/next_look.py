"""What to look for next: the expected gain of information about the families, quality by quality.

Gain is the sum over families of the mutual information between "family present" and "noticed or not", in bits
(Shannon 1948). All joint probabilities come from one batch of exact rows.
"""

from __future__ import annotations

import math

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


def rank_looks(ontology: Ontology, inference: Inference, families: dict[str, float], *, looking_only: bool, count: int = 8) -> tuple[Look, ...]:
    """The percepts and tests that would tell most about the most undecided families, best first, at most `count`."""
    undecided = sorted((f for f, p in families.items() if _OPEN[0] < p < _OPEN[1]), key=lambda f: (-firm(_entropy(families[f])), f))[:_FAMILIES]
    percepts = open_questions(ontology, inference, looking_only=looking_only)
    if not undecided or not percepts:
        return ()
    net, circumstances = inference.net, inference.circumstances
    percepts = _least_certain(ontology, inference, percepts)
    quiet = [evoking(net, circumstances, p) for p in percepts]
    questions: list[Question] = list(quiet)
    members = ontology.families
    for parts in quiet:
        questions += [{**parts, **dict.fromkeys(members[f], 1.0)} for f in undecided]
    evoked = inference.posterior_any(questions)[0]
    looks: list[Look] = []
    for i, percept in enumerate(percepts):
        spontaneous = other_cause(net, circumstances, percept)
        p_absent = (1 - float(evoked[i])) * (1 - spontaneous)
        bits = 0.0
        hit, false_report = _report_rates(ontology, percept)
        for j, family in enumerate(undecided):
            neither = (1 - float(evoked[len(percepts) + i * len(undecided) + j])) * (1 - spontaneous)
            bits += expected_gain(families[family], p_absent, neither, hit, false_report)
        looks.append(_look(ontology, percept, bits))
    # among near equals what needs no bench comes first
    looks.sort(key=lambda look: (-round(firm(look.bits * 20)), look.kind == "bench test", -firm(look.bits), look.id))
    return tuple(look for look in looks[:count] if look.bits > 1e-3)


def _least_certain(ontology: Ontology, inference: Inference, percepts: list[str]) -> list[str]:
    """The percepts whose report is least certain beforehand: no report can tell more than its own entropy."""
    net, circumstances = inference.net, inference.circumstances
    evoked = inference.posterior_any([evoking(net, circumstances, p) for p in percepts])[0]
    entropy: dict[str, float] = {}
    for percept, share in zip(percepts, evoked, strict=True):
        p_absent = (1 - float(share)) * (1 - other_cause(net, circumstances, percept))
        hit, false_report = _report_rates(ontology, percept)
        entropy[percept] = _entropy(hit * (1 - p_absent) + false_report * p_absent)
    return sorted(percepts, key=lambda p: (-firm(entropy[p]), p))[:_CANDIDATES]


def _report_rates(ontology: Ontology, percept: str) -> tuple[float, float]:
    if percept.startswith(TEST):
        return 0.98, 0.02
    there, not_there = ontology.tables.report("taster", "absent", percept)
    return 1 - there, 1 - not_there


def _look(ontology: Ontology, percept: str, bits: float) -> Look:
    if percept.startswith(TEST):
        test = ontology.tests[percept.removeprefix(TEST)]
        steps = f"{test.steps} {test.cautions}".strip()
        return Look(test.id, test.label, f"{test.kind} test", bits, steps)
    quality = ontology.qualities[percept]
    return Look(quality.id, quality.label, quality.sense, bits, quality.definition)


