"""When a condition holds and what it adds up to, in a made-up world with one condition of each kind."""

from __future__ import annotations

from pathlib import Path

import handmade
import pytest
from handmade import record, row

from kgraph.reasoning.circumstances import Effect, circumstances_of
from kgraph.tasting import Finding, Record, Taster


def trigger(id: str, field: str, **test: object) -> dict:
    return {"id": id, "label": f"label of {id}", "kind": "preparation", "trigger": {"field": f"preparation.{field}", **test}}


CONDITIONS = [
    trigger("cool", "tasted_at_celsius", at_most=40), trigger("hot", "tasted_at_celsius", at_least=60), trigger("chewed", "form", **{"is": ["chewed-piece", "powder"]}),
    trigger("open", "covered", **{"is": False}), trigger("lidded", "covered", **{"is": True}), trigger("honeyed", "added", has=["honey", "Syrup"]), trigger("tap", "water", **{"is": ["Tap"]}),
    {"id": "deaf", "label": "deaf", "kind": "taster", "trigger": {"state": "cold"}},
    {"id": "haze", "label": "haze", "kind": "taster", "trigger": {"state": "hazy"}},
]
EXTRA = {
    "conditions": CONDITIONS,
    "fakes": [row(condition="hot", quality="gorp", strength="sometimes"), row(condition="honeyed", quality="gorp", strength="rarely"), row(condition="deaf", quality="sneb", strength="often")],
    "dulls": [row(condition="honeyed", quality="blim-word", effect="less"), row(condition="hot", quality="blim", effect="slightly-less"), row(condition="deaf", quality="frim", effect="much-less")],
    "draws": [row(**{"condition": c, "class": k, "effect": w}) for c, k, w in (("hot", "fam-one", "more"), ("honeyed", "zork", "less"), ("honeyed", "dax", "less"), ("deaf", "plon", "less"))],
}


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory):
    return handmade.build(tmp_path_factory.mktemp("conditions"), extra=EXTRA)


@pytest.mark.parametrize(
    ("preparation", "active"),
    [
        ({}, set()), ({"tasted_at_celsius": 40.0}, {"cool"}), ({"tasted_at_celsius": 40.5}, set()), ({"tasted_at_celsius": 0.0}, {"cool"}),
        ({"tasted_at_celsius": 59.9}, set()), ({"tasted_at_celsius": 60.0}, {"hot"}), ({"tasted_at_celsius": 95.0}, {"hot"}),
        ({"form": "powder"}, {"chewed"}), ({"form": "decoction"}, set()), ({"covered": False}, {"open"}), ({"covered": True}, {"lidded"}),
        ({"added": (" HONEY ",)}, {"honeyed"}), ({"added": ("milk", "syrup")}, {"honeyed"}), ({"added": ("milk",)}, set()),
        ({"water": "TAP "}, {"tap"}), ({"water": "spring"}, set()), ({"steep_minutes": 10}, {"murk"}), ({"steep_minutes": 9.9}, set()),
        ({"covered": False, "steep_minutes": 30, "form": "powder"}, {"open", "murk", "chewed"}),
    ],
)
def test_when_a_condition_holds(known, preparation: dict, active: set[str]) -> None:
    """The edge of a threshold belongs to it, case and blanks do not matter, and what was not recorded triggers nothing."""
    assert set(circumstances_of(known.ontology, record(("blim", 1), **preparation)).active) == active


def test_what_conditions_add_up_to(known) -> None:
    """Factors on one target multiply, a word dulls its percept, a family is drawn class by class, each fake stands as a cause of its own."""
    found = circumstances_of(known.ontology, record(("blim", 1), tasted_at_celsius=70.0, added=("honey",)))
    assert found.dulled == pytest.approx({"blim": 0.5 * 0.8})
    assert found.drawn == pytest.approx({"zork": 1.5 * 0.5, "wug": 1.5, "dax": 0.5})
    assert {e.condition: e.value for e in found.faked["gorp"]} == {"hot": 0.4, "honeyed": 0.1} and set(found.faked) == {"gorp"}
    kinds = [(e.condition, e.relation, e.target, e.value) for e in found.effects]
    assert kinds == [
        ("hot", "fakes", "gorp", 0.4), ("hot", "dulls", "blim", 0.8), ("hot", "draws", "fam-one", 1.5),
        ("honeyed", "fakes", "gorp", 0.1), ("honeyed", "dulls", "blim", 0.5), ("honeyed", "draws", "zork", 0.5), ("honeyed", "draws", "dax", 0.5),
    ]
    assert all(known.ontology.claim(e.claim).subject == e.condition for e in found.effects)
    assert found.personal == {"taster": ()}


