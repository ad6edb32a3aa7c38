"""What to look for next: gains against enumeration, the rule of safety over random records, and lookalikes."""

from __future__ import annotations

import itertools
import json
import math

import handmade
import numpy as np
import pytest
from handmade import described, row
from hypothesis import given, settings
from hypothesis import strategies as st

import kgraph
from kgraph.cli import main
from kgraph.reasoning.asking import ask
from kgraph.reasoning.circumstances import circumstances_of
from kgraph.reasoning.evidence import cells_of
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.match import POISON_DB, match
from kgraph.reasoning.next_look import family_outlooks, open_questions
from kgraph.reasoning.proposal import gain, in_order, lookalikes, noticed_in, propose
from kgraph.reasoning.shelf import Shelf
from kgraph.session import Knowledge
from kgraph.tasting import Finding, Record, Sample
from kgraph.yamlio import InputError

PERCEPTS = ("bitter", "astringent-drying", "sweet", "slippery-mucilaginous", "burning-pungent", "minty", "tingling", "sour", "cooling", "mousy")
findings = st.lists(st.tuples(st.sampled_from(PERCEPTS), st.integers(0, 3)), min_size=1, max_size=6, unique_by=lambda pair: pair[0])


def entropy(shares: list[float]) -> float:
    return -sum(p * math.log2(p) for p in shares if p > 0)


@given(st.lists(st.tuples(st.floats(0.01, 1), st.floats(0.001, 0.999)), min_size=1, max_size=6))
def test_gain_is_mutual_information(pairs: list[tuple[float, float]]) -> None:
    """Entropy of the question less what is left of it after either outcome, added up state by state."""
    total = sum(w for w, _ in pairs)
    joint = [(w / total * p, w / total * (1 - p)) for w, p in pairs]
    yes = sum(a for a, _ in joint)
    left = yes * entropy([a / yes for a, _ in joint]) + (1 - yes) * entropy([b / (1 - yes) for _, b in joint])
    found = gain(np.array([w / total for w, _ in pairs]), np.array([p for _, p in pairs]))
    assert found == pytest.approx(entropy([w / total for w, _ in pairs]) - left, abs=1e-9)


@settings(max_examples=25)
@given(st.integers(0, 2**32))
def test_families_against_the_full_joint(tmp_path_factory: pytest.TempPathFactory, seed: int) -> None:
    """On random worlds: what a look would tell about each family, by adding up every state of every class."""
    import random

    rng = random.Random(seed)
    words = ["almost-always", "often", "sometimes", "rarely"]
    classes, percepts = ["zork", "wug", "plon", "dax"], ["blim", "gorp", "frim", "sneb"]
    evokes = {(c, p): rng.choice(words) for c in classes for p in percepts if rng.random() < 0.6} or {("zork", "blim"): "often"}
    priors = {c: rng.randint(1, 9) for c in classes}
    world = handmade.spec(evokes=evokes, priors=priors)
    known = handmade.build(tmp_path_factory.mktemp("w"), evokes=evokes, priors=priors)
    record = handmade.record(("blim", rng.randint(0, 3)))
    inference = asked(known, record)
    families = {**world.families, **{c: [c] for c in world.alone}}
    likelihood = {True: inference.cells[0].there, False: inference.cells[0].not_there}
    chances = dict(zip(known.ontology.families, map(float, inference.posterior_any([dict.fromkeys(m, 1.0) for m in known.ontology.families.values()])[0]), strict=True))
    for outlook in family_outlooks(known.ontology, inference, chances, open_questions(known.ontology, inference, looking_only=False)):
        states = []
        for weight, present, there in handmade.worlds(world, ["blim", outlook.percept]):
            states.append((weight * likelihood["blim" in there], present, 0.9 if outlook.percept in there else 0.1))
        total = sum(w for w, _, _ in states)
        yes = sum(w * r for w, _, r in states) / total
        bits = 0.0
        for family, members in families.items():
            now = sum(w for w, present, _ in states if present & set(members)) / total
            both = sum(w * r for w, present, r in states if present & set(members)) / total
            after = (both / yes, (now - both) / (1 - yes))
            if family in outlook.if_reported:
                assert (outlook.if_reported[family], outlook.if_not[family]) == pytest.approx(after, abs=1e-9)
                bits += entropy([now, 1 - now]) - yes * entropy([after[0], 1 - after[0]]) - (1 - yes) * entropy([after[1], 1 - after[1]])
        assert outlook.reported == pytest.approx(yes, abs=1e-9) and outlook.bits == pytest.approx(bits, abs=1e-9)


def asked(known: Knowledge, record: Record) -> Inference:
    around = circumstances_of(known.ontology, record)
    return Inference(known.network, around, cells_of(known.ontology, known.network, record, around))


