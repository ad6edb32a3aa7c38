"""How steady a conclusion is: rows against the plain engine, and what spread, seed and draws must do."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import handmade
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.cli import main
from kgraph.reasoning.asking import ask
from kgraph.reasoning.circumstances import circumstances_of
from kgraph.reasoning.draws import Drawn, DrawnElimination
from kgraph.reasoning.evidence import cells_of
from kgraph.reasoning.figures import Figures
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.match import match
from kgraph.reasoning.network import Arc, Network
from kgraph.reasoning.sensitivity import of_ask, of_match
from kgraph.reasoning.shelf import Shelf
from kgraph.reasoning.trials import Rows, checked, middle, places_of
from kgraph.session import Knowledge
from kgraph.tasting import Finding, Record, Taster
from kgraph.yamlio import InputError

RECORDS = Path(__file__).resolve().parents[2] / "demo_graph" / "records"
PERCEPTS = ("bitter", "astringent-drying", "sweet", "slippery-mucilaginous", "burning-pungent", "minty", "aromatic", "citrus", "sour", "tingling")
records = st.builds(
    lambda pairs, tasters: Record(
        tuple(Finding(q, s, t) for q, s in pairs for t in tasters), tasters={t: Taster(t) for t in tasters}, looked_for=dict.fromkeys(tasters, ("salty", "musty", "cooling")),
    ),
    st.lists(st.tuples(st.sampled_from(PERCEPTS), st.integers(0, 3)), min_size=1, max_size=6, unique_by=lambda pair: pair[0]),
    st.sampled_from([("A",), ("A", "B", "C")]),
)


def asked(known: Knowledge, record: Record) -> Inference:
    around = circumstances_of(known.ontology, record)
    return Inference(known.network, around, cells_of(known.ontology, known.network, record, around))


def moved_network(net: Network, figures: Figures, row: int) -> Network:
    """The network with the figures of one row written into it."""
    found = dataclasses.replace(net)
    found.arcs = {c: {p: Arc(float(figures.strength(c, p)[row, 0]), arc.claims) for p, arc in arcs.items()} for c, arcs in net.arcs.items()}
    found.prior = {c: float(figures.prior(c)[row, 0]) for c in net.prior}
    found.major = {c: found.prior[c] * net.major[c] / net.prior[c] for c in net.prior}
    around = circumstances_of(figures.ontology, Record(()))
    found.other_cause = {p: float(figures.other_cause(around, p)[row, 0]) for p in net.other_cause}
    found.faint = tuple(float(figures._chance(f, [(("level", "minor"), figures._doubt("level"))])[row, 0]) for f in net.faint)  # type: ignore[assignment]
    return found


@given(records, st.integers(0, 2**20))
def test_each_row_equals_the_plain_engine(known: Knowledge, record: Record, seed: int) -> None:
    """A row of the batch gives what the ordinary sums give on a network that has that row's figures; the first row is the answer as it stands."""
    inference = asked(known, record)
    rows = Rows(2, (), 1.0, seed)
    figures = Figures(known.ontology, known.network, rows.count, rows)
    drawn = Drawn(inference, figures)
    families = {id: dict.fromkeys(members, 1.0) for id, members in known.ontology.families.items()}
    chosen = list(families)[seed % 7 :: 7]
    for row in range(rows.count):
        cells = [c._replace(there=float(figures.reports(c)[0][row, 0]), not_there=float(figures.reports(c)[1][row, 0])) for c in inference.cells]
        plain = Inference(moved_network(known.network, figures, row) if row else known.network, inference.circumstances, cells)
        assert drawn.total[row] == pytest.approx(plain.total, rel=1e-9)
        expected = plain.posterior_any([families[f] for f in chosen])[0]
        for f, value in zip(chosen, expected, strict=True):
            ones = dict.fromkeys(families[f], np.ones(rows.count))
            assert drawn.after(ones)[row] == pytest.approx(float(value), abs=1e-9)
            assert drawn.before(ones)[row] == pytest.approx(plain.prior_any(families[f]), abs=1e-9)


@given(records)
def test_no_spread_no_width(known: Knowledge, record: Record) -> None:
    """With spread 0 every draw is the answer as it stands."""
    answer = ask(known.ontology, known.network, record)
    found = of_ask(known.ontology, asked(known, record), answer.families, answer.actions, 5, spread=0.0)
    by = {c.id: c for c in (*answer.families, *answer.actions)}
    if found is None:
        assert not answer.risen("families")
        return
    for one in (*found.families, *found.actions):
        assert one.place_low == one.place_high and one.among in (0, 5) and one.first in (0, 5)
        assert one.chance_low == pytest.approx(one.chance_high, abs=1e-12) == pytest.approx(by[one.id].posterior, abs=1e-9)
    assert found.families[0].place_low == 1 and not found.hinges


def test_wider_doubts_widen(known: Knowledge) -> None:
    """Twice the spread gives wider ranges of every chance that is not settled, on the same random numbers."""
    record = known.read("dry mouth, a little bitter, slimy")
    answer, inference = ask(known.ontology, known.network, record), asked(known, record)
    narrow, wide = (of_ask(known.ontology, inference, answer.families, answer.actions, 200, spread=s) for s in (1.0, 2.0))
    assert narrow is not None and wide is not None
    for a, b in zip((*narrow.families, *narrow.actions), (*wide.families, *wide.actions), strict=True):
        assert a.id == b.id and b.chance_high - b.chance_low > 1.3 * (a.chance_high - a.chance_low)


