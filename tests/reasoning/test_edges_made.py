"""Small promises that no other test leans on: ties, orders and masks, each worked out by hand."""

from __future__ import annotations

import dataclasses
import itertools
from pathlib import Path

import handmade
import pytest

from kgraph.reasoning import heed
from kgraph.reasoning.asking import ask
from kgraph.reasoning.elimination import Elimination
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.plan import Bit, Leave, Node, Plan


def test_the_likelier_caution_stands_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two cautions of one severity the likelier one is told first, also where its id comes later."""
    known = handmade.build(tmp_path, warns={("zork", "hush"): "care", ("wug", "ouch"): "care"})
    inference = handmade.inference(known)
    known.network.prior.update({"zork": 0.01, "wug": 0.01})
    inference.posterior.update({"zork": 0.1, "wug": 0.2})
    monkeypatch.setattr(Inference, "posterior_any", lambda self, questions, without=(): [[self.posterior[next(iter(q))] for q in questions]])
    assert [(h.id, h.probability) for h in heed.heed_of_tasting(known.ontology, inference, ())] == [("ouch", 0.2), ("hush", 0.1)]


def test_a_kind_is_ordered_with_its_group() -> None:
    """What the order reckons with for each class: its percepts, and the group of every kind among them."""
    bits = [Bit(0.8, 0.1, 0.02, 2), Bit(0.8, 0.1, 0.02), Bit(0.8, 0.1, 0.02), Bit(0.8, 0.1, 0.02, 0)]
    nodes = [Node(0.2, ((0, 0.5),)), Node(0.2, ((1, 0.5), (2, 0.5))), Node(0.2, ((1, 0.5), (3, 0.5))), Node(0.2, ())]
    assert Plan(nodes, [*bits[:3], Bit(0.8, 0.1, 0.02)])._masks([[0], [1], [2], [3]]) == [0b0101, 0b0110, 0b1010, 0]
    assert Plan(nodes[:2], bits[:3])._masks([[1], [0]]) == [0b110, 0b101]


def test_a_kind_leaves_from_behind_another_percept() -> None:
    """The table reads group, another percept, kind when the kind leaves: the truth it passes on jumps over the one between."""
    bits = [Bit(0.3, 0.9, 0.1, 2), Bit(0.8, 0.2, 0.05), Bit(0.7, 0.1, 0.02)]
    nodes = [Node(0.4, ((2, 0.6), (1, 0.5))), Node(0.3, ((0, 0.8), (1, 0.35)))]
    engine = Elimination(nodes, bits)
    (kind,) = [s for s in engine.steps if isinstance(s, Leave) and s.bit == 0]
    assert (kind.parent, kind.position) == (0, 2), "otherwise this says nothing"
    total, first = 0.0, 0.0
    for a, b, k, x, g in itertools.product((0, 1), repeat=5):
        quiet = (0.9 * (1 - 0.8 * b), 0.95 * (1 - 0.5 * a) * (1 - 0.35 * b), 0.98 * (1 - 0.6 * a))
        weight = (0.4 if a else 0.6) * (0.3 if b else 0.7)
        for there, q in zip((k, x, g), quiet, strict=True):
            weight *= 1 - q if there else q
        for there, bit in zip((k, x, g or k), bits, strict=True):
            weight *= bit.there if there else bit.not_there
        total += weight
        first += weight * a
    found, present, _ = engine.marginals()
    assert found == pytest.approx(total, rel=1e-12) and present[0] == pytest.approx(first, rel=1e-12)
    assert list(engine.totals(engine.weights(3))) == pytest.approx([total] * 3, rel=1e-12)


def test_just_enough_is_enough(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Carriers that together rose by exactly the least raise the caution; a class that rose by exactly the least is among the reasons."""
    known = handmade.build(tmp_path, warns={("zork", "hush"): "care", ("wug", "hush"): "care"})
    inference = handmade.inference(known)
    monkeypatch.setattr(heed, "RISEN_BY", 0.25)
    monkeypatch.setattr(Inference, "posterior_any", lambda self, questions, without=(): [[0.5]])
    known.network.prior.update({"zork": 0.25, "wug": 0.0})
    inference.posterior.update({"zork": 0.3, "wug": 0.01})
    assert [h.because for h in heed.heed_of_tasting(known.ontology, inference, ())] == [("zork",)]
    known.network.prior.update({"zork": 0.25, "wug": 0.25})
    inference.posterior.update({"zork": 0.5, "wug": 0.75})
    assert [h.because for h in heed.heed_of_tasting(known.ontology, inference, ())] == [("wug", "zork")]


def test_an_explanation_cannot_be_changed(known) -> None:
    """What was explained stays as it was said."""
    explained = known.why("bitter").explanation
    with pytest.raises(dataclasses.FrozenInstanceError):
        explained.notice = ""


def test_only_what_rose_brings_its_cautions_along(tmp_path: Path) -> None:
    """A class on the path of a family that rose by less than two decibans is warned of; one on the path of what stayed as it was is not."""
    world = handmade.build(
        tmp_path, evokes={("dax", "gorp"): "sometimes", ("plon", "blim"): "rarely"}, default_other=0.2,
        warns={("dax", "ouch"): "care", ("plon", "hush"): "care"}, acts={("plon", "quell"): "often"},
    )
    reply = world.ask(handmade.record(("gorp", 1), ("blim", 1)))
    families = {c.id: c for c in reply.families}
    assert (families["dax"].standing, families["plon"].standing) == ("risen", "unchanged") and families["dax"].weight_db < 2
    (quell,) = [c for c in reply.actions if c.id == "quell"]
    assert quell.standing == "unchanged" and quell.paths and families["plon"].paths
    assert [(h.id, h.because) for h in reply.cautions] == [("ouch", ("dax",))]


def test_a_plain_question_hides_and_adds_nothing(tmp_path: Path) -> None:
    """Unless asked for, the label is not sealed and the strengths of the arcs are not told."""
    world = handmade.build(tmp_path, plants={"alba": {}})
    answer = ask(world.ontology, world.network, handmade.record(("blim", 2), herb="alba"))
    assert answer.label.herb == "alba" and not answer.label.sealed and answer.strengths == {}
    assert ask(world.ontology, world.network, handmade.record(("blim", 2)), strengths=True).strengths["arcs"]
