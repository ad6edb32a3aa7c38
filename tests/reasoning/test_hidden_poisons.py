"""Poisons that tasting cannot show, and their harmless doubles, worked out by hand in a made-up world."""

from __future__ import annotations

import math
from pathlib import Path

import handmade
import pytest
from handmade import described, row

from kgraph.reasoning.doubles import hidden_poisons, lift

DEADLY = {"taste_safety": "do-not-taste", "taste_reason": "deadly"}


def contains(level: str = "major", id: str = "venom") -> dict:
    return {"contains": [row(**{"class": id, "level": level})]}


def poisons(**evokes: dict[str, str]) -> dict[str, list[dict]]:
    return {
        "classes": [{"id": id, "label": f"label of {id}", "poison": True} for id in evokes],
        "evokes": [row(**{"class": id, "quality": q, "strength": w}) for id, arcs in evokes.items() for q, w in arcs.items()],
    }


def by_hand(prior: float, own: float, quiet: float) -> float:
    """Ten times the logarithm of the likelihood ratio of a strong report (0.4 where there, 0.01 where not)."""
    given, without = quiet * (1 - own), quiet
    return 10 * math.log10((given * 0.01 + (1 - given) * 0.4) / (without * 0.01 + (1 - without) * 0.4)) if prior else 0.0


def test_lift_by_hand(tmp_path: Path) -> None:
    """The likelihood ratio of one strong report, the other classes and other causes being as common as before."""
    known = handmade.build(tmp_path)
    zork, wug, plon = (handmade.spec().prior(c) for c in ("zork", "wug", "plon"))
    assert lift(known.ontology, known.network, "zork", "blim") == pytest.approx(by_hand(zork, 0.9, 0.95 * (1 - wug * 0.4)), abs=1e-9)
    assert lift(known.ontology, known.network, "wug", "blim") == pytest.approx(by_hand(wug, 0.4, 0.95 * (1 - zork * 0.9)), abs=1e-9)
    assert lift(known.ontology, known.network, "wug", "gorp") == pytest.approx(by_hand(wug, 0.7, 0.95 * (1 - plon * 0.1)), abs=1e-9)


def test_which_are_hidden_and_how_well(tmp_path: Path) -> None:
    """Only poisons; not one that a finding lifts tenfold; tests do not count; those with least to show stand first."""
    extra = poisons(venom={"blim": "rarely", "gorp": "sometimes"}, loud={"sneb": "almost-always"}, mute={}, bane={})
    extra["tests"] = [{"id": "foam", "label": "foam", "kind": "kitchen"}]
    extra["shown_by"] = [row(**{"class": "mute", "test": "foam", "seen": "yes", "hit": "almost-always", "false_positive": "almost-never"})]
    known = handmade.build(tmp_path, extra=extra, default_other=0.01, evokes={("wug", "blim"): "often"}, priors={"wug": 3})
    assert lift(known.ontology, known.network, "loud", "sneb") > 10
    hidden = hidden_poisons(known.ontology, known.network)
    assert [(h.id, h.label, h.by) for h in hidden] == [("bane", "label of bane", ""), ("mute", "label of mute", "")]
    assert [(h.best_db, h.poison, h.poison_label, h.harmless, h.harmless_label, h.shared) for h in hidden] == [(0.0, "", "", "", "", ())] * 2
    dull = handmade.build(tmp_path / "b", extra=extra, default_other=0.2, evokes={("wug", "blim"): "often"}, priors={"wug": 3})
    hidden = hidden_poisons(dull.ontology, dull.network)
    assert [(h.id, h.by) for h in hidden] == [("bane", ""), ("mute", ""), ("venom", "gorp"), ("loud", "sneb")]
    assert hidden[2].best_db == pytest.approx(by_hand(0.5 / 11, 0.4, 0.8), abs=1e-9)
    assert hidden_poisons(dull.ontology, dull.network) is hidden, "worked out once"


