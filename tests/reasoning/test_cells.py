"""What a record says of each percept: states and likelihoods worked out by hand from the report table of a made-up world."""

from __future__ import annotations

import math
from pathlib import Path

import handmade
import pytest
from handmade import record, row

import kgraph
from kgraph.reasoning.circumstances import Circumstances, circumstances_of
from kgraph.reasoning.evidence import Cell, cells_of
from kgraph.tasting import Finding, Record, Taster

STATES = {
    "conditions": [
        {"id": "deaf", "label": "deaf", "kind": "taster", "trigger": {"state": "cold"}},
        {"id": "haze", "label": "haze", "kind": "taster", "trigger": {"state": "hazy"}},
    ],
    "qualities": [
        {"id": "swell", "label": "swell", "sense": "mouthfeel", "kind": "stop"},
        {"id": "rosy", "label": "rosy", "sense": "appearance", "kind": "colour"},
        {"id": "murky", "label": "murky", "sense": "appearance", "kind": "colour"},
        {"id": "blank", "label": "blank", "sense": "taste", "kind": "absence", "absence_of": ["blim", "gorp"]},
    ],
    "dulls": [row(condition="deaf", quality="frim", effect="less"), row(condition="deaf", quality="blim", effect="more")],
    "fakes": [row(condition="haze", quality="gorp", strength="sometimes")],
    "draws": [row(**{"condition": "deaf", "class": "zork", "effect": "less"})],
    "tests": [{"id": "shake", "label": "shake", "kind": "kitchen"}],
}


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory):
    return handmade.build(tmp_path_factory.mktemp("cells"), extra=STATES)


def cells(world, r: Record) -> dict[str, Cell]:
    found = cells_of(world.ontology, world.network, r, circumstances_of(world.ontology, r))
    assert len({c.percept for c in found}) == len(found)
    return {c.percept: c for c in found}


def two(first: list[tuple[str, int]], second: list[tuple[str, int]], states: tuple[tuple[str, ...], tuple[str, ...]] = ((), ()), **looked_for: tuple[str, ...]) -> Record:
    findings = [Finding(q, s, "A") for q, s in first] + [Finding(q, s, "B") for q, s in second]
    return Record(tuple(findings), tasters={"A": Taster("A", states[0]), "B": Taster("B", states[1])}, looked_for=looked_for)


@pytest.mark.parametrize(
    ("strength", "state", "there", "not_there"),
    [(3, "strong", 1.0, 0.01 / 0.4), (2, "moderate", 1.0, 0.02 / 0.3), (1, "weak", 1.0, 0.07 / 0.2), (0, "absent", 0.1 / 0.9, 1.0)],
)
def test_one_report(world, strength: int, state: str, there: float, not_there: float) -> None:
    """The two likelihoods stand in the ratio of the table, the larger one is 1."""
    (cell,) = cells(world, record(("blim", strength))).values()
    assert (cell.percept, cell.state, cell.named, cell.tasters, cell.reporting) == ("blim", state, ("blim",), 1, int(strength > 0))
    assert (cell.there, cell.not_there) == pytest.approx((there, not_there), abs=1e-12)
    assert cell.log_ratio == pytest.approx(math.log(there / not_there)) and cell.speaks_for == (strength > 0)


def test_silence_shares_a_design_effect(world) -> None:
    """Three unmentioned cells at a correlation of 0.25 weigh 1 / 1.5 each; a single one weighs whole."""
    one = cells(world, record(("blim", 3), looked_for=("gorp",)))
    assert (one["gorp"].state, one["gorp"].there, one["gorp"].not_there) == ("unnoticed", pytest.approx(0.5), 1.0)
    assert one["gorp"].reporting == 0 and not one["gorp"].speaks_for and one["gorp"].named == ("gorp",)
    three = cells(world, record(("blim", 3), looked_for=("blim", "gorp", "frim", "sneb")))
    for percept in ("gorp", "frim", "sneb"):
        assert three[percept].there == pytest.approx(0.5 ** (1 / 1.5))
    assert three["blim"].not_there == pytest.approx(0.025), "findings are not damped"
    assert list(three) == ["blim", "gorp", "frim", "sneb"], "findings first, silence after them"


def test_silence_comes_last_whoever_is_silent(world) -> None:
    """A cell that was only looked for stands after all findings, in the order of the record otherwise."""
    assert list(cells(world, two([("blim", 1)], [("frim", 2)], A=("gorp",)))) == ["blim", "frim", "gorp"]


