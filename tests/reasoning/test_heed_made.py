"""Cautions of the label and of the tasting at their thresholds, in a made-up world."""

from __future__ import annotations

from pathlib import Path

import handmade
import pytest
from handmade import row

from kgraph.reasoning.answer import Label
from kgraph.reasoning.heed import heed_of_label, heed_of_tasting, label_of
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.weights import decibans


def warning(caution: str, severity: str, **more: object) -> dict:
    return row(**{"caution": caution, "severity": severity, "preparation": "any", "detail": f"{caution} it is", **more})


CAUTIONS = {"cautions": [{"id": "do-not-taste", "label": "do not taste"}, {"id": "arid", "label": "arid"}]}
PLANTS = {
    "alba": {
        "taste_safety": "small-amount", "taste_limit": "a crumb", "taste_reason": "because",
        "warns_of": [
            warning("ouch", "information"), warning("arid", "care", preparation="oil", under_age=12, max_days=14), warning("hush", "avoid"),
            warning("ouch", "care"), warning("do-not-taste", "care"),
        ],
        "confused_with": [
            row(kind="name", how="by looking", name="Apple of nowhere"), row(herb="bruna", kind="lookalike", how="by the root"),
            row(herb="cana", kind="adulterant", how="by the leaf"), row(herb="dura", kind="lookalike", how="by papers"),
        ],
    },
    "bruna": {"taste_reason": "nothing known", "common_names": ["zulu leaf"]},
    "cana": {"common_names": ["mike leaf"]},
    "dura": {"taste_safety": "do-not-taste", "taste_reason": "deadly", "common_names": ["yankee leaf"], "warns_of": [warning("do-not-taste", "avoid")]},
}


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory):
    return handmade.build(tmp_path_factory.mktemp("heed"), extra=CAUTIONS, plants=PLANTS)


def test_the_label_in_order(world) -> None:
    """`do not taste` first, whatever its severity; then by severity; then by name."""
    label, heeds = label_of(world.ontology, "alba", False)
    assert [(h.id, h.severity) for h in heeds] == [("do-not-taste", "care"), ("hush", "avoid"), ("arid", "care"), ("ouch", "care"), ("ouch", "information")]
    assert (label.herb, label.name, label.label, label.part, label.taste_safety, label.sealed) == ("alba", "Planta alba", "alba leaf", "leaf", "small-amount", False)
    assert label.taste_note == "a crumb", "the limit, not the reason"


def test_a_caution_of_the_label_whole(world) -> None:
    """Every field of the statement is kept: for what preparation, under what age, for how many days."""
    (arid,) = [h for h in label_of(world.ontology, "alba", False)[1] if h.id == "arid"]
    assert (arid.label, arid.origin, arid.because, arid.probability, arid.detail) == ("arid", "label", (), None, "arid it is")
    assert (arid.preparation, arid.under_age, arid.max_days) == ("oil", 12.0, 14.0) and isinstance(arid.under_age, float)
    (hush,) = [h for h in label_of(world.ontology, "alba", False)[1] if h.id == "hush"]
    assert (hush.preparation, hush.under_age, hush.max_days) == ("any", None, None)
    (claim,) = [c for c in world.ontology.said_of("warns_of", "alba") if c.object == "hush"]
    assert heed_of_label(world.ontology, claim) == hush and hush.claims == (claim.id,)


def test_a_sealed_label_tells_no_name(world) -> None:
    """What must be heeded stays; ids, names, details and lookalikes, by which one could guess, do not."""
    label, heeds = label_of(world.ontology, "alba", True)
    assert label == Label(taste_safety="small-amount", sealed=True)
    assert [(h.id, h.severity) for h in heeds] == [(h.id, h.severity) for h in label_of(world.ontology, "alba", False)[1]]
    assert not any(h.detail or h.claims for h in heeds) and [h.under_age for h in heeds if h.id == "arid"] == [12.0]


def test_what_it_is_confused_with(world) -> None:
    """The herbs never to be tasted first, then by name; a name alone has no safety."""
    confused = label_of(world.ontology, "alba", False)[0].confused_with
    assert [(c.herb, c.label, c.kind, c.how, c.taste_safety) for c in confused] == [
        ("dura", "yankee leaf", "lookalike", "by papers", "do-not-taste"), ("", "Apple of nowhere", "name", "by looking", ""),
        ("cana", "mike leaf", "adulterant", "by the leaf", "ok"), ("bruna", "zulu leaf", "lookalike", "by the root", "ok"),
    ]


def test_labels_without_cautions(world) -> None:
    """No label says nothing; a herb without cautions has none, and its note is the reason."""
    label, heeds = label_of(world.ontology, "", True)
    assert label.herb == "" and not label.sealed and heeds == ()
    label, heeds = label_of(world.ontology, "bruna", False)
    assert (label.taste_note, heeds) == ("nothing known", ())
    (other,) = label.confused_with
    assert (other.herb, other.how) == ("alba", f"told from the side of {other.label}: by the root"), "said of the one, it holds for both"
    assert label_of(world.ontology, "dura", False)[0].taste_note == "deadly"


# -- from the tasting ------------------------------------------------------------------------------------------

WARNS = {("zork", "ouch"): "care", ("wug", "ouch"): "care", ("plon", "ouch"): "care", ("dax", "hush"): "avoid"}


