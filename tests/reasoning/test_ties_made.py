"""Ties, defaults and what must not be told, in made-up worlds: each settles one choice that no other figure shows."""

from __future__ import annotations

import math
from pathlib import Path

import handmade
import pytest
from handmade import described, record, row

from kgraph.reasoning import asking, heed
from kgraph.reasoning.answer import as_plain
from kgraph.reasoning.circumstances import Circumstances, Effect, circumstances_of
from kgraph.reasoning.doubles import hidden_poisons
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.herbs import herb_levels
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.next_look import least_certain
from kgraph.reasoning.weights import decibans

STATES = {
    "conditions": [
        {"id": "deaf", "label": "hears nothing", "kind": "taster", "trigger": {"state": "cold"}},
        {"id": "sticky", "label": "sticky", "kind": "preparation", "trigger": {"field": "preparation.added", "has": ["honey"]}},
    ],
}


def test_plain_values_all_the_way_down() -> None:
    """Named tuples, mappings, tuples and lists become dictionaries and lists at any depth."""
    effect = Effect("murk", "fakes", "blim", 0.5, "x")
    assert as_plain({"a": (1, [effect]), "b": {"c": (2,)}}) == {"a": [1, [effect._asdict()]], "b": {"c": [2]}}
    assert isinstance(as_plain((1,)), list) and as_plain("text") == "text"


def test_states_are_words_of_the_vocabulary(tmp_path: Path) -> None:
    """A taster's state is known by its word and told by its label; a condition of the cup is no state, whatever a taster claims."""
    known = handmade.build(tmp_path, extra=STATES)
    assert known.vocabulary.states == {"cold": "hears nothing"}
    assert circumstances_of(known.ontology, record(("blim", 1), states=("cold", "honey"))).active == ("deaf",)


def test_levels_where_sources_disagree(tmp_path: Path) -> None:
    """Of two levels for one class the better source's counts, in whichever order they stand."""
    extra = {"sources": [{"id": "code", "grade": "A", "author": "Somebody S", "title": "Code", "year": 1901}]}
    better = {"class": "wug", "level": "major", "sources": [{"id": "code", "where": "1", "read": "2026-01-02"}]}
    other = row(**{"class": "wug", "level": "trace"})
    known = handmade.build(tmp_path, extra=extra, plants={"one": {"contains": [other, better]}, "two": {"contains": [better, other]}})
    assert herb_levels(known.ontology, "one") == herb_levels(known.ontology, "two") == {"wug": 1.0}


def test_doubles_by_name(tmp_path: Path) -> None:
    """A hidden poison is told with the labels of its herb and of the harmless one."""
    extra = {"classes": [{"id": "venom", "label": "venom", "poison": True}]}
    bad = {"taste_safety": "do-not-taste", "taste_reason": "deadly", "contains": [row(**{"class": "venom", "level": "major"})], "described_as": described(blim="weak")}
    known = handmade.build(tmp_path, extra=extra, plants={"bad": bad, "good": {"described_as": described(blim="weak")}})
    (hidden,) = hidden_poisons(known.ontology, known.network)
    assert (hidden.poison_label, hidden.harmless_label) == ("bad leaf", "good leaf")


def test_a_group_with_two_equal_kinds_cites_the_first(tmp_path: Path) -> None:
    """Where a class gives two kinds alike, the first of them leads and the other is expected too."""
    known = handmade.build(tmp_path, evokes={("plon", "frim"): "often", ("plon", "sneb"): "often"})
    (cause,) = known.why("zemm").causes
    assert cause.claims == known.network.arcs["plon"]["frim"].claims and [e.object for e in cause.expected] == ["sneb"]


def test_equal_links_by_name(tmp_path: Path) -> None:
    """Actions and expected qualities of one strength stand in the order of their ids, not of the file."""
    evokes = {("zork", p): "often" for p in ("blim", "sneb", "gorp", "frim")}
    known = handmade.build(tmp_path, evokes=evokes, acts={("zork", "quell"): "often", ("zork", "jive"): "often"})
    (cause,) = known.why("blim").causes
    assert [a.object for a in cause.actions] == ["jive", "quell"] and [e.object for e in cause.expected] == ["frim", "gorp", "sneb"]


