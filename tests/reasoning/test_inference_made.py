"""Questions put to the engine, against the full joint distribution of a made-up world."""

from __future__ import annotations

from pathlib import Path

import handmade
import pytest
from handmade import row

from kgraph.reasoning.circumstances import Circumstances, Effect
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.inference import Inference, arc_strength, other_cause, pose

BLIM = Cell("blim", "strong", 1.0, 0.025, ("blim",))
GORP = Cell("gorp", "absent", 0.2, 1.0, ("gorp",))
FRIM = Cell("frim", "absent", 0.3, 1.0, ("frim",))
ZEMM = Cell("zemm", "weak", 1.0, 0.35, ("zemm",))
ALL = ["blim", "gorp", "frim", "sneb", "zemm"]


def likelihood(cells: tuple[Cell, ...], there: frozenset[str]) -> float:
    value = 1.0
    for cell in cells:
        named = {"zemm", "frim", "sneb"} if cell.percept == "zemm" else {cell.percept}
        value *= cell.there if there & named else cell.not_there
    return value


def by_hand(cells: tuple[Cell, ...], taken: dict[str, float]) -> float:
    """P(any of `taken` takes part | these cells)."""
    total = none = 0.0
    for weight, present, there in handmade.worlds(handmade.spec(), ALL):
        joint = weight * likelihood(cells, there)
        total += joint
        for c in present:
            joint *= 1 - taken.get(c, 0.0)
        none += joint
    return 1 - none / total


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory):
    return handmade.build(tmp_path_factory.mktemp("inference"))


QUESTIONS = [{"zork": 1.0}, {"wug": 0.5, "plon": 0.25}, {"dax": 0.6}, {"zork": 0.3, "dax": 1.0}]


@pytest.mark.parametrize("cells", [(BLIM, GORP, FRIM, ZEMM), (ZEMM,), (BLIM,), (GORP, FRIM), (BLIM, GORP)])
def test_questions_with_and_without_cells(known, cells: tuple[Cell, ...]) -> None:
    """Every question on all cells, and with each one or two of them taken out, a muted kind or group included."""
    inference = handmade.inference(known, *cells)
    without = [[i] for i in range(len(cells))] + [[0, len(cells) - 1]]
    table = inference.posterior_any(QUESTIONS, without)
    assert table.shape == (1 + len(without), len(QUESTIONS))
    for line, gone in zip(table, [[], *without], strict=True):
        kept = tuple(c for i, c in enumerate(cells) if i not in gone)
        # a kind without a report of its own is part of its group again only when posed anew: muted, it tells the group its truth as before
        assert list(line) == pytest.approx([by_hand(kept, q) for q in QUESTIONS], abs=1e-9)
    assert [inference.prior_any(q) for q in QUESTIONS] == pytest.approx([by_hand((), q) for q in QUESTIONS], abs=1e-12)


def test_unaccounted_by_hand(known) -> None:
    """P(no class gave it | reports) for several percepts at once."""
    cells = (BLIM, GORP, Cell("sneb", "weak", 1.0, 0.35, ("sneb",)))
    inference = handmade.inference(known, *cells)
    expected = []
    for percept in ("sneb", "blim"):
        (cell,) = [c for c in cells if c.percept == percept]
        others = tuple(c for c in cells if c is not cell)
        total = quiet = 0.0
        for weight, present, there in handmade.worlds(handmade.spec(), [c.percept for c in others]):
            joint = weight * likelihood(others, there)
            none = 1.0
            for c in present:
                none *= 1 - handmade.spec().arc(c, percept, False)
            mine = 0.05 * cell.there + 0.95 * cell.not_there
            quiet += joint * none * mine
            total += joint * (none * mine + (1 - none) * cell.there)
        expected.append(quiet / total)
    assert inference.unaccounted(["sneb", "blim"]) == pytest.approx(expected, abs=1e-9)


def heated(*values: float, drawn: dict[str, float] | None = None, dulled: dict[str, float] | None = None) -> Circumstances:
    found = Circumstances(drawn=drawn or {}, dulled=dulled or {})
    for value in values:
        found.faked["blim"].append(Effect("murk", "fakes", "blim", value, "x"))
    return found


def test_other_causes_and_fakes(known) -> None:
    """Fakes join the other causes by noisy-OR; what is unknown of has none."""
    assert other_cause(known.network, heated(0.4, 0.1), "blim") == pytest.approx(1 - 0.95 * 0.6 * 0.9)
    assert other_cause(known.network, heated(0.4, 0.1), "gorp") == pytest.approx(0.05)
    assert other_cause(known.network, Circumstances(), "unheard-of") == 0.0


def test_arcs_under_conditions(known) -> None:
    """Factors on the class and on the percept multiply, a strength stays below 0.999, no arc has strength 0."""
    c = heated(drawn={"zork": 0.5}, dulled={"blim": 0.8, "gorp": 3.0})
    assert arc_strength(known.network, c, "zork", "blim") == pytest.approx(0.9 * 0.5 * 0.8)
    assert arc_strength(known.network, c, "wug", "blim") == pytest.approx(0.4 * 0.8)
    assert arc_strength(known.network, c, "wug", "gorp") == 0.999
    assert arc_strength(known.network, c, "dax", "blim") == 0.0


