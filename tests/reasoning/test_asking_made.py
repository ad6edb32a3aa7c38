"""From a record to an answer in a made-up world: what is listed, in which order, with which claims and words."""

from __future__ import annotations

from pathlib import Path

import handmade
import pytest
from handmade import record, row

from kgraph.reasoning.weights import decibans
from kgraph.tasting import Finding, Impression, Preparation, Record, Sample, Taster

ACTS = {("zork", "quell"): "often", ("wug", "quell"): "rarely", ("plon", "jive"): "sometimes", ("wug", "jive"): "almost-always"}
EXTRA = {
    "qualities": [{"id": "swell", "label": "label of swell", "sense": "mouthfeel", "kind": "stop"}, {"id": "gasp", "label": "label of gasp", "sense": "felt", "kind": "stop"}],
    "uses": [{"id": "errand", "label": "label of errand"}],
    "used_for": [row(action="jive", use="errand", status="trial-only", detail="on Mondays")],
    "cautions": [{"id": "do-not-taste", "label": "do not taste"}],
}
PLANTS = {
    "alba": {"acts_as": [row(action="quell", basis="tradition")], "described_as": handmade.described(blim="strong", gorp="weak")},
    "bruna": {"contains": [row(**{"class": "zork", "level": "major"})], "acts_as": [row(action="quell", basis="clinic"), row(action="jive", basis="tradition")]},
    "cana": {"taste_safety": "do-not-taste", "taste_reason": "deadly", "contains": [row(**{"class": "plon", "level": "major"})],
             "warns_of": [row(caution="do-not-taste", severity="avoid", preparation="any", detail="deadly")]},
}


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory):
    return handmade.build(tmp_path_factory.mktemp("asking"), acts=ACTS, extra=EXTRA, plants=PLANTS)


def by_id(group) -> dict:
    return {c.id: c for c in group}


def test_paths_with_their_claims_and_order(known) -> None:
    """Likeliest first; the path of an action is the arc's times the action's strength and cites both statements."""
    reply = known.ask(record(("blim", 3), ("gorp", 3)))
    inference = handmade.inference(known, *_cells(known, record(("blim", 3), ("gorp", 3))))
    wug = by_id(reply.classes)["wug"]
    assert [p.quality for p in wug.paths] == ["gorp", "blim"] and [p.action for p in wug.paths] == ["", ""]
    for path in wug.paths:
        assert path.probability == pytest.approx(inference.fired[("wug", path.quality)]) and path.claims == known.network.arcs["wug"][path.quality].claims
    jive = by_id(reply.actions)["jive"]
    assert [(p.cls, p.quality) for p in jive.paths][:2] == [("wug", "gorp"), ("wug", "blim")] and {p.action for p in jive.paths} == {"jive"}
    assert [p.probability for p in jive.paths] == sorted((p.probability for p in jive.paths), reverse=True)
    assert jive.paths[0].probability == pytest.approx(0.9 * wug.paths[0].probability)
    assert jive.paths[0].claims == (*wug.paths[0].claims, *known.network.acts["jive"]["wug"].claims)
    family = by_id(reply.families)["fam-one"]
    assert [(p.cls, p.quality) for p in family.paths] == [("wug", "gorp"), ("wug", "blim"), ("zork", "blim")] and family.members == ("zork", "wug")
    assert [p.probability for p in family.paths] == sorted((p.probability for p in family.paths), reverse=True)
    assert family.label == "label of fam-one" and by_id(reply.actions)["jive"].label == "label of jive"


def _cells(known, r: Record):
    from kgraph.reasoning.circumstances import Circumstances
    from kgraph.reasoning.evidence import cells_of

    return cells_of(known.ontology, known.network, r, Circumstances())


def test_a_groups_path_cites_the_kinds(known) -> None:
    """A reported group is reached through the statements on its kinds."""
    plon = by_id(known.ask(record(("zemm", 2))).classes)["plon"]
    assert [(p.quality, p.claims) for p in plon.paths] == [("zemm", known.network.arcs["plon"]["frim"].claims)]


def test_documented_share_of_an_action(known) -> None:
    """How many of the herbs on file are documented to have it; what is said of classes does not count."""
    actions = by_id(known.ask(record(("blim", 3))).actions)
    assert actions["quell"].documented == (2, 3) and actions["jive"].documented == (1, 3)
    assert by_id(known.ask(record(("blim", 3))).families)["fam-one"].documented == (0, 0)


@pytest.mark.parametrize(("findings", "parted"), [((("blim", 3), ("gorp", 3)), True), ((("blim", 3), ("gorp", 0)), True), ((("sneb", 3),), False)])
def test_parted_families(known, findings: tuple[tuple[str, int], ...], parted: bool) -> None:
    """The classes of a family are ranked where their weights lie a deciban apart; a family of one is never parted."""
    reply = known.ask(record(*findings))
    weights = [by_id(reply.classes)[m].weight_db for m in ("zork", "wug")]
    assert by_id(reply.families)["fam-one"].parted == parted == (max(weights) - min(weights) >= 1)
    assert not by_id(reply.families)["plon"].parted and not by_id(reply.families)["dax"].parted