def test_same_seed_same_bytes(known: Knowledge, capsys: pytest.CaptureFixture[str]) -> None:
    """Two runs print the same; another seed gives other draws; the figures themselves never move."""
    file = str(RECORDS / "02-marshmallow.yaml")
    texts = []
    for _ in range(2):
        assert main(["ask", file, "--json"]) == 0
        texts.append(capsys.readouterr().out)
    assert texts[0] == texts[1]
    data = json.loads(texts[0])
    assert data["sensitivity"]["draws"] == 200 and data["sensitivity"]["seed"] == 1
    assert main(["ask", file, "--json", "--draws", "0"]) == 0
    without = json.loads(capsys.readouterr().out)
    assert without["sensitivity"] is None
    assert {k: v for k, v in data.items() if k != "sensitivity"} == {k: v for k, v in without.items() if k != "sensitivity"}
    record = known.read(RECORDS / "02-marshmallow.yaml")
    answer, inference = ask(known.ontology, known.network, record), asked(known, record)
    one, two = (of_ask(known.ontology, inference, answer.families, answer.actions, 50, seed=s) for s in (1, 2))
    assert one is not None and two is not None and one.families != two.families


def test_a_figure_at_its_edge(tmp_path: Path) -> None:
    """The lead with one figure at its worst edge is what the plain sums give with that figure written in; three are named at most."""
    known = handmade.build(tmp_path, extra={"constants": [{"id": "doubt-arc", "value": 0.5, **handmade.WHO}, {"id": "doubt-other", "value": 1.0, **handmade.WHO}]})
    record = handmade.record(("blim", 3), ("gorp", 0))
    answer, inference = ask(known.ontology, known.network, record), asked(known, record)
    found = of_ask(known.ontology, inference, answer.families, answer.actions, 3)
    assert found is not None and 0 < len(found.hinges) <= 3
    assert [h.lead_then for h in found.hinges] == sorted(h.lead_then for h in found.hinges)
    rises = sorted((c.posterior - c.prior for c in answer.families), reverse=True)
    assert found.hinges[0].lead == pytest.approx(rises[0] - rises[1])
    for hinge in found.hinges:
        what, *of = hinge.id.split("/")
        net = dataclasses.replace(known.network)
        if what == "arc":
            net.arcs = {c: dict(arcs) for c, arcs in net.arcs.items()}
            net.arcs[of[0]][of[1]] = Arc(hinge.edge, net.arcs[of[0]][of[1]].claims)
        elif what == "prior":
            net.prior = net.prior | {of[0]: hinge.edge}
            net.major = net.major | {of[0]: hinge.edge}
        else:
            continue
        then = ask(known.ontology, net, record)
        own = {c.id: c.posterior - c.prior for c in then.families}
        others = max(v for id, v in own.items() if id != found.leader)
        assert own[found.leader] - others == pytest.approx(hinge.lead_then, abs=1e-9)


@given(records)
def test_herbs(known: Knowledge, record: Record) -> None:
    """Row 0 is the match as it stands; places count every herb; a slice of one row or of all gives the same."""
    shelf = Shelf(known.ontology, known.network)
    found = match(known.ontology, known.network, record, draws=7, shelf=shelf)
    assert found.sensitivity is not None
    assert [one.id for one in found.sensitivity.herbs] == [h.id for h in found.herbs[:5]]
    still = of_match(shelf, asked(known, record), [h.id for h in found.herbs[:5]], ["a"] * 5, 4, spread=0.0)
    assert still is not None
    for one, herb in zip(still.herbs, found.herbs, strict=False):
        assert one.chance_low == pytest.approx(herb.posterior, rel=1e-6)
    assert still.herbs[0].place_low == 1


def test_a_shelf_in_slices(known: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Working through the herbs in slices of a few gives the same as all at once."""
    record = known.read("dry mouth, a little bitter, not sweet")
    whole = match(known.ontology, known.network, record, draws=20)
    monkeypatch.setattr("kgraph.reasoning.shelf._CELLS", 700)
    assert match(known.ontology, known.network, record, draws=20) == whole


def test_places_and_ranges() -> None:
    """The largest is first, equals keep their order, percentiles of places are places."""
    table = places_of([np.array([0.5, 0.1]), np.array([0.5, 0.3]), np.array([0.7, 0.2])], slice(0, 2))
    assert table.tolist() == [[2, 3], [3, 1], [1, 2]]
    assert middle(np.array([1, 1, 1, 2, 9])) == (1, 9)
    assert middle(np.array([0.0, 1.0])) == (pytest.approx(0.05), pytest.approx(0.95))


@pytest.mark.parametrize(("text", "words"), [("-1", "0 (off) to"), ("x", "whole number"), ("2.5", "whole number"), ("9999999", "0 (off) to"), ("", "whole number")])
def test_bad_numbers_of_draws(text: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2, and what may stand there."""
    for verb in ("ask", "match"):
        assert main([verb, "bitter", f"--draws={text}"]) == 2
        assert words in capsys.readouterr().err
    with pytest.raises(InputError):
        checked(-1)


def test_one_pass(known: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two hundred draws are rows of one batch: one pass a question, whatever their number."""
    record = known.read("dry mouth, a little bitter")
    answer, inference = ask(known.ontology, known.network, record), asked(known, record)
    calls: list[int] = []
    plain = DrawnElimination.totals
    monkeypatch.setattr(DrawnElimination, "totals", lambda self, w: (calls.append(len(w)), plain(self, w))[1])
    for draws in (10, 200):
        calls.clear()
        found = of_ask(known.ontology, inference, answer.families, answer.actions, draws)
        assert found is not None and len(calls) == 1 + len(found.families) + len(found.actions) and len(set(calls)) == 1