@pytest.mark.parametrize("fakes", [(0.4,), (0.4, 0.1)])
def test_the_faked_share_by_hand(known, fakes: tuple[float, ...]) -> None:
    """Not from any class, but there by a fake: quiet x (1 - the product of the misses) x there, over everything."""
    inference = Inference(known.network, heated(*fakes), [BLIM])
    missed = 1.0
    for value in fakes:
        missed *= 1 - value
    quiet = (1 - 2.5 / 11 * 0.9) * (1 - 3.5 / 11 * 0.4)
    total = (1 - quiet * 0.95 * missed) * 1.0 + quiet * 0.95 * missed * 0.025
    assert inference.total == pytest.approx(total, abs=1e-12)
    assert inference.faked_share("blim") == pytest.approx(quiet * (1 - missed) / total, abs=1e-9)
    assert handmade.inference(known, BLIM).faked_share("blim") == 0.0


def test_a_group_takes_over_its_silent_kinds(known) -> None:
    """Of the group's kinds those without a cell of their own give their arcs and other causes to it, the others hang below it."""
    alone = pose(known.network, Circumstances(), [ZEMM])
    assert alone.bits[0].parent == -1 and alone.bits[0].other == pytest.approx(1 - 0.95**3)
    assert alone.strengths == pytest.approx({("plon", "zemm"): 0.9, ("dax", "zemm"): 0.7}) and alone.classes == ["plon", "dax"]
    assert [n.prior for n in alone.nodes] == pytest.approx([4.5 / 11, 1.5 / 11])
    both = pose(known.network, Circumstances(), [FRIM, ZEMM, GORP])
    assert [b.parent for b in both.bits] == [1, -1, -1] and [b.other for b in both.bits] == pytest.approx([0.05, 1 - 0.95**2, 0.05])
    assert both.strengths == pytest.approx({("plon", "frim"): 0.9, ("dax", "zemm"): 0.7, ("wug", "gorp"): 0.7, ("plon", "gorp"): 0.1})
    assert [(b.there, b.not_there) for b in both.bits] == [(0.3, 1.0), (1.0, 0.35), (0.2, 1.0)]
    assert both.nodes[1].arcs == ((0, pytest.approx(0.9)), (2, pytest.approx(0.1)))


def test_two_kinds_of_one_class_join(tmp_path: Path) -> None:
    """A class with arcs to two silent kinds gives their group by noisy-OR."""
    known = handmade.build(tmp_path, evokes={("plon", "frim"): "often", ("plon", "sneb"): "sometimes"})
    assert pose(known.network, Circumstances(), [ZEMM]).strengths == pytest.approx({("plon", "zemm"): 1 - 0.3 * 0.6})


def test_classes_that_nothing_touches_keep_their_prior(known) -> None:
    """A class without an arc into a cell has its prior after as before, alone and in a group of classes."""
    inference = handmade.inference(known, BLIM)
    assert inference.posterior["dax"] == known.network.prior["dax"] and set(inference.posterior) == set(known.network.prior)
    assert set(inference.fired) == {("zork", "blim"), ("wug", "blim")}


def test_what_says_least_is_left_out_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the table gets too wide, the cells nearest to saying nothing go one by one, equals by id, and the rest keep their order."""
    import kgraph.reasoning.plan as plan

    evokes = {(c, p): "often" for c in ("zork", "wug", "plon", "dax") for p in ("blim", "gorp", "frim", "sneb")}
    known = handmade.build(tmp_path, evokes=evokes)
    cells = [Cell("sneb", "absent", 0.5, 1.0, ()), Cell("blim", "strong", 1.0, 0.1, ()), Cell("gorp", "weak", 1.0, 0.5, ()), Cell("frim", "weak", 1.0, 0.4, ())]
    monkeypatch.setattr(plan, "MAX_WIDTH", 2)
    inference = handmade.inference(known, *cells)
    assert [c.percept for c in inference.left_out] == ["gorp", "sneb"] and [c.percept for c in inference.cells] == ["blim", "frim"]
    monkeypatch.setattr(plan, "MAX_WIDTH", 4)
    assert handmade.inference(known, *cells).left_out == []


def test_a_test_is_a_percept_like_any_other(tmp_path: Path) -> None:
    """A seen reaction raises its class by its own rates."""
    extra = {"tests": [{"id": "foam", "label": "foam", "kind": "kitchen"}],
             "shown_by": [row(**{"class": "dax", "test": "foam", "seen": "yes", "hit": "often", "false_positive": "rarely"})]}
    known = handmade.build(tmp_path, extra=extra)
    reply = known.ask(handmade.record(("blim", 1), tests=(("foam", True),)))
    prior = 1.5 / 11
    with_class = 1 - 0.9 * 0.3
    high, low = with_class * 0.98 + (1 - with_class) * 0.02, 0.1 * 0.98 + 0.9 * 0.02
    (dax,) = [c for c in reply.classes if c.id == "dax"]
    assert dax.posterior == pytest.approx(prior * high / (prior * high + (1 - prior) * low), abs=1e-9)
    assert [(p.quality, p.cls) for p in dax.paths] == [("test/foam", "dax")] and reply.understood.tests == (("foam", True),)
    assert [c.label for c in reply.understood.cells] == ["label of blim", "foam"]