def test_a_deciban_apart(tmp_path: Path) -> None:
    """Classes with nearly equal arcs rise alike and are not parted."""
    words = {"almost-always": 0.9, "often": 0.85, "sometimes": 0.4, "rarely": 0.1, "almost-never": 0.03}
    known = handmade.build(tmp_path, evokes={("zork", "blim"): "almost-always", ("wug", "blim"): "often"}, words=words, priors={"zork": 3, "wug": 3})
    reply = known.ask(record(("blim", 3)))
    weights = [by_id(reply.classes)[m].weight_db for m in ("zork", "wug")]
    assert 0 < weights[0] - weights[1] < 1 and min(weights) > 1 and not by_id(reply.families)["fam-one"].parted


def test_words_and_standing(known) -> None:
    """The word goes with the size of the weight, the standing with its sign."""
    reply = known.ask(record(("blim", 3), ("frim", 0)))
    for c in reply.classes:
        assert c.weight_db == pytest.approx(decibans(c.prior, c.posterior)) and c.word == ("roundly" if abs(c.weight_db) >= 6 else "feebly" if abs(c.weight_db) >= 1 else "")
    standing = {c.id: c.standing for c in reply.classes}
    assert standing["zork"] == "risen" and standing["plon"] == "fallen" and standing["dax"] == "unchanged"
    assert [c.id for c in reply.answer.risen("classes")] == [c.id for c in reply.classes if c.standing == "risen"]


def test_what_speaks_against(known) -> None:
    """Leave-one-out weights of denials and of silence, for risen candidates only, the weightiest first."""
    full = record(("gorp", 3), ("blim", 0), ("frim", 0), looked_for=("sneb",))
    reply = known.ask(full)
    wug = by_id(reply.families)["fam-one"]
    assert wug.standing == "risen" and [a.quality for a in wug.against] == ["blim"]
    without = by_id(known.ask(record(("gorp", 3), ("frim", 0), looked_for=("sneb",))).families)["fam-one"]
    assert wug.against[0].weight_db == pytest.approx(wug.weight_db - without.weight_db, abs=1e-9) and wug.against[0].state == "absent"
    assert all(not c.against for c in (*reply.families, *reply.actions) if c.standing != "risen")
    actions = by_id(reply.actions)
    assert actions["jive"].standing == "risen" and [a.quality for a in actions["jive"].against] == ["blim", "frim"]
    assert actions["jive"].against[0].weight_db < actions["jive"].against[1].weight_db < -0.05
    silent = by_id(known.ask(record(("gorp", 3), looked_for=("blim",))).families)["fam-one"]
    assert [(a.quality, a.state) for a in silent.against] == [("blim", "unnoticed")]
    assert by_id(known.ask(record(("gorp", 3))).families)["fam-one"].against == ()


def test_only_the_shown_are_argued_against(tmp_path: Path) -> None:
    """Three families and three actions are shown; the fourth that rose has no list."""
    evokes = {(c, "blim"): "often" for c in ("zork", "wug", "plon", "dax")} | {(c, "gorp"): "sometimes" for c in ("zork", "wug", "plon", "dax")}
    known = handmade.build(tmp_path, evokes=evokes, families={}, alone=["zork", "wug", "plon", "dax"], priors=dict.fromkeys(("zork", "wug", "plon", "dax"), 1))
    reply = known.ask(record(("blim", 3), ("gorp", 0)))
    risen = reply.answer.risen("families")
    assert len(risen) == 4 and [bool(c.against) for c in risen] == [True, True, True, False]


def test_cautions_of_shown_paths_only(tmp_path: Path) -> None:
    """The first path of each of the three first families and actions brings its class's cautions."""
    known = handmade.build(tmp_path, acts=ACTS, warns={("zork", "ouch"): "care", ("dax", "hush"): "care"})
    reply = known.ask(record(("blim", 3)))
    assert [(h.id, h.because) for h in reply.cautions] == [("ouch", ("zork",))]


def test_uses_hang_under_risen_actions(known) -> None:
    """Uses of the actions that rose, with status and detail; none of an action that did not."""
    assert [(u.action, u.use, u.label, u.status, u.detail) for u in known.ask(record(("blim", 3), ("gorp", 3), ("frim", 3))).uses if u.action == "jive"] == [
        ("jive", "errand", "label of errand", "trial-only", "on Mondays")]
    fallen = known.ask(record(("blim", 0), ("gorp", 0), ("frim", 0)))
    assert fallen.uses == () and not fallen.answer.risen("actions")