def two(*states: tuple[str, ...]) -> Record:
    names = [f"T{i}" for i in range(len(states))]
    return Record((Finding("blim", 1, names[0]),), tasters={n: Taster(n, s) for n, s in zip(names, states, strict=True)})


def test_a_shared_state_is_a_condition_of_the_cup(known) -> None:
    """What every taster suffers from reaches all arcs, draws included; it is then nobody's own."""
    found = circumstances_of(known.ontology, two(("cold", "hazy"), ("hazy", "cold")))
    assert found.active == ("deaf", "haze") and found.dulled == {"frim": 0.2} and found.drawn == {"plon": 0.5}
    assert [e.value for e in found.faked["sneb"]] == [0.7]
    assert found.personal == {"T0": (), "T1": ()}


def test_a_state_of_one_taster_stays_that_tasters(known) -> None:
    """Fakes and dullings reach only the taster in that state, draws nobody; a state without a condition does nothing."""
    found = circumstances_of(known.ontology, two(("cold", "hazy", "merry"), ("hazy", "merry")))
    assert found.active == ("haze",) and not found.dulled and not found.drawn and not found.faked
    claims = {c.relation: c.id for r in ("fakes", "dulls") for c in known.ontology.said_of(r, "deaf")}
    assert found.personal == {
        "T0": (Effect("deaf", "fakes", "sneb", 0.7, claims["fakes"]), Effect("deaf", "dulls", "frim", 0.2, claims["dulls"])), "T1": ()}


def test_the_answer_names_the_conditions_that_touch_it(known) -> None:
    """A condition is told when it touches what was reported; a fake says how much it explains, a personal one does not."""
    reply = known.ask(record(("gorp", 3), tasted_at_celsius=70.0))
    told = {c.target: c for c in reply.conditions if c.relation != "draws"}
    assert set(told) == {"gorp"}, "blim was not asked about"
    assert (told["gorp"].label, told["gorp"].target_label, told["gorp"].relation, told["gorp"].value) == ("label of hot", "label of gorp", "fakes", 0.4)
    both = known.ask(record(("gorp", 3), ("blim", 0), tasted_at_celsius=70.0))
    assert {(c.relation, c.target): c.explains is None for c in both.conditions if c.relation != "draws"} == {("fakes", "gorp"): False, ("dulls", "blim"): True}
    denied = known.ask(record(("gorp", 0), tasted_at_celsius=70.0))
    assert [c.explains for c in denied.conditions if c.relation == "fakes"] == [None], "nothing to explain"
    drawn = known.ask(record(("sneb", 1), added=("honey",)))
    assert [(c.relation, c.target, c.target_label) for c in drawn.conditions] == [("draws", "dax", "label of dax")]
    own = known.ask(Record((Finding("sneb", 3, "A"), Finding("blim", 1, "B")), tasters={"A": Taster("A", ("cold",)), "B": Taster("B")}))
    assert [(c.id, c.relation, c.target, c.value, c.explains) for c in own.conditions] == [("deaf", "fakes", "sneb", 0.7, None)]


def test_what_a_fake_explains_by_hand(tmp_path: Path) -> None:
    """P(gorp not from any class, but there by the heat | a strong report) = quiet of classes x 0.4 x 0.4 over P(reports)."""
    known = handmade.build(tmp_path, extra=EXTRA, priors={})
    reply = known.ask(record(("gorp", 3), tasted_at_celsius=70.0))
    quiet = (1 - 0.5 / 11 * 0.999) * (1 - 0.5 / 11 * 0.1)
    other = 1 - 0.95 * 0.6
    there, not_there = 0.4, 0.01
    total = (1 - quiet * (1 - other)) * there + quiet * (1 - other) * not_there
    (fake,) = [c for c in reply.conditions if c.relation == "fakes"]
    assert fake.explains == pytest.approx(quiet * 0.4 * there / total, abs=1e-9)
    (unexplained,) = reply.unexplained
    assert (unexplained.quality, unexplained.label) == ("gorp", "label of gorp")
    assert unexplained.probability == pytest.approx(quiet * (other * there + (1 - other) * not_there) / total, abs=1e-9)
    assert unexplained.faked == pytest.approx(fake.explains)
    plain = known.ask(record(("gorp", 3)))
    assert [u.faked for u in plain.unexplained] == [0.0] and not plain.conditions