def test_two_tasters_are_pooled(world) -> None:
    """At a correlation of one half two tasters are worth 4/3, whose share of the summed logarithms is 2/3; the strongest word names the cell."""
    found = cells(world, two([("blim", 1), ("gorp", 0)], [("blim-word", 3)], B=("gorp",)))
    blim, gorp = found["blim"], found["gorp"]
    assert (blim.state, blim.tasters, blim.reporting, blim.named) == ("strong", 2, 2, ("blim", "blim-word"))
    assert blim.log_ratio == pytest.approx((math.log(0.2 / 0.07) + math.log(0.4 / 0.01)) * 2 / 3)
    assert (gorp.state, gorp.tasters, gorp.reporting) == ("absent", 2, 0), "a denial outranks silence"
    assert gorp.log_ratio == pytest.approx((math.log(0.1 / 0.9) + math.log(0.5)) * 2 / 3)


def test_one_of_two_noticed(world) -> None:
    """One taster's moderate report and the other's denial: the cell is moderate, one of two noticed it; what one taster alone was asked is that one's cell."""
    found = cells(world, two([("blim", 2), ("frim", 1)], [("blim", 0)]))
    assert (found["blim"].state, found["blim"].tasters, found["blim"].reporting) == ("moderate", 2, 1)
    assert found["blim"].log_ratio == pytest.approx((math.log(0.3 / 0.02) + math.log(0.1 / 0.9)) * 2 / 3)
    assert found["frim"].tasters == 1 and found["frim"].log_ratio == pytest.approx(math.log(0.2 / 0.07))


def test_a_percept_counts_once_for_a_taster(world) -> None:
    """Several moments and several words of one percept: the strongest report, once."""
    (cell,) = cells(world, record(("blim", 1), ("blim-word", 2), ("blim", 0), ("blim", 1))).values()
    assert (cell.state, cell.named, cell.tasters) == ("moderate", ("blim", "blim-word"), 1)
    assert cell.not_there == pytest.approx(0.02 / 0.3)


@pytest.mark.parametrize(
    ("findings", "state"),
    [((("blim-word", 0),), "unnoticed"), ((("blim-word", 0), ("blim", 0)), "absent"), ((("blim", 0), ("blim-word", 0)), "absent"), ((("blim-word", 1),), "weak")],
)
def test_a_denied_word_is_no_denied_percept(world, findings: tuple[tuple[str, int], ...], state: str) -> None:
    """Only the percept itself can be denied; the absence of another word for it is silence."""
    (cell,) = cells(world, record(*findings)).values()
    assert cell.state == state


def test_an_emergency_is_no_finding(world) -> None:
    """Stop signs make no cell, reported or looked for; nor does an absence that was looked for."""
    assert list(cells(world, record(("swell", 2), ("blim", 1), looked_for=("swell", "void", "gorp")))) == ["blim", "gorp"]


def test_the_colour_is_one_finding(world) -> None:
    """A reported colour leaves the others unasked; without one every colour that was looked for is unmentioned; other percepts do not matter."""
    assert list(cells(world, record(("rosy", 1), looked_for=("rosy", "murky", "gorp")))) == ["rosy", "gorp"]
    assert list(cells(world, record(("blim", 1), looked_for=("rosy", "murky")))) == ["blim", "rosy", "murky"]


def test_an_absence_denies_what_was_looked_for(world) -> None:
    """`blank` denies blim and gorp if no list says what was asked, else those on the list; a reported one stands against it."""
    everything = cells(world, record(("blank", 3)))
    assert {p: (c.state, c.named) for p, c in everything.items()} == {"blim": ("absent", ("blank",)), "gorp": ("absent", ("blank",))}
    assert {p: c.state for p, c in cells(world, record(("blank", 3), looked_for=("gorp", "frim"))).items()} == {"gorp": "absent", "frim": "unnoticed"}
    assert {p: c.state for p, c in cells(world, record(("blank", 3), ("blim", 1))).items()} == {"blim": "weak", "gorp": "absent"}
    assert {p: c.state for p, c in cells(world, record(("blim", 0), ("blank", 3))).items()} == {"blim": "absent", "gorp": "absent"}


def test_an_absent_group_settles_its_kinds(world) -> None:
    """`void` denies the group, though the list names kinds only, and these are not counted again; a kind that was noticed stands instead."""
    assert {p: c.state for p, c in cells(world, record(("void", 3), ("blim", 1), looked_for=("frim", "sneb", "gorp"))).items()} == {
        "blim": "weak", "zemm": "absent", "gorp": "unnoticed"}
    assert {p: c.state for p, c in cells(world, record(("void", 3), ("frim", 1))).items()} == {"frim": "weak"}
    assert {p: c.state for p, c in cells(world, record(("void", 3), ("frim", 0))).items()} == {"frim": "absent", "zemm": "absent"}


