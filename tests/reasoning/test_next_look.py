"""What to look for next: its figures against the full joint distribution, its order and its limits, in a made-up world."""

from __future__ import annotations

import math
from pathlib import Path

import handmade
import pytest
from handmade import row

from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.next_look import expected_gain, open_questions, rank_looks

BLIM = Cell("blim", "strong", 1.0, 0.025, ("blim",))
#: appearance, an unevoked percept, tests of both kinds
MORE = {
    "qualities": [
        {"id": "hue", "label": "label of hue", "sense": "appearance", "kind": "colour", "definition": "what it looks like"},
        {"id": "mute", "label": "label of mute", "sense": "taste", "kind": "percept"},
    ],
    "tests": [
        {"id": "shake", "label": "label of shake", "kind": "kitchen", "steps": "Shake it.", "safe_without_label": True},
        {"id": "lick", "label": "label of lick", "kind": "bench", "steps": "Lick it.", "cautions": "Spit."},
    ],
    "evokes": [row(**{"class": "dax", "quality": "hue", "strength": "almost-always"})],
    "shown_by": [
        row(**{"class": "plon", "test": "shake", "seen": "foam", "hit": "often", "false_positive": "rarely"}),
        row(**{"class": "wug", "test": "lick", "seen": "burn", "hit": "sometimes", "false_positive": "rarely"}),
    ],
}


def mutual_information(joint: dict[tuple[bool, bool], float]) -> float:
    total = sum(joint.values())
    shares = {key: value / total for key, value in joint.items()}
    left = {f: sum(v for (g, _), v in shares.items() if g == f) for f in (True, False)}
    right = {r: sum(v for (_, q), v in shares.items() if q == r) for r in (True, False)}
    return sum(v * math.log2(v / left[f] / right[r]) for (f, r), v in shares.items() if v > 0)


def bits_of(world, percept: str, hit: float, false_report: float) -> float:
    """The information that a report on `percept` gives on all families, blim having been noticed strongly."""
    families = {**world.families, **{c: [c] for c in world.alone}}
    total = 0.0
    for members in families.values():
        joint: dict[tuple[bool, bool], float] = {}
        for weight, present, there in handmade.worlds(world, ["blim", percept]):
            weight *= 1.0 if "blim" in there else 0.025
            rate = hit if percept in there else false_report
            key = bool(present & set(members))
            joint[(key, True)] = joint.get((key, True), 0.0) + weight * rate
            joint[(key, False)] = joint.get((key, False), 0.0) + weight * (1 - rate)
        total += mutual_information(joint)
    return total


def families_of(known, inference) -> dict[str, float]:
    ids = known.ontology.families
    return dict(zip(ids, map(float, inference.posterior_any([dict.fromkeys(m, 1.0) for m in ids.values()])[0]), strict=True))


def looks_of(known, *cells: Cell, **options: object):
    inference = handmade.inference(known, *cells)
    return rank_looks(known.ontology, inference, families_of(known, inference), **{"looking_only": False, **options})  # type: ignore[arg-type]


def test_bits_against_the_full_joint(tmp_path: Path) -> None:
    """Qualities count with the report table, tests with their own rates and a misreading of 0.02; the sum is over all families."""
    known = handmade.build(tmp_path, extra=MORE)
    looks = {look.id: look for look in looks_of(known, BLIM)}
    evokes = handmade.spec().evokes | {("dax", "hue"): "almost-always", ("plon", "shake"): "often", ("wug", "lick"): "sometimes"}
    world = handmade.spec(evokes=evokes, other={"shake": 0.1, "lick": 0.1})
    expected = {p: bits_of(world, p, 0.9, 0.1) for p in ("gorp", "frim", "sneb", "hue")} | {t: bits_of(world, t, 0.98, 0.02) for t in ("shake", "lick")}
    assert {id: look.bits for id, look in looks.items()} == pytest.approx(expected, abs=1e-9)
    assert (looks["gorp"].kind, looks["hue"].kind, looks["shake"].kind, looks["lick"].kind) == ("taste", "appearance", "kitchen test", "bench test")
    assert (looks["hue"].steps, looks["shake"].steps, looks["lick"].steps) == ("what it looks like", "Shake it.", "Lick it. Spit.")
    assert looks["shake"].label == "label of shake" and looks["hue"].label == "label of hue"