@given(findings, st.sampled_from(["", "gentiana-lutea-root", "althaea-officinalis-root", "digitalis-purpurea-leaf", "salvia-officinalis-leaf"]), st.sampled_from(["", "families", "herbs", "lookalikes"]))
def test_nothing_unsafe_is_proposed(known: Knowledge, pairs: list[tuple[str, int]], herb: str, about: str) -> None:
    """Without a label, with a poison within 10 dB, or against a poisonous lookalike: looking and safe tests only, and it says why."""
    o = known.ontology
    record = Record(tuple(Finding(q, s) for q, s in pairs), sample=Sample("", herb))
    try:
        found = propose(o, known.network, record, about=about)
    except InputError as error:
        assert about == "lookalikes" and not (herb and lookalikes(o, herb))
        assert ("no lookalike" if herb else "no herb is claimed") in str(error)
        return
    near = [h for h in match(o, known.network, record).herbs if h.taste_safety == "do-not-taste" and h.below_best_db >= -POISON_DB]
    deadly = found.about == "lookalikes" and any(o.herbs[h].taste_safety == "do-not-taste" for h in lookalikes(o, herb))
    unsafe = not herb or bool(near) or deadly or o.herbs[herb].taste_safety == "do-not-taste" or bool(ask(o, known.network, record).emergencies)
    assert bool(found.only_looking) == unsafe
    for step in found.steps:
        assert 0 < step.chance < 1 and step.bits > 0
        if unsafe:
            assert step.kind == "appearance" or (step.kind.endswith("test") and o.tests[step.id].safe_without_label)
    ids = [s.id for s in found.steps]
    assert len(set(ids)) == len(ids) and not set(ids) & {o.percept(q) for q, _ in pairs}


HERBS = {
    "one": {"described_as": described(gorp="strong", frim="absent"), "contains": [row(**{"class": "wug", "level": "major"})]},
    "two": {"described_as": described(gorp="absent", frim="strong"), "contains": [row(**{"class": "plon", "level": "major"})],
            "confused_with": [row(herb="one", kind="lookalike", how="one has a square stem")]},
    "three": {"described_as": described(gorp="strong", frim="absent"), "contains": [row(**{"class": "wug", "level": "major"})]},
}
TABLE = {"if_documented": [
    {"documented": d, "state": s, "value": v, **handmade.WHO}
    for d, values in {"absent": (0.02, 0.03, 0.15, 0.8, 0.85), "weak": (0.05, 0.15, 0.5, 0.3, 0.6), "moderate": (0.2, 0.5, 0.2, 0.1, 0.4), "strong": (0.6, 0.25, 0.1, 0.05, 0.34)}.items()
    for s, v in zip(("strong", "moderate", "weak", "absent", "unnoticed"), values, strict=True)
]}


@pytest.fixture(scope="module")
def herbarium(tmp_path_factory: pytest.TempPathFactory) -> Knowledge:
    return handmade.build(tmp_path_factory.mktemp("h"), extra=TABLE, plants=HERBS)


def test_herbs_by_hand(herbarium: Knowledge) -> None:
    """Gain over herbs and "none of these" is worked out from their chances and from P(noticed | herb)."""
    o, record = herbarium.ontology, handmade.record(("blim", 1), herb="two")
    found = propose(o, herbarium.network, record, about="herbs")
    chances = match(o, herbarium.network, record)
    inference = asked(herbarium, record)
    shelf = Shelf(o, herbarium.network)
    for step in found.steps:
        noticed = dict(zip(shelf.ids, noticed_in(shelf, inference, step.id), strict=True))
        if step.id in ("gorp", "frim"):
            strong, absent = (0.95, 0.2)
            assert noticed["one"] == pytest.approx(strong if step.id == "gorp" else absent) and noticed["two"] == pytest.approx(absent if step.id == "gorp" else strong)
        weights = [h.posterior for h in chances.herbs]
        rest = (step.chance - sum(h.posterior * noticed[h.id] for h in chances.herbs)) / chances.none[1]
        p = [noticed[h.id] for h in chances.herbs] + [rest]
        assert 0 < rest < 1
        assert step.bits == pytest.approx(entropy([step.chance, 1 - step.chance]) - sum(w * entropy([q, 1 - q]) for w, q in zip([*weights, chances.none[1]], p, strict=True)), abs=1e-9)
    assert found.steps[0].id in ("gorp", "frim")


def test_lookalikes_by_hand(herbarium: Knowledge) -> None:
    """Between two herbs the documented difference tells most; both directions of the claim count; the source's words stand beside it."""
    found = propose(herbarium.ontology, herbarium.network, handmade.record(("blim", 1), herb="two"), "two")
    assert found.about == "lookalikes" and found.steps[0].id in ("gorp", "frim") and not found.only_looking
    top = {s.id: s for s in found.steps}["gorp"]
    by = {c.id: c for c in top.if_there}
    assert by["one"].then > by["one"].now and by["two"].then < by["two"].now and set(by) == {"one", "two"}
    assert sum(c.now for c in top.if_there) == pytest.approx(1) == pytest.approx(sum(c.then for c in top.if_not))
    (pair,) = found.pairs
    assert pair.how == "one has a square stem" and pair.parted_by == ("label of gorp", "label of frim")
    assert lookalikes(herbarium.ontology, "one") == ["two"] and lookalikes(herbarium.ontology, "three") == []
    with pytest.raises(InputError, match="no lookalike"):
        propose(herbarium.ontology, herbarium.network, handmade.record(("blim", 1), herb="three"), about="lookalikes")


