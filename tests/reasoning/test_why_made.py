"""The student's question on a made-up world: causes with their figures and order, and everything that hangs on them."""

from __future__ import annotations

from pathlib import Path

import handmade
import pytest
from handmade import described, row

from kgraph.yamlio import InputError


def contains(**levels: str) -> list[dict]:
    return [row(**{"class": c, "level": w}) for c, w in levels.items()]


EXTRA = {
    "qualities": [
        {"id": "rosy", "label": "rosy", "sense": "appearance", "kind": "colour"},
        {"id": "gorp-word", "label": "Gorpish", "sense": "taste", "kind": "word", "of": "gorp", "also": ["Gorpy"]},
    ],
    "evokes": [row(**{"class": "zork", "quality": q, "strength": w}) for q, w in (("rosy", "almost-always"), ("sneb", "often"), ("frim", "almost-always"))],
    "tests": [
        {"id": "foam", "label": "label of foam", "kind": "kitchen", "safe_without_label": True}, {"id": "inky", "label": "label of inky", "kind": "kitchen", "safe_without_label": True},
        {"id": "lick", "label": "label of lick", "kind": "kitchen"},
    ],
    "shown_by": [
        row(**{"class": c, "test": t, "seen": f"{t} seen", "hit": "almost-always", "false_positive": "rarely"}) for c, t in (("fam-one", "foam"), ("zork", "inky"), ("dax", "foam"), ("dax", "lick"))],
    "conditions": [{"id": "aura", "label": "label of aura", "kind": "preparation", "trigger": {"field": "preparation.covered", "is": False}}],
    "fakes": [row(condition="murk", quality="blim-word", strength="rarely", detail="seen before"), row(condition="aura", quality="blim", strength="often")],
    "dulls": [row(condition="aura", quality="gorp", effect="less")],
    "read_as": [row(quality="blim-word", system="elders", reading="damp"), row(quality="gorp", system="elders", reading="dry")],
}
PLANTS = {
    "alba": {"synonyms": ["Alba vera"], "drug_name": "Albae folium", "common_names": ["Alp leaf"], "contains": contains(wug="major", plon="minor", dax="trace"),
             "described_as": [row(quality="blim-word", intensity="strong", stimulus="chewed"), *described(gorp="weak")]},
    "bruna": {"described_as": described(blim="moderate"), "warns_of": [row(caution="ouch", severity="care", preparation="any", detail="x")]},
    "cana": {"described_as": described(blim="moderate")},
    "dura": {"described_as": described(blim="weak")},
    "erva": {"described_as": described(blim="moderate", blim_word="strong")},
    "fusca": {"taste_safety": "small-amount", "taste_limit": "a crumb", "taste_reason": "why", "described_as": described(blim="strong")},
    "gilva": {"taste_safety": "do-not-taste", "taste_reason": "deadly", "described_as": described(blim="strong")},
    "hirta": {"described_as": described(blim="moderate"), "common_names": []},
}


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory):
    acts = {("zork", "jive"): "often", ("zork", "quell"): "almost-always", ("wug", "jive"): "rarely"}
    warns = {("zork", "ouch"): "information", ("zork", "hush"): "avoid"}
    return handmade.build(tmp_path_factory.mktemp("why"), extra=EXTRA, plants=PLANTS, acts=acts, warns=warns)


def fired(own: float, prior: float, others: float) -> float:
    """P(the class is there and gave it | a strong report): prior x arc x 0.4 over P(report), `others` being quiet otherwise."""
    quiet = others * (1 - prior * own)
    return prior * own * 0.4 / ((1 - quiet) * 0.4 + quiet * 0.01)