def test_explaining_away_is_no_speaking_against(tmp_path: Path) -> None:
    """A finding that was noticed may lower a candidate through its rival, but only denials and silence are told against it."""
    reports = {"strong": (0.4, 0.01), "moderate": (0.3, 0.02), "weak": (0.2, 0.1), "absent": (0.1, 0.87), "unnoticed": (0.45, 0.9)}
    known = handmade.build(tmp_path, families={}, alone=["zork", "wug", "plon", "dax"], reports=reports)
    reply = known.ask(record(("blim", 3), ("gorp", 1), ("frim", 0)))
    (zork,) = [c for c in reply.families if c.id == "zork"]
    (before,) = [c for c in known.ask(record(("blim", 3), ("frim", 0))).families if c.id == "zork"]
    assert zork.standing == "risen" and zork.weight_db < before.weight_db - 0.05 and math.log(0.2 / 0.1) < 1
    assert "gorp" not in {a.quality for c in (*reply.families, *reply.actions) for a in c.against}


def test_only_the_first_path_is_shown(tmp_path: Path) -> None:
    """The second path of a risen family brings no caution along when its class hardly rose."""
    known = handmade.build(tmp_path, evokes={("zork", "blim"): "almost-always", ("wug", "blim"): "rarely"}, warns={("wug", "hush"): "care"})
    reply = known.ask(record(("blim", 3)))
    (family,) = [c for c in reply.families if c.id == "fam-one"]
    (wug,) = [c for c in reply.classes if c.id == "wug"]
    assert [p.cls for p in family.paths] == ["zork", "wug"] and wug.weight_db < 2 and reply.cautions == ()


def test_parted_at_the_edge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Exactly the least difference parts a family; classes and actions are never parted."""
    known = handmade.build(tmp_path, acts={("zork", "quell"): "often"})
    reply = known.ask(record(("blim", 3)))
    weights = [c.weight_db for id in ("zork", "wug") for c in reply.classes if c.id == id]
    monkeypatch.setattr(asking, "_PARTED_DB", max(weights) - min(weights))
    again = known.ask(record(("blim", 3)))
    assert [c.id for c in again.families if c.parted] == ["fam-one"] and not any(c.parted for c in (*again.classes, *again.actions))


def test_a_faked_share_on_any_scale(tmp_path: Path) -> None:
    """Both likelihoods of a cell times one number give the same share."""
    known = handmade.build(tmp_path)
    circumstances = Circumstances()
    circumstances.faked["blim"].append(Effect("murk", "fakes", "blim", 0.4, "x"))
    shares = [Inference(known.network, circumstances, [Cell("blim", "strong", k, 0.025 * k, ())]).faked_share("blim") for k in (1.0, 0.5)]
    assert shares[0] == pytest.approx(shares[1], abs=1e-12) and shares[0] > 0.1


def testleast_certain_by_hand(tmp_path: Path) -> None:
    """Candidates stand by the entropy of their report: 0.9 of what is there and the false reports of what is not, each percept with its own."""
    other = {"blim": 0.4, "gorp": 0.02, "frim": 0.85, "sneb": 0.4}
    world = {"other": other, "false_reports": {"sneb": 0.1, "frim": 0.5}, "evokes": {("dax", p): "rarely" for p in other}}
    known, spec = handmade.build(tmp_path, **world), handmade.spec(**world)

    def entropy(percept: str) -> float:
        absent = (1 - other[percept]) * (1 - spec.prior("dax") * 0.1)
        reported = 0.9 * (1 - absent) + 0.1 * spec.false_reports.get(percept, 1.0) * absent
        return -reported * math.log2(reported) - (1 - reported) * math.log2(1 - reported)

    found = least_certain(known.ontology, handmade.inference(known), list(other))
    assert found == sorted(other, key=entropy, reverse=True) == ["blim", "sneb", "frim", "gorp"]


@pytest.mark.parametrize(("together", "each"), [(0.5, 0.25), (0.25, 0.5)])
def test_cautions_at_exactly_the_least_weight(together: float, each: float, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Exactly the least weight raises a caution, whether the carriers have it together or one of them alone."""
    known = handmade.build(tmp_path, warns={("zork", "hush"): "care"})
    inference = handmade.inference(known)
    known.network.prior["zork"], inference.posterior["zork"] = 0.25, each
    monkeypatch.setattr(Inference, "posterior_any", lambda self, questions, without=(): [[together]])
    monkeypatch.setattr(heed, "RISEN_DB", decibans(0.25, 0.5))
    assert [h.id for h in heed.heed_of_tasting(known.ontology, inference, ())] == ["hush"]
    monkeypatch.setattr(heed, "RISEN_DB", decibans(0.25, 0.5) + 1e-9)
    assert heed.heed_of_tasting(known.ontology, inference, ()) == ()