def test_false_reports_are_allowed_for(tmp_path: Path) -> None:
    """A smell that is seldom named falsely tells more."""
    world = handmade.spec(false_reports={"frim": 0.2})
    (look,) = [look for look in looks_of(handmade.build(tmp_path, false_reports={"frim": 0.2}), BLIM) if look.id == "frim"]
    assert look.bits == pytest.approx(bits_of(world, "frim", 0.9, 0.1 * 0.2), abs=1e-9)


def test_what_is_open(tmp_path: Path) -> None:
    """Not what was asked, no word, no group, nothing that no class gives; looking only leaves appearance and the safe tests."""
    known = handmade.build(tmp_path, extra=MORE)
    inference = handmade.inference(known, BLIM)
    assert open_questions(known.ontology, inference, looking_only=False) == ["gorp", "frim", "sneb", "hue", "test/shake", "test/lick"]
    assert open_questions(known.ontology, inference, looking_only=True) == ["hue", "test/shake"]
    asked = handmade.inference(known, Cell("hue", "weak", 1.0, 0.5, ()), Cell("test/shake", "absent", 0.1, 1.0, ()), Cell("frim", "unnoticed", 0.5, 1.0, ()))
    assert open_questions(known.ontology, asked, looking_only=False) == ["blim", "gorp", "sneb", "test/lick"]
    asked.left_out = [Cell("gorp", "weak", 1.0, 0.9, ("gorp",))]
    assert open_questions(known.ontology, asked, looking_only=False) == ["blim", "sneb", "test/lick"]
    assert {look.id for look in looks_of(known, BLIM, looking_only=True)} == {"hue", "shake"}


@pytest.mark.parametrize(("kitchen", "bench", "first"), [("often", "often", "zip"), ("sometimes", "sometimes", "zip"), ("rarely", "almost-always", "arc"), ("almost-always", "rarely", "zip")])
def test_the_bench_stands_behind_its_equals_only(kitchen: str, bench: str, first: str, tmp_path: Path) -> None:
    """A bench test that tells as much comes after the kitchen test, one that tells plainly more before it."""
    tests = [{"id": "arc", "label": "arc", "kind": "bench"}, {"id": "zip", "label": "zip", "kind": "kitchen"}]
    shown = [row(**{"class": "plon", "test": t, "seen": "yes", "hit": h, "false_positive": "almost-never"}) for t, h in (("arc", bench), ("zip", kitchen))]
    looks = looks_of(handmade.build(tmp_path, extra={"tests": tests, "shown_by": shown}, evokes={("dax", "blim"): "often"}), BLIM)
    assert looks[0].id == first


def test_near_equals_and_their_order(tmp_path: Path) -> None:
    """Within a twentieth of a bit a bench test steps back, though it tells a little more; the rest goes by bits."""
    tests = [{"id": "arc", "label": "arc", "kind": "bench"}, {"id": "zip", "label": "zip", "kind": "kitchen"}, {"id": "yap", "label": "yap", "kind": "kitchen"}]
    shown = [
        row(**{"class": "plon", "test": t, "seen": "yes", "hit": h, "false_positive": "almost-never"})
        for t, h in (("arc", "almost-always"), ("zip", "often"), ("yap", "sometimes"))
    ]
    words = {"almost-always": 0.84, "often": 0.83, "sometimes": 0.82, "rarely": 0.1, "almost-never": 0.03}
    looks = looks_of(handmade.build(tmp_path, extra={"tests": tests, "shown_by": shown}, evokes={("dax", "blim"): "often"}, words=words), BLIM)
    bits = {look.id: look.bits for look in looks}
    assert bits["arc"] > bits["zip"] > bits["yap"] and len({round(v * 20) for v in bits.values()}) == 1, "the world is made so"
    assert [look.id for look in looks] == ["zip", "yap", "arc"]


