"""The tasting record, format 1: read, written, read again; and every kind of bad record."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.tasting import (
    Finding,
    Impression,
    Outcome,
    Preparation,
    Record,
    Sample,
    Taster,
    Vocabulary,
    read_record_text,
    write_record,
)
from kgraph.tasting.record import ANONYMOUS, FORMS, WHEN
from kgraph.yamlio import InputError

VOCABULARY = Vocabulary(
    qualities={"bitter": ("bitter", "bitterness"), "sweet": ("sweet",), "drying": ("drying", "dry mouth"), "no-smell": ("no smell",)},
    absences=frozenset({"no-smell"}), herbs=frozenset({"lime-flower", "oak-bark"}), tests=frozenset({"foam", "iron"}),
    states={"blocked-nose": "blocked nose", "tired": "tired"}, standard_list=("bitter", "sweet", "drying"), standard_version=1,
)
TODAY = datetime.date(2026, 11, 25)

FULL = """
record: 1
tasted_on: 2026-05-03
sample: {code: "417", herb: lime-flower, batch: {supplier: own garden, lot: "", harvested: 2025-07, form: cut}}
preparation: {form: infusion, herb_grams: 2, cold_water_ml: 70, boiling_water_ml: 140, steep_minutes: 8, covered: true,
              ethanol_percent: 0, tasted_at_celsius: 45, stored_months: 6, added: [], water: tap, vessel: china}
tasters:
  A: {state: [blocked-nose], after_sample: "416", swallowed: true}
  B: {}
looked_for: standard
findings:
  - {taster: A, quality: drying, strength: moderate, when: holding, where: tongue}
  - {taster: B, quality: bitter, strength: absent}
  - {taster: B, quality: sweet, strength: 3}
tests:
  - {test: foam, seen: no}
impressions:
  - {taster: A, text: "a hayloft in August"}