def posed(tmp_path: Path, priors: dict[str, float], posteriors: dict[str, float], warns: dict[tuple[str, str], str] | None = None, **more: object):
    """An inference whose class posteriors are set by hand and independent of each other."""
    known = handmade.build(tmp_path, warns=WARNS if warns is None else warns, **more)
    inference = handmade.inference(known)
    known.network.prior.update(priors)
    inference.posterior.update(priors | posteriors)

    def any_of(self: Inference, questions, without=()):
        found = []
        for members in questions:
            none = 1.0
            for id, part in members.items():
                none *= 1 - part * self.posterior[id]
            found.append(1 - none)
        return [found]

    return known.ontology, inference, any_of


PRIOR = {"zork": 0.01, "wug": 0.01, "plon": 0.01, "dax": 0.01}


@pytest.mark.parametrize(
    ("prior", "posterior", "listed"),
    [(0.01, 0.0305, True), (0.01, 0.0295, False), (0.01, 0.029, False), (0.5, 0.62, True), (0.5, 0.61, False), (0.5, 0.52, False), (0.5, 0.4, False), (0.9, 0.95, True), (0.9, 0.92, False)],
)
def test_when_a_caution_is_raised(prior: float, posterior: float, listed: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A carrier that rose by two decibans and by two in a hundred brings its caution; one of the two is not enough."""
    ontology, inference, any_of = posed(tmp_path, PRIOR | {"dax": prior}, {"dax": posterior})
    monkeypatch.setattr(Inference, "posterior_any", any_of)
    assert listed == (posterior - prior >= 0.02 and decibans(prior, posterior) >= 2)
    found = heed_of_tasting(ontology, inference, ())
    assert [h.id for h in found] == (["hush"] if listed else [])
    if listed:
        (heed,) = found
        assert heed.because == ("dax",) and heed.probability == pytest.approx(posterior) and (heed.severity, heed.origin) == ("avoid", "tasting")
        assert (heed.label, heed.detail, heed.preparation) == ("label of hush", "detail dax hush", "any")
        assert heed.under_age is None and heed.max_days is None


def test_many_that_rise_a_little(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Carriers that rose together raise the caution though none did alone; the one that rose most is named."""
    ontology, inference, any_of = posed(tmp_path, PRIOR, {"zork": 0.022, "wug": 0.024, "plon": 0.023})
    monkeypatch.setattr(Inference, "posterior_any", any_of)
    (heed,) = heed_of_tasting(ontology, inference, ())
    assert (heed.id, heed.because) == ("ouch", ("wug",)) and heed.probability == pytest.approx(1 - 0.978 * 0.976 * 0.977)


def test_one_that_rises_among_many(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A carrier that rose by itself raises the caution though the group did not, and stands alone as the reason."""
    ontology, inference, any_of = posed(tmp_path, {**PRIOR, "zork": 0.9, "wug": 0.3}, {"zork": 0.7, "plon": 0.2, "wug": 0.3})
    monkeypatch.setattr(Inference, "posterior_any", any_of)
    (heed,) = heed_of_tasting(ontology, inference, [])
    assert heed.because == ("plon",)


def test_on_a_shown_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A class on a shown path brings its cautions though it fell, and stands before those that rose more; the details are its own."""
    ontology, inference, any_of = posed(tmp_path, PRIOR, {"zork": 0.005, "wug": 0.06, "plon": 0.08})
    monkeypatch.setattr(Inference, "posterior_any", any_of)
    heeds = {h.id: h for h in heed_of_tasting(ontology, inference, {"zork", "dax"})}
    assert heeds["ouch"].because == ("zork", "plon", "wug") and heeds["hush"].because == ("dax",)
    assert heeds["ouch"].detail == "detail zork ouch"
    assert [ontology.claim(c).subject for c in heeds["ouch"].claims] == ["zork", "plon", "wug"]
    assert [h.id for h in heed_of_tasting(ontology, inference, {"dax"})] == ["hush", "ouch"], "the gravest first"


def test_order_of_the_tastings_cautions(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """By severity, then the likelier one, then by id; one caution at two severities is two."""
    warns = {("zork", "ouch"): "care", ("wug", "hush"): "care", ("plon", "ouch"): "information", ("dax", "hush"): "avoid"}
    ontology, inference, any_of = posed(tmp_path, PRIOR, {"zork": 0.1, "wug": 0.2, "plon": 0.5, "dax": 0.05}, warns)
    monkeypatch.setattr(Inference, "posterior_any", any_of)
    assert [(h.id, h.severity) for h in heed_of_tasting(ontology, inference, ())] == [("hush", "avoid"), ("hush", "care"), ("ouch", "care"), ("ouch", "information")]
    inference.posterior["wug"] = 0.1
    assert [h.because for h in heed_of_tasting(ontology, inference, ()) if h.severity == "care"] == [("wug",), ("zork",)]


def test_ages_and_days_of_a_class(tmp_path: Path) -> None:
    """The figures of the statement that leads are kept."""
    more = [{**warning("arid", "care", under_age=6, max_days=3, preparation="tea"), "class": "plon"}]
    known = handmade.build(tmp_path, extra={**CAUTIONS, "warns_of": more})
    (heed,) = known.ask(handmade.record(("frim", 3))).cautions
    assert (heed.id, heed.preparation, heed.under_age, heed.max_days, heed.because) == ("arid", "tea", 6.0, 3.0, ("plon",))
    assert heed.probability > 0.85