def test_ten_decibans_are_the_edge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A poison that is lifted by exactly the limit is not hidden."""
    from kgraph.reasoning import doubles

    assert doubles.LIFTED_DB == 10.0
    known = handmade.build(tmp_path, extra=poisons(venom={"blim": "often"}))
    edge = lift(known.ontology, known.network, "venom", "blim")
    doubles._hidden.cache_clear()
    monkeypatch.setattr(doubles, "LIFTED_DB", edge)
    assert hidden_poisons(known.ontology, known.network) == ()
    doubles._hidden.cache_clear()
    monkeypatch.setattr(doubles, "LIFTED_DB", edge + 1e-9)
    assert [h.id for h in hidden_poisons(known.ontology, known.network)] == ["venom"]
    doubles._hidden.cache_clear()


def double(tmp_path: Path, **plants: dict):
    (hidden,) = hidden_poisons(*(lambda k: (k.ontology, k.network))(handmade.build(tmp_path, extra=poisons(venom={}), plants=plants)))
    return hidden.poison, hidden.harmless, hidden.shared


def test_the_double_shares_most(tmp_path: Path) -> None:
    """The share of common percepts in all percepts decides, then their number; a word counts as its percept."""
    bad = {**DEADLY, **contains(), "described_as": described(blim="strong", gorp="weak")}
    half = {"described_as": described(blim="weak")}
    more = {"described_as": described(gorp="weak", blim_word="strong", frim="strong")}
    assert double(tmp_path / "a", bad=bad, half=half, more=more) == ("bad", "more", ("blim", "gorp"))
    wide = {"described_as": described(gorp="weak", blim="strong", frim="strong", sneb="weak")}
    assert double(tmp_path / "b", bad=bad, half=half, wide=wide) == ("bad", "wide", ("blim", "gorp")), "2 of 4 beats 1 of 2"
    assert double(tmp_path / "c", bad=bad, none={"described_as": described(sneb="weak")}) == ("bad", "", ())
    only = {**bad, "described_as": described(blim="strong", gorp="absent", void="")}
    assert double(tmp_path / "d", bad=only, half=half, wide=wide) == ("bad", "half", ("blim",)), "what is absent is no taste"


def test_only_the_harmless_are_doubles(tmp_path: Path) -> None:
    """A herb to be tasted with care, or never, is not named as the harmless one."""
    bad = {**DEADLY, **contains("minor"), "described_as": described(blim="strong")}
    same = {"described_as": described(blim="weak")}
    little = {"taste_safety": "small-amount", "taste_limit": "a crumb", **same}
    assert double(tmp_path / "a", bad=bad, little=little, worse={**DEADLY, **same}) == ("bad", "", ())
    assert double(tmp_path / "b", bad=bad, little=little, zest=same) == ("bad", "zest", ("blim",))


def test_only_the_poisonous_carriers_count(tmp_path: Path) -> None:
    """The poisonous herb is one never to be tasted that holds the class at major or minor level; the best pair wins, else the first by id."""
    taste, other = described(blim="strong"), described(blim="strong", gorp="weak")
    good = {"described_as": described(blim="weak")}
    trace, safe = {**DEADLY, **contains("trace"), "described_as": taste}, {**contains(), "described_as": described(frim="weak")}
    assert double(tmp_path / "a", trace=trace, safe=safe, good=good) == ("", "", ())
    one, two = {**DEADLY, **contains(), "described_as": other}, {**DEADLY, **contains("minor"), "described_as": taste}
    assert double(tmp_path / "b", aa=one, bb=two, good=good) == ("bb", "good", ("blim",))
    assert double(tmp_path / "c", bb=two, aa={**DEADLY, **contains()}, good=good) == ("bb", "good", ("blim",))
    assert double(tmp_path / "d", zz={**DEADLY, **contains()}, yy={**DEADLY, **contains()}) == ("yy", "", ())