"""


def read(text: str) -> Record:
    return read_record_text(text, VOCABULARY, "r.yaml", TODAY)


def rules(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(text)
    for fault in caught.value.faults:
        assert fault.place.file == "r.yaml" and fault.place.line >= 1
    return [f.rule for f in caught.value.faults]


def test_the_full_example_is_read() -> None:
    """Every field of the format arrives where it belongs."""
    r = read(FULL)
    assert r.sample == Sample("417", "lime-flower", {"supplier": "own garden", "harvested": "2025-07", "form": "cut"})
    assert r.preparation.steep_minutes == 8 and r.preparation.covered is True and r.preparation.ethanol_percent == 0
    assert r.tasters["A"] == Taster("A", ("blocked-nose",), "416", True)
    assert [(f.taster, f.quality, f.strength, f.when) for f in r.findings] == [("A", "drying", 2, "holding"), ("B", "bitter", 0, ""), ("B", "sweet", 3, "")]
    assert r.looked_for == {"A": VOCABULARY.standard_list, "B": VOCABULARY.standard_list} and r.standard
    assert r.tests[0].test == "foam" and r.tests[0].seen is False
    assert r.impressions == (Impression("a hayloft in August", "A"),)


def test_only_record_and_findings_are_required() -> None:
    """With one taster, `taster` may be left out."""
    r = read("record: 1\nfindings: [{quality: bitter, strength: weak}]")
    assert r.findings[0].taster == ANONYMOUS and list(r.tasters) == [ANONYMOUS]
    assert read("record: 1\ntasters: [Z]\nfindings: [{quality: bitter, strength: weak}]").findings[0].taster == "Z"


BAD = [
    ("findings: [{quality: bitter, strength: weak}]", ["missing"]),
    ("record: 2\nfindings: [{quality: bitter, strength: weak}]", ["other-version"]),
    ("record: one\nfindings: [{quality: bitter, strength: weak}]", ["not-a-number"]),
    ("record: 1", ["missing"]),
    ("record: 1\nfindings: []", ["no-findings"]),
    ("record: 1\nimpressions: [{text: hay}]", ["missing"]),
    ("record: 1\nfindings: [{quality: biter, strength: weak}]", ["unknown-quality"]),
    ("record: 1\nfindings: [{quality: dry mouth, strength: weak}]", ["unknown-quality"]),
    ("record: 1\nsample: {herb: oak}\nfindings: [{quality: bitter, strength: weak}]", ["unknown-herb"]),
    ("record: 1\nfindings: [{quality: bitter, strength: 7}]", ["bad-strength"]),
    ("record: 1\nfindings: [{quality: bitter, strength: -1}]", ["bad-strength"]),
    ("record: 1\nfindings: [{quality: bitter, strength: 1.5}]", ["bad-strength"]),
    ("record: 1\nfindings: [{quality: bitter, strength: .nan}]", ["bad-strength"]),
    ("record: 1\nfindings: [{quality: bitter, strength: NaN}]", ["bad-strength"]),
    ("record: 1\nfindings: [{quality: bitter, strength: no}]", ["bad-strength"]),
    ("record: 1\nfindings: [{quality: bitter, strength: true}]", ["bad-strength"]),
    ("record: 1\nfindings: [{quality: bitter}]", ["missing"]),
    ("record: 1\nfindings: [{quality: no-smell, strength: absent}]", ["absent-absence"]),
    ("record: 1\nrecord: 1\nfindings: [{quality: bitter, strength: weak}]", ["duplicate-key"]),
    ("record: 1\nfindings: [{quality: bitter, strength: weak}, {quality: bitter, strength: strong}]", ["stated-twice"]),
    ("record: 1\ntasters: [A]\nfindings: [{taster: B, quality: bitter, strength: weak}]", ["undeclared-taster"]),
    ("record: 1\nfindings: [{taster: B, quality: bitter, strength: weak}]", ["undeclared-taster"]),
    ("record: 1\ntasters: [A, B]\nfindings: [{quality: bitter, strength: weak}]", ["missing"]),
    ("record: 1\ntasters: [A, A]\nfindings: [{taster: A, quality: bitter, strength: weak}]", ["stated-twice"]),
    ("record: 1\npreparation: {cold_water_ml: -5}\nfindings: [{quality: bitter, strength: weak}]", ["out-of-range"]),
    ("record: 1\npreparation: {herb_grams: .inf}\nfindings: [{quality: bitter, strength: weak}]", ["not-finite"]),
    ("record: 1\npreparation: {ethanol_percent: 120}\nfindings: [{quality: bitter, strength: weak}]", ["out-of-range"]),
    ("record: 1\npreparation: {tasted_at_celsius: 130}\nfindings: [{quality: bitter, strength: weak}]", ["out-of-range"]),
    ("record: 1\npreparation: {form: soup}\nfindings: [{quality: bitter, strength: weak}]", ["unknown-word"]),
    ("record: 1\npreparation: {steep_minuts: 5}\nfindings: [{quality: bitter, strength: weak}]", ["unknown-key"]),
    ("record: 1\ntasted_on: 2030-01-01\nfindings: [{quality: bitter, strength: weak}]", ["future-date"]),
    ("record: 1\ntasted_on: 2026-02-30\nfindings: [{quality: bitter, strength: weak}]", ["bad-date"]),
    ("record: 1\ntasted_on: yesterday\nfindings: [{quality: bitter, strength: weak}]", ["bad-date"]),
    ("record: 1\nlooked_for: [bitter, sooty]\nfindings: [{quality: bitter, strength: weak}]", ["unknown-quality"]),
    ("record: 1\ntests: [{test: fom, seen: yes}]\nfindings: [{quality: bitter, strength: weak}]", ["unknown-test"]),
    ("record: 1\ntests: [{test: foam}]\nfindings: [{quality: bitter, strength: weak}]", ["missing"]),
    ("record: 1\ntests: [{test: foam, seen: perhaps}]\nfindings: [{quality: bitter, strength: weak}]", ["not-true-or-false"]),
    ("record: 1\ntasters: {A: {state: [blocked-noze]}}\nfindings: [{quality: bitter, strength: weak}]", ["unknown-word"]),
    ("record: 1\nfindings: bitter", ["not-a-list"]),
    ("record: 1\nfindings: [bitter]", ["not-a-mapping"]),
    ("record: 1\nfindings: [{quality: bitter, strength: weak, when: midnight}]", ["unknown-word"]),
]


@pytest.mark.parametrize(("text", "expected"), BAD)
def test_each_bad_record_gets_one_clear_word(text: str, expected: list[str]) -> None:
    """One fault, its rule, its line, a remedy."""
    found = rules(text)
    assert [r for r in found if r != "no-findings"] == expected or found == expected


def test_a_remedy_stands_beside_each_fault() -> None:
    """Misspelt ids are answered with the nearest right one, labels with their id."""
    with pytest.raises(InputError) as caught:
        read("record: 1\nfindings: [{quality: biter, strength: weak}, {quality: dry mouth, strength: weak}, {quality: sweet, strength: no}]")
    remedies = [f.remedy for f in caught.value.faults]
    assert remedies[0].startswith("Did you mean `bitter`") and remedies[1] == "Its id is `drying`."
    assert remedies[2] == "Use absent, weak, moderate or strong, or 0 to 3."


def test_all_faults_come_in_one_run() -> None:
    """Five faults, five lines."""
    assert len(rules("record: 3\ntasted_on: x\nsample: {herb: elm}\nfindings:\n  - {quality: q, strength: 9}\ncolour: red")) == 6


names = st.sampled_from(["A", "B", "C d"])
texts = st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=30).map(str.strip).filter(bool)


@st.composite
def records(draw: st.DrawFn) -> Record:
    tasters = draw(st.lists(names, min_size=1, max_size=3, unique=True)) if draw(st.booleans()) else [ANONYMOUS]
    plain = [q for q in VOCABULARY.qualities if q not in VOCABULARY.absences]
    keys = draw(st.lists(st.tuples(st.sampled_from(tasters), st.sampled_from(plain), st.sampled_from(["", *WHEN])), min_size=1, max_size=8, unique=True))
    findings = tuple(Finding(q, draw(st.integers(0, 3)), t, w, draw(st.sampled_from(["", "tongue", "lips"]))) for t, q, w in keys)
    number = st.one_of(st.none(), st.integers(0, 60).map(float), st.floats(0, 60).map(lambda x: round(x, 2)))
    preparation = Preparation(
        form=draw(st.sampled_from(FORMS)), herb_grams=draw(number), ethanol_percent=draw(number), tasted_at_celsius=draw(number), stored_months=draw(number),
        covered=draw(st.sampled_from([None, True, False])), added=tuple(draw(st.lists(texts, max_size=2))), water=draw(st.sampled_from(["", "tap", "no", "012"])),
    )
    sample = Sample(draw(st.sampled_from(["", "417", "012", "no", "1e3", "~"])), draw(st.sampled_from(["", "lime-flower"])), draw(st.sampled_from([{}, {"supplier": "on: off # \"x\""}])))
    looked = draw(st.sampled_from(["none", "standard", "list"]))
    looked_for = {} if looked == "none" else dict.fromkeys(tasters, VOCABULARY.standard_list if looked == "standard" else ("bitter", "sweet"))
    return Record(
        findings, draw(st.sampled_from(["", "2026-05-03"])), sample, preparation,
        {t: Taster(t, tuple(draw(st.lists(st.sampled_from(["blocked-nose", "tired"]), unique=True, max_size=2)))) for t in tasters}, looked_for, looked == "standard",
        tuple(Outcome(t, draw(st.booleans())) for t in draw(st.lists(st.sampled_from(["foam", "iron"]), unique=True, max_size=2))),
        tuple(Impression(draw(texts), draw(st.sampled_from(tasters))) for _ in range(draw(st.integers(0, 2)))),
    )


def strip(r: Record) -> tuple[object, ...]:
    """What a record says, without the places it was read from."""
    return (
        [(f.quality, f.strength, f.taster, f.when, f.where) for f in r.findings], r.tasted_on, r.sample.code, r.sample.herb, dict(r.sample.batch), r.preparation,
        dict(r.tasters), dict(r.looked_for), r.standard, [(t.test, t.seen) for t in r.tests], r.impressions,
    )


@given(records())
def test_a_record_written_and_read_is_the_same_record(record: Record) -> None:
    """Whatever text stands in it, however like a number or a boolean."""
    assert strip(read(write_record(record))) == strip(record)


def test_a_written_record_is_plain_yaml_for_others(tmp_path: Path) -> None:
    """A YAML 1.1 library reads the same values: nothing relies on our resolver."""
    import yaml

    data = yaml.safe_load(write_record(read(FULL)))
    assert data["sample"]["code"] == "417" and data["tests"][0]["seen"] is False and data["tasted_on"] == "2026-05-03"