def test_causes_by_hand(known) -> None:
    """Each class with its arc, strongest first, and the chance that it was there and gave the quality."""
    zork, wug = handmade.spec().prior("zork"), handmade.spec().prior("wug")
    reply = known.why("blim")
    assert [(c.cls, c.label, c.family, c.word, c.level) for c in reply.causes] == [
        ("zork", "label of zork", "label of fam-one", "almost-always", ""), ("wug", "label of wug", "label of fam-one", "sometimes", "")]
    assert reply.causes[0].probability == pytest.approx(fired(0.9, zork, 0.95 * (1 - wug * 0.4)), abs=1e-9)
    assert reply.causes[1].probability == pytest.approx(fired(0.4, wug, 0.95 * (1 - zork * 0.9)), abs=1e-9)
    assert reply.causes[0].claims == known.network.arcs["zork"]["blim"].claims


def test_what_hangs_on_a_cause(known) -> None:
    """Actions by strength, tests of the class and of its family, what else it gives at least often (no colour), cautions by severity."""
    cause = known.why("blim").causes[0]
    assert [(a.object, a.label, a.word, a.basis) for a in cause.actions] == [("quell", "label of quell", "almost-always", "tradition"), ("jive", "label of jive", "often", "tradition")]
    assert [(t.object, t.label, t.note) for t in cause.tests] == [("inky", "label of inky", "inky seen"), ("foam", "label of foam", "foam seen")]
    assert [(e.object, e.label, e.word) for e in cause.expected] == [("frim", "label of frim", "almost-always"), ("sneb", "label of sneb", "often")]
    assert [(h.id, h.severity) for h in cause.heeds] == [("hush", "avoid"), ("ouch", "information")]
    second = known.why("blim").causes[1]
    assert [e.object for e in second.expected] == ["gorp"] and second.heeds == () and [t.object for t in second.tests] == ["foam"]
    (alone,) = [c for c in known.why("sneb").causes if c.cls == "dax"]
    assert (alone.family, [t.object for t in alone.tests], alone.expected) == ("label of dax", ["foam"], ())


def test_equal_arcs_by_probability(tmp_path: Path) -> None:
    """Of two equally strong arcs the commoner class stands first; of equal classes the id decides."""
    evokes = {(c, "blim"): "often" for c in ("zork", "wug", "plon", "dax")}
    known = handmade.build(tmp_path, evokes=evokes, priors={"plon": 4, "wug": 1, "dax": 1})
    assert [c.cls for c in known.why("blim").causes] == ["plon", "dax", "wug", "zork"]


def test_a_group_is_given_by_its_kinds(known) -> None:
    """A class counts with its stronger kind, and the probability is that of the group."""
    reply = known.why("zemm")
    assert [(c.cls, c.word) for c in reply.causes] == [("plon", "almost-always"), ("zork", "almost-always"), ("dax", "often")]
    assert [e.object for e in reply.causes[1].expected] == ["blim", "sneb"], "the kind that leads is not told again"
    zork, plon, dax = (handmade.spec().prior(c) for c in ("zork", "plon", "dax"))
    own = 1 - 0.1 * 0.3
    assert reply.causes[1].probability == pytest.approx(fired(own, zork, 0.95**3 * (1 - plon * 0.9) * (1 - dax * 0.7)), abs=1e-9)
    assert {c.cls for c in known.why("frim").causes} == {"plon", "zork"}


def test_in_a_herb_its_own_classes_stand_first(known) -> None:
    """What the herb holds, by level times strength; then the rest. Wug at major 0.4, dax and zork not known of."""
    reply = known.why("blim", herb="alba")
    assert [(c.cls, c.level) for c in reply.causes] == [("wug", "major"), ("zork", "")]
    assert [(c.cls, c.level) for c in known.why("zemm", herb="alba").causes] == [("plon", "minor"), ("dax", "trace"), ("zork", "")]
    assert [(c.cls, c.level) for c in known.why("gorp", herb="alba").causes] == [("wug", "major"), ("plon", "minor")]