@given(st.lists(st.tuples(st.sampled_from(["blim", "gorp", "frim", "sneb"]), st.integers(0, 3)), min_size=1, max_size=4, unique_by=lambda pair: pair[0]))
def test_twins_stay_inseparable(herbarium: Knowledge, pairs: list[tuple[str, int]]) -> None:
    """Two herbs with the same description and classes are never told apart, and where they fit it is said."""
    found = {h.id: h for h in match(herbarium.ontology, herbarium.network, handmade.record(*pairs)).herbs}
    assert found["one"].posterior == pytest.approx(found["three"].posterior)
    assert ("three" in found["one"].apart_from) == (found["one"].weight_db >= 10)


def test_lookalikes_of_the_ontology_are_parted(known: Knowledge) -> None:
    """Each pair shows how its source parts it; where descriptions part it plainly, a record of what they say puts the right one well ahead."""
    o = known.ontology
    shelf = Shelf(o, known.network)
    pairs, tried = 0, 0
    for herb in o.herbs:
        found = propose(o, known.network, Record((Finding("musty", 0),), sample=Sample("", herb)), about="families", shelf=shelf)
        said = {c.id: c.text("how") for c in o.said_of("confused_with", herb)}
        assert {p.claims[0]: p.how for p in found.pairs}.items() >= said.items() and all(p.how for p in found.pairs)
        named = {c.subject for c in o.pointing_at("confused_with", herb)}
        assert named <= {p.herb for p in found.pairs}
        for pair in found.pairs:
            if not pair.herb:
                continue
            pairs += 1
            percepts = [q for q in o.qualities.values() if q.label in pair.parted_by and q.kind in ("percept", "kind", "colour")]
            for one, two in itertools.permutations((herb, pair.herb)):
                words = {q.id: int(shelf.documented(q.id)[shelf.index[one]]) for q in percepts}
                if not words:
                    continue
                tried += 1
                by = {h.id: h for h in match(o, known.network, Record(tuple(Finding(q, s) for q, s in words.items())), shelf=shelf).herbs}
                assert by[one].below_best_db - by[two].below_best_db >= 3, (one, two, words)
    assert pairs > 150 and tried >= 12


def test_cheap_and_safe_first() -> None:
    """Among near equals: look, kitchen test, smell, taste, bench; a plainly better one before all."""
    from kgraph.reasoning.proposal import Step

    def step(id: str, kind: str, bits: float) -> Step:
        return Step(id, id, kind, bits, 0.5, "", (), ())

    steps = [step("a", "bench test", 0.31), step("b", "taste", 0.305), step("c", "aroma", 0.3), step("d", "kitchen test", 0.295), step("e", "appearance", 0.29), step("f", "bench test", 0.5), step("g", "taste", 0.0005)]
    assert [s.id for s in in_order(steps)] == ["f", "e", "d", "c", "b", "a"]


def test_results_come_back(known: Knowledge) -> None:
    """A test that is in the record is not proposed again, and its outcome moved what it said it would."""
    record = Record((Finding("bitter", 1),))
    before = propose(known.ontology, known.network, record, about="families")
    step = next(s for s in before.steps if s.id == "foam-on-shaking")
    from kgraph.tasting import Outcome

    after = Record(record.findings, tests=(Outcome("foam-on-shaking", True),))
    assert "foam-on-shaking" not in {s.id for s in propose(known.ontology, known.network, after, about="families").steps}
    chances = {c.id: c.posterior for c in ask(known.ontology, known.network, after).families}
    for change in step.if_there:
        assert change.then == pytest.approx(chances[change.id], abs=1e-9)


def test_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    """Screen and data agree; the warning comes first; no word of statistics; faults are exit 2."""
    assert main(["next", "dry mouth, a little bitter", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["answer"] == "next" and data["about"] == "families" and data["only_looking"]
    assert main(["next", "dry mouth, a little bitter"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("WARNING") and data["steps"][0]["label"] in out and "bits" not in out and "Taste alone never names a herb" in " ".join(out.split())
    assert main(["next", "bitter", "--claimed", "gentian"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "No outcome here clears white hellebore" in out
    for wrong, words in ((["next", "bitter", "--about", "herb"], "Did you mean"), (["next", "bitter", "--about", "lookalikes"], "no herb is claimed"), (["next", "nonsense word"], "")):
        assert main(wrong) == 2
        assert words in capsys.readouterr().err
    assert isinstance(kgraph.load().next("bitter").steps, tuple)
