"""The network that an ontology means: priors, arcs, tests and cautions, read off a made-up world."""

from __future__ import annotations

from pathlib import Path

import handmade
import pytest
from handmade import row

from kgraph.reasoning.network import Arc, prior_counts, priors_as_yaml


def contains(**levels: str) -> dict:
    return {"contains": [row(**{"class": c, "level": w}) for c, w in levels.items()]}


def claims_of(known, relation: str, subject: str, object: str) -> tuple[str, ...]:
    return tuple(c.id for c in known.ontology.said_of(relation, subject) if c.object == object)


def test_priors_of_the_table(tmp_path: Path) -> None:
    """(n + 1/2) / (N + 1), a class that the table does not name has n = 0; herbs of one's own do not move it."""
    known = handmade.build(tmp_path, priors={"zork": 2}, plants={"one": contains(zork="major", plon="major")})
    assert known.network.prior == pytest.approx({"zork": 2.5 / 11, "wug": 0.5 / 11, "plon": 0.5 / 11, "dax": 0.5 / 11})


def test_counted_afresh(tmp_path: Path) -> None:
    """Major and minor count, a trace does not, and where sources disagree the ruling one does: grade A before B."""
    disagree = [
        row(**{"class": "wug", "level": "trace"}),
        {"class": "wug", "level": "major", "sources": [{"id": "code", "where": "1", "read": "2026-01-02"}]},
        {"class": "plon", "level": "major", "from_memory": True, "sources": [{"id": "code"}]}, row(**{"class": "plon", "level": "trace"}),
    ]
    extra = {"sources": [{"id": "code", "grade": "A", "author": "Somebody S", "title": "Code", "year": 1901}]}
    plants = {"one": contains(zork="major", plon="minor"), "two": contains(zork="minor", plon="trace"), "three": {"contains": disagree}}
    known = handmade.build(tmp_path, plants=plants, extra=extra)
    total, counts = prior_counts(known.ontology)
    assert (total, counts) == (3, {"zork": 2, "wug": 1, "plon": 1, "dax": 0})
    lines = priors_as_yaml(known.ontology).splitlines()
    assert lines[1:] == [
        "priors:", "  version: 1", "  herbs: 3", "  counts:", "    - {class: plon, herbs: 1, major: 0}", "    - {class: wug, herbs: 1, major: 1}", "    - {class: zork, herbs: 2, major: 1}"]
    assert lines[0].startswith("# How many") and priors_as_yaml(known.ontology).endswith("}\n")


def test_without_a_table_the_herbs_are_counted(tmp_path: Path) -> None:
    """A world whose table of priors has no version takes its priors from its herbs."""
    known = handmade.build(tmp_path, plants={"one": contains(zork="major"), "two": contains(zork="major", wug="minor")})
    known.ontology.tables.prior_version = 0
    assert known.network.prior == pytest.approx({"zork": 2.5 / 3, "wug": 1.5 / 3, "plon": 0.5 / 3, "dax": 0.5 / 3})
    assert "  version: 1" in priors_as_yaml(known.ontology)
    known.ontology.tables.prior_version = 7
    assert "  version: 7" in priors_as_yaml(known.ontology)


def test_arcs_and_words(tmp_path: Path) -> None:
    """A percept's own claim rules over its words, else the strongest word does; every claim is cited, a strength is capped, a weightless arc is none."""
    evokes = {("zork", "blim"): "rarely", ("plon", "gorp"): "almost-never", ("dax", "frim"): "almost-always"}
    more = [
        row(**{"class": "zork", "quality": "blim-word", "strength": "often"}),
        row(**{"class": "wug", "quality": "blim-word", "strength": "rarely"}), row(**{"class": "wug", "quality": "blim-name", "strength": "sometimes"}),
    ]
    extra = {"evokes": more, "qualities": [{"id": "blim-name", "label": "blim-name", "sense": "taste", "kind": "word", "of": "blim"}]}
    words = {"almost-always": 0.9995, "often": 0.7, "sometimes": 0.4, "rarely": 0.1, "almost-never": 0.03}
    known = handmade.build(tmp_path, evokes=evokes, extra=extra, words=words)
    net = known.network
    own, word = claims_of(known, "evokes", "zork", "blim"), claims_of(known, "evokes", "zork", "blim-word")
    assert net.arcs["zork"] == {"blim": Arc(0.1, own + word)}
    assert net.arcs["wug"] == {"blim": Arc(0.4, claims_of(known, "evokes", "wug", "blim-name") + claims_of(known, "evokes", "wug", "blim-word"))}
    assert net.arcs["plon"] == {} and net.arcs["dax"]["frim"].strength == 0.999
    assert set(net.evokers("blim")) == {"zork", "wug"} and net.evokers("gorp") == {}
    assert net.arc("dax", "frim") == net.arcs["dax"]["frim"] and net.arc("dax", "blim") is None