@pytest.mark.parametrize(
    ("herb", "findings", "why"),
    [("", (("blim", 3),), "without a label nothing more is to be tasted"), ("cana", (("blim", 3),), "this herb is never to be tasted"),
     ("alba", (("frim", 3),), "cana leaf, which is never to be tasted, fits these findings too"), ("bruna", (("blim", 3), ("frim", 0)), "")],
)
def test_when_only_looking_is_offered(known, herb: str, findings: tuple[tuple[str, int], ...], why: str) -> None:
    """No label, a poison's label, or a poison that fits: only looking and safe tests; else anything."""
    reply = known.ask(record(*findings, herb=herb))
    assert reply.only_looking == why and bool(reply.next) == (why == "")


def test_what_was_understood(known) -> None:
    """The record is echoed: findings, silence, emergencies once each and only when noticed, impressions, who swallowed."""
    r = Record(
        (Finding("blim-word", 2, "A"), Finding("swell", 1, "A"), Finding("swell", 2, "B"), Finding("gasp", 0, "B"), Finding("blim", 1, "B")),
        tasted_on="2026-02-03", sample=Sample("417", "alba"), preparation=Preparation(form="powder"), file="r.yaml", said=(("a", "b"),),
        tasters={"A": Taster("A"), "B": Taster("B", swallowed=True)}, looked_for={"B": ("gorp",)}, impressions=(Impression("a hayloft", "A"),),
    )
    u = known.ask(r).understood
    assert (u.file, u.code, u.tasted_on, u.form, u.tasters, u.said) == ("r.yaml", "417", "2026-02-03", "powder", ("A", "B"), (("a", "b"),))
    assert [(c.quality, c.label, c.state, c.named, c.tasters, c.reporting) for c in u.cells] == [("blim", "label of blim", "moderate", ("blim-word", "blim"), 2, 2)]
    assert [(c.quality, c.state) for c in u.silent] == [("gorp", "unnoticed")] and u.silent[0].there == pytest.approx(0.5)
    assert u.stop_signs == ("label of swell",) and u.impressions == (("A", "a hayloft"),) and u.left_out == () and u.swallowed
    assert not known.ask(record(("blim", 1))).understood.swallowed


def test_strengths_hold_every_number(known) -> None:
    """Bits with their group, arcs, actions, families and carriers, by id."""
    data = known.ask(record(("zemm", 3), ("frim", 0), ("gorp", 1)), strengths=True).as_dict()["strengths"]
    assert {b["percept"]: b["group"] for b in data["bits"]} == {"zemm": None, "frim": "zemm", "gorp": None}
    assert {b["percept"]: b["other_cause"] for b in data["bits"]} == pytest.approx({"zemm": 1 - 0.95**2, "frim": 0.05, "gorp": 0.05})
    assert {(a["class"], a["percept"]): a["strength"] for a in data["arcs"]} == pytest.approx({("wug", "gorp"): 0.7, ("plon", "gorp"): 0.1, ("plon", "frim"): 0.9, ("dax", "zemm"): 0.7})
    assert {(a["class"], a["action"]): a["strength"] for a in data["acts_as"]} == pytest.approx({(c, a): handmade.spec().words[w] for (c, a), w in ACTS.items()})
    assert data["families"] == {"fam-one": ["zork", "wug"], "plon": ["plon"], "dax": ["dax"]} and data["carriers"] == []
    assert data["priors"] == known.network.prior


def test_json_names(known) -> None:
    """`class` for the class, null for no action, the version first; the header names the ontology."""
    data = known.ask(record(("blim", 3), herb="alba"), sealed=True).as_dict()
    assert next(iter(data)) == "answer" and data["answer"] == 1 and "strengths" not in data
    (path,) = [p for c in data["classes"] if c["id"] == "zork" for p in c["paths"]]
    assert path["class"] == "zork" and path["action"] is None and "cls" not in path and isinstance(path["claims"], list)
    assert {p["action"] for c in data["actions"] for p in c["paths"]} == {"quell", "jive"}
    assert data["ontology"] == {"id": "foreign", "version": "1", "sha256": known.ontology.sha256} and data["label"]["sealed"] is True


def test_vocabulary(known) -> None:
    """The words that a record may use are those of the ontology."""
    words = known.vocabulary
    assert words.absences == {"void"} and words.herbs == {"alba", "bruna", "cana"} and words.qualities["blim"] == ("label of blim",)
    assert words.standard_list == ("blim", "gorp", "frim", "sneb") and words.standard_version == 1 and words.states == {} and words.tests == frozenset()


def test_unexplained_groups_count_through_their_kinds(known) -> None:
    """A finding that, in all likelihood, no class gave is named; a group with a kind in the record is not named beside it."""
    reply = known.ask(record(("gorp", 1), ("blim", 0), ("sneb", 0), ("zemm", 1), ("frim", 0)))
    shares = {u.quality: u.probability for u in reply.unexplained}
    assert "zemm" not in shares and all(share >= 0.5 for share in shares.values())
    assert known.ask(record(("blim", 0))).unexplained == ()