def many(tmp_path: Path, count: int, one_class: bool):
    """A world of so many percepts p00, p01 ..., each given by a class of its own or all by one."""
    percepts = [f"p{i:02d}" for i in range(count)]
    classes = ["zork"] if one_class else [f"c{i:02d}" for i in range(count)]
    changes = {
        "families": {}, "alone": classes, "percepts": ["blim", *percepts], "kinds": ["frim"], "herbs": 200,
        "evokes": {(classes[0 if one_class else i], p): "often" for i, p in enumerate(percepts)},
        "priors": {"zork": 80} if one_class else {c: 10 + 5 * i for i, c in enumerate(classes)},
        "other": {p: 0.01 * (i + 1) for i, p in enumerate(percepts)} if one_class else {},
    }
    known = handmade.build(tmp_path, **changes)
    return known, handmade.inference(known)


def test_the_eight_most_undecided_families_count(tmp_path: Path) -> None:
    """Of twelve families the eight nearest to one half are asked about; a percept of another family tells nothing on them."""
    known, _ = many(tmp_path, 12, False)
    looks = looks_of(known, count=20)
    assert {look.id for look in looks} == {f"p{i:02d}" for i in range(4, 12)}
    assert len(looks_of(known)) == 8 and len(looks_of(known, count=3)) == 3
    assert looks_of(known, count=3) == looks[:3]


def test_sixteen_candidates_with_the_least_certain_outcome(tmp_path: Path) -> None:
    """Twenty percepts of one class with 0.01, 0.02 ... of other causes: the four with the surest outcome are not worked out."""
    known, _ = many(tmp_path, 20, True)
    looks = looks_of(known, count=30)
    assert {look.id for look in looks} == {f"p{i:02d}" for i in range(4, 20)}
    assert looks_of(known)[0].id == "p04", "the fewest other causes among these"


@pytest.mark.parametrize(("count", "share", "listed"), [(0, 0.02, False), (0, 0.0201, True), (12, 0.5, True), (24, 0.9799, True), (24, 0.98, False)])
def test_settled_families_are_not_asked_about(count: int, share: float, listed: bool, tmp_path: Path) -> None:
    """At 0.02 and at 0.98 a family is settled, in between it is open."""
    known = handmade.build(tmp_path, families={}, alone=["plon"], evokes={("plon", "frim"): "almost-always"}, priors={"plon": count}, herbs=24)
    assert bool(rank_looks(known.ontology, handmade.inference(known), {"plon": share}, looking_only=False)) == listed


def test_what_tells_nearly_nothing_is_left_out(tmp_path: Path) -> None:
    """Below a thousandth of a bit nothing is proposed."""
    words = {"almost-always": 0.9, "often": 0.7, "sometimes": 0.4, "rarely": 0.01, "almost-never": 0.001}
    known = handmade.build(tmp_path, evokes={("plon", "frim"): "almost-always", ("plon", "gorp"): "rarely"}, words=words)
    assert [look.id for look in looks_of(known, BLIM)] == ["frim"]


@pytest.mark.parametrize(
    ("p_family", "p_absent", "p_neither", "hit", "false_report", "bits"),
    [
        (0.5, 0.5, 0.5, 1.0, 0.0, 1.0),  # there if and only if the family is
        (0.5, 0.5, 0.5, 1.0, 1.0, 0.0), (0.5, 0.5, 0.5, 0.0, 0.0, 0.0),  # always, and never, reported
        (0.25, 0.75, 0.75, 1.0, 0.0, 0.8112781245),  # the entropy of 1 in 4
        (0.5, 0.4, 0.2, 0.9, 0.1, 0.0), (0.0, 0.5, 0.5, 0.9, 0.1, 0.0), (1.0, 0.5, 0.0, 0.9, 0.1, 0.0),
        (0.5, 0.5, 0.5, 0.9, 0.1, 0.5310044064), (0.5, 0.75, 0.5, 1.0, 0.0, 0.3112781245),
    ],
)
def test_gain_in_plain_cases(p_family: float, p_absent: float, p_neither: float, hit: float, false_report: float, bits: float) -> None:
    """A certain sign tells the family's entropy, an independent or a constant report nothing, a symmetric channel 1 - H(0.1)."""
    assert expected_gain(p_family, p_absent, p_neither, hit, false_report) == pytest.approx(bits, abs=1e-9)
    assert expected_gain(p_family, p_absent, p_neither, hit, false_report) >= 0