def test_a_group_keeps_its_arc_only_without_kinds(tmp_path: Path) -> None:
    """What is said of a group stands where no kind of it has an arc, and goes where one has."""
    evokes = {("plon", "frim"): "often", ("plon", "zemm"): "almost-always", ("dax", "zemm"): "sometimes"}
    net = handmade.build(tmp_path, evokes=evokes).network
    assert set(net.arcs["plon"]) == {"frim"} and {p: a.strength for p, a in net.arcs["dax"].items()} == {"zemm": 0.4}
    assert net.groups == {"zemm": ("frim", "sneb")}


def test_other_causes(tmp_path: Path) -> None:
    """Percepts, kinds, groups and colours have other causes; words, absences and stop signs are no percepts."""
    extra = {"qualities": [
        {"id": "rosy", "label": "rosy", "sense": "appearance", "kind": "colour"}, {"id": "swell", "label": "swell", "sense": "mouthfeel", "kind": "stop"}]}
    net = handmade.build(tmp_path, other={"gorp": 0.2}, extra=extra).network
    assert net.other_cause == {"blim": 0.05, "gorp": 0.2, "zemm": 0.05, "frim": 0.05, "sneb": 0.05, "rosy": 0.05}


def shown(subject: str, test: str, hit: str, false_positive: str) -> dict:
    return row(**{"class": subject, "test": test, "seen": "yes", "hit": hit, "false_positive": false_positive})


def test_tests_are_percepts(tmp_path: Path) -> None:
    """A class's own rate goes before its family's, whichever stands first; other causes are the largest false positive, at most one half."""
    tests = [{"id": t, "label": t, "kind": "kitchen"} for t in ("foam", "inky", "loud", "idle")]
    rows = [
        shown("zork", "foam", "rarely", "almost-never"), shown("fam-one", "foam", "often", "rarely"), shown("plon", "foam", "almost-never", "almost-never"),
        shown("fam-one", "inky", "sometimes", "rarely"), shown("wug", "inky", "almost-always", "almost-never"), shown("dax", "loud", "often", "almost-always"),
    ]
    herb = {"shown_by": [row(test="idle", seen="yes")]}
    known = handmade.build(tmp_path, extra={"tests": tests, "shown_by": rows}, plants={"one": herb})
    net = known.network
    hits = {c: {p: a.strength for p, a in arcs.items() if p.startswith("test/")} for c, arcs in net.arcs.items()}
    assert hits == {
        "zork": {"test/foam": 0.1, "test/inky": 0.4}, "wug": {"test/foam": 0.7, "test/inky": 0.9}, "plon": {"test/foam": 0.03}, "dax": {"test/loud": 0.7}}
    assert {p: v for p, v in net.other_cause.items() if p.startswith("test/")} == {"test/foam": 0.1, "test/inky": 0.1, "test/loud": 0.5, "test/idle": 0.02}
    assert net.arcs["wug"]["test/foam"].claims == claims_of(known, "shown_by", "fam-one", "foam")
    assert net.arcs["wug"]["test/inky"].claims == claims_of(known, "shown_by", "wug", "inky")


def test_a_test_that_never_fails_is_capped(tmp_path: Path) -> None:
    """A hit rate is at most 0.999, and a rate of 0 is no arc."""
    words = {"almost-always": 0.9995, "often": 0.7, "sometimes": 0.4, "rarely": 0.1, "almost-never": 0.0}
    rows = [shown("zork", "foam", "almost-always", "almost-never"), shown("wug", "foam", "almost-never", "almost-never")]
    net = handmade.build(tmp_path, extra={"tests": [{"id": "foam", "label": "foam", "kind": "kitchen"}], "shown_by": rows}, words=words).network
    assert net.arcs["zork"]["test/foam"].strength == 0.999 and "test/foam" not in net.arcs["wug"]
    assert net.other_cause["test/foam"] == 0.02


def test_actions_and_carriers(tmp_path: Path) -> None:
    """Actions and cautions of classes enter, those of herbs do not; two statements of one caution stay together, an action of nobody is none."""
    warns = [row(**{"class": "zork", "caution": "ouch", "severity": "care", "preparation": p, "detail": f"in {p}"}) for p in ("tea", "oil")]
    herb = {"acts_as": [row(action="jive", basis="tradition")], "warns_of": [row(caution="ouch", severity="avoid", preparation="any", detail="never")]}
    known = handmade.build(tmp_path, acts={("wug", "quell"): "often", ("dax", "quell"): "almost-always"}, warns={("wug", "ouch"): "care", ("wug", "hush"): "avoid"},
                           extra={"warns_of": warns}, plants={"one": herb}, words={**handmade.spec().words, "almost-always": 0.9995})
    net = known.network
    assert {a: {c: arc.strength for c, arc in arcs.items()} for a, arcs in net.acts.items()} == {"quell": {"wug": 0.7, "dax": 0.999}}
    assert net.acts["quell"]["wug"].claims == claims_of(known, "acts_as", "wug", "quell")
    assert {k: {c: len(ids) for c, ids in v.items()} for k, v in net.carriers.items()} == {("ouch", "care"): {"zork": 2, "wug": 1}, ("hush", "avoid"): {"wug": 1}}
    assert set(net.carriers[("ouch", "care")]["zork"]) == set(claims_of(known, "warns_of", "zork", "ouch"))