def test_a_noticed_kind_implies_its_group(world) -> None:
    """The group's own cell goes when a kind was noticed as strongly, denied though it may be; it stays beside a weaker, denied or unmentioned kind."""
    assert set(cells(world, record(("zemm", 3), ("frim", 1)))) == {"zemm", "frim"}
    assert set(cells(world, record(("zemm", 1), ("frim", 1)))) == {"frim"}
    assert set(cells(world, record(("zemm", 0), ("sneb", 2)))) == {"sneb"}
    assert set(cells(world, record(("zemm", 3), ("frim", 0)))) == {"zemm", "frim"}
    assert set(cells(world, record(("zemm", 3), ("blim", 2), looked_for=("sneb",)))) == {"zemm", "blim", "sneb"}


def test_a_kind_of_one_taster_leaves_the_others_their_group(world) -> None:
    """One names a kind, the other denies the group: both count, and the denial is not thrown away."""
    found = cells(world, two([("frim", 1)], [("zemm", 0)]))
    assert set(found) == {"frim", "zemm"} and found["zemm"].tasters == 1 and found["zemm"].state == "absent"


def test_outweighed_is_not_there(world) -> None:
    """Noticed weakly by one and denied by another: it speaks against, and each report keeps its share."""
    cell = cells(world, two([("blim", 1)], [("blim", 0)]))["blim"]
    assert cell.state == "weak" and cell.reporting == 1 and cell.log_ratio < 0 and not cell.speaks_for
    assert [state for state, _ in cell.reports] == ["weak", "absent"]
    assert [weight for _, weight in cell.reports] == pytest.approx([2 / 3, 2 / 3])


@pytest.mark.parametrize(("seen", "state"), [(True, "moderate"), (False, "absent")])
def test_a_test_is_misread_once_in_fifty(world, seen: bool, state: str) -> None:
    """The outcome of a test is a cell of its own, before what was not mentioned."""
    found = cells(world, record(("blim", 1), looked_for=("gorp",), tests=(("shake", seen),)))
    assert list(found) == ["blim", "test/shake", "gorp"]
    cell = found["test/shake"]
    assert (cell.state, cell.tasters, cell.reporting, cell.named) == (state, 1, int(seen), ())
    assert (cell.there, cell.not_there) == pytest.approx((1.0, 0.02 / 0.98) if seen else (0.02 / 0.98, 1.0))


@pytest.fixture(scope="module")
def known_nose():
    return kgraph.load()


def test_a_blocked_nose_mixes_only_that_tasters_reports(world) -> None:
    """A state of one of two tasters that halves frim: where it was there, this taster had half a chance to notice; more than all is not kept."""
    r = two([("frim", 0), ("blim", 3)], [("frim", 0), ("blim", 3)], states=(("cold",), ()))
    found = cells(world, r)
    mine = math.log((0.5 * 0.1 + 0.5 * 0.9) / 0.9)
    assert found["frim"].log_ratio == pytest.approx((mine + math.log(0.1 / 0.9)) * 2 / 3)
    assert found["blim"].log_ratio == pytest.approx(2 * math.log(40) * 2 / 3), "a factor above 1 adds nothing"


def test_a_nose_closed_to_the_kinds_is_closed_to_their_group(known_nose) -> None:
    """A taster with a blocked nose who finds no smell says less than one who breathes freely."""
    both = [("aromatic", 0), ("bitter", 2)]
    free = cells(known_nose, two(both, both))["aromatic"]
    blocked = cells(known_nose, two(both, both, states=(("blocked-nose",), ())))["aromatic"]
    assert free.log_ratio < blocked.log_ratio < 0
    assert blocked.log_ratio < free.log_ratio / 2, "the free nose counts in full"


def test_a_state_that_fakes_makes_the_report_say_less(world) -> None:
    """With a fake of 0.4, gorp is reported where it is not there as if it were there in four of ten cases."""
    found = cells(world, two([("gorp", 2), ("frim", 2)], [], states=(("hazy",), ())))
    assert found["gorp"].log_ratio == pytest.approx(math.log(0.3 / (0.4 * 0.3 + 0.6 * 0.02)))
    assert found["frim"].log_ratio == pytest.approx(math.log(0.3 / 0.02)), "no effect on another percept"


def test_a_rare_false_report_says_more(tmp_path: Path) -> None:
    """With a fifth of the false reports a strong report of frim says five times as much, and its absence a little less."""
    known = handmade.build(tmp_path, false_reports={"frim": 0.2})
    (strong,) = cells_of(known.ontology, known.network, record(("frim", 3)), Circumstances())
    (absent,) = cells_of(known.ontology, known.network, record(("frim", 0)), Circumstances())
    assert strong.not_there == pytest.approx(0.005) and absent.there == pytest.approx(0.1 / 0.98)
