"""Plain words: understood, echoed, or refused with suggestions; never guessed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.tasting import parse_words
from kgraph.yamlio import InputError


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("dry mouth, a little bitter, not sweet", {("astringent-drying", "moderate"), ("bitter", "weak"), ("sweet", "absent")}),
        ("very drying; slightly sour", {("astringent-drying", "strong"), ("sour", "weak")}),
        ("neither sweet nor bitter", {("sweet", "absent"), ("bitter", "absent")}),
        ("not sweet or sour, but salty", {("sweet", "absent"), ("sour", "absent"), ("salty", "moderate")}),
        ("no bitterness at all", {("bitter", "absent")}),
        ("no smell, tasteless", {("faint-or-none", "moderate"), ("insipid", "moderate")}),
        ("It tastes bitter and it smells minty.", {("bitter", "moderate"), ("minty", "moderate")}),
        ("extremely bitter and numbing", {("bitter", "strong"), ("numbing", "moderate")}),
        ("not very bitter", {("bitter", "weak")}),
        ("lingering bitterness", {("lingering-bitter", "moderate")}),
        ("DRY MOUTH", {("astringent-drying", "moderate")}),
        ("a hint of mint", {("minty", "weak")}),
        ("without any sweetness", {("sweet", "absent")}),
        ("isn't sour", {("sour", "absent")}),
        ("astringent-drying", {("astringent-drying", "moderate")}),
    ],
)
def test_understood(known, text: str, expected: set[tuple[str, str]]) -> None:
    """Labels, synonyms, negation and words of strength."""
    assert {(f.quality, f.word) for f in parse_words(text, known.vocabulary).findings} == expected


def test_time_and_state(known) -> None:
    """`at first` and a blocked nose are understood too."""
    record = parse_words("hot at first, blocked nose", known.vocabulary)
    assert [(f.quality, f.when) for f in record.findings] == [("burning-pungent", "first")]
    assert record.tasters["taster"].state == ("blocked-nose",)


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("biter", "not-understood"), ("like my grandmother's attic", "not-understood"), ("", "no-findings"), (" , ; ", "no-findings"),
        ("bitter, not bitter", "said-twice"), ("not tasteless", "absent-absence"), ("x" * 3000, "too-long"), ("very", "not-understood"), ("not", "not-understood"),
    ],
)
def test_refused(known, text: str, rule: str) -> None:
    """What is not understood is refused, with a suggestion where one is near."""
    with pytest.raises(InputError) as caught:
        parse_words(text, known.vocabulary)
    assert rule in {f.rule for f in caught.value.faults}
    if text == "biter":
        assert "`bitter`" in caught.value.faults[0].remedy


def test_every_label_is_understood_as_its_own_quality(known) -> None:
    """Each quality can be named by its label and by each other word for it, alone and with a strength."""
    for quality in known.ontology.qualities.values():
        for name in (quality.label, *quality.also):
            found = parse_words(name, known.vocabulary).findings
            assert [f.quality for f in found] == [quality.id], name
            if quality.kind != "absence":
                assert [(f.quality, f.word) for f in parse_words(f"not {name}", known.vocabulary).findings] == [(quality.id, "absent")], name


@given(st.text(max_size=120))
def test_no_words_give_anything_but_a_record_or_a_fault(known, text: str) -> None:
    """Arbitrary text never breaks the reader."""
    try:
        assert parse_words(text, known.vocabulary).findings
    except InputError as error:
        assert error.faults