def test_what_is_said_of_the_herb(known) -> None:
    """What is documented of the quality or of any word for it; safety with its note."""
    reply = known.why("blim", herb="alba")
    assert [(d.object, d.label, d.word, d.note) for d in reply.documented] == [("blim-word", "label of blim-word", "strong", "chewed")]
    assert (reply.herb, reply.herb_label, reply.taste_safety, reply.taste_note) == ("alba", "Alp leaf", "ok", "")
    assert [d.word for d in known.why("gorp", herb="alba").documented] == ["weak"] and known.why("frim", herb="alba").documented == ()
    assert known.why("blim", herb="fusca").taste_note == "a crumb" and known.why("blim", herb="gilva").taste_note == "deadly"
    plain = known.why("blim")
    assert (plain.herb, plain.herb_label, plain.taste_safety, plain.taste_note, plain.documented) == ("", "", "", "", ())


def test_conditions_and_readings(known) -> None:
    """What fakes and dulls the percept or a word of it, by condition; what a tradition reads in it."""
    reply = known.why("blim-word")
    assert (reply.quality, reply.percept, reply.percept_label, reply.kind, reply.label) == ("blim-word", "blim", "label of blim", "word", "label of blim-word")
    assert [(f.object, f.label, f.word, f.note) for f in reply.fakes] == [("aura", "label of aura", "often", ""), ("murk", "label of murk", "rarely", "seen before")]
    assert reply.dulls == () and [(r.object, r.basis, r.note) for r in reply.readings] == [("elders", "tradition", "damp")]
    assert [(d.object, d.word) for d in known.why("gorp").dulls] == [("aura", "less")] and [r.note for r in known.why("gorp").readings] == ["dry"]
    assert known.why("frim").fakes == ()


def test_what_to_compare_with(known) -> None:
    """Three herbs that are safe to taste: plainly strong ones first, then those with fewest cautions, then by id; never the herb itself."""
    assert known.why("blim").compare_with == (("alba", "Alp leaf"), ("erva", "erva leaf"), ("cana", "cana leaf"))
    assert [id for id, _ in known.why("blim", herb="alba").compare_with] == ["erva", "cana", "hirta"]
    assert [id for id, _ in known.why("blim", herb="cana").compare_with] == ["alba", "erva", "hirta"]
    assert known.why("gorp").compare_with == (), "weak is not plain"


def test_nothing_gives_it(known) -> None:
    """A quality that no class gives has no cause."""
    assert known.why("void").causes == ()


@pytest.mark.parametrize(("word", "id"), [("gorp-word", "gorp-word"), (" GORPISH ", "gorp-word"), ("gorpy", "gorp-word"), ("label of blim", "blim")])
def test_qualities_by_any_name(known, word: str, id: str) -> None:
    """By id, label or another word, whatever the case."""
    assert known.why(word).quality == id


@pytest.mark.parametrize(("word", "id"), [("alba", "alba"), ("planta ALBA", "alba"), ("Alba vera", "alba"), ("albae folium", "alba"), (" alp leaf ", "alba"), ("planta hirta", "hirta")])
def test_herbs_by_any_name(known, word: str, id: str) -> None:
    """By id, botanical name, synonym, drug name or common name."""
    assert known.why("blim", herb=word).herb == id


def test_unknown_names_are_refused(known) -> None:
    """The nearest name is proposed."""
    with pytest.raises(InputError, match=r"no quality is called `blimm`(.|\n)*`blim`"):
        known.why("blimm")
    with pytest.raises(InputError, match=r"no herb is called `albba`(.|\n)*`alba`"):
        known.why("blim", herb="albba")


def test_as_json(known) -> None:
    """Plain dictionaries and lists, `class` for the class, the version first."""
    data = known.why("blim", herb="alba").as_dict()
    assert next(iter(data)) == "why" and data["why"] == 1 and data["ontology"]["id"] == "foreign"
    assert data["causes"][0]["class"] == "wug" and "cls" not in data["causes"][0] and isinstance(data["causes"][0]["claims"], list)
    assert data["documented"][0]["word"] == "strong" and data["compare_with"][0] == ["erva", "erva leaf"]
