"""Negation in plain words: carried over lists, never over what may be a sign of poisoning, refused where unclear."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.tasting import parse_words
from kgraph.tasting.danger import is_alarming
from kgraph.tasting.reading import read_record_text
from kgraph.yamlio import InputError

_NAMES = ("bitter", "sour", "salty", "minty", "floral", "numbing", "tingling", "slippery")


@pytest.mark.parametrize(
    ("text", "absent"),
    [
        ("neither bitter, sour nor sweet", {"bitter", "sour", "sweet"}),
        ("not bitter, sour or sweet", {"bitter", "sour", "sweet"}),
        ("no burning, numbing or tingling", {"burning-pungent", "numbing", "tingling"}),
        ("neither sweet, nor sour", {"sweet", "sour"}),
        ("without sweetness, bitterness or sourness", {"sweet", "bitter", "sour"}),
        ("isn\u2019t sweet", {"sweet"}),
        ("sweetness not there", {"sweet"}),
        ("not bitter at first", {"bitter"}),
        ("not drying, not sweet and not sour", {"astringent-drying", "sweet", "sour"}),
    ],
)
def test_denied(known, text: str, absent: set[str]) -> None:
    """A negation holds for the whole of a list that ends in "or" or "nor"."""
    findings = parse_words(text, known.vocabulary).findings
    assert {f.quality for f in findings if f.strength == 0} == absent
    assert all(f.strength == 0 for f in findings)


@pytest.mark.parametrize("text", ["not strongly bitter", "isn't very bitter", "not so bitter", "not too bitter", "scarcely bitter"])
def test_not_much_is_weak(known, text: str) -> None:
    """"Not very" leaves something over."""
    assert [(f.quality, f.strength) for f in parse_words(text, known.vocabulary).findings] == [("bitter", 1)]


@pytest.mark.parametrize(
    "text",
    [
        "not sweet and burning", "not sweet and quite numbing", "strong bitter no smell", "not without bitterness", "not a little bitter",
        "bitterness is not strong", "not very bitter or sweet", "hardly bitter or sweet", "bitter or sour", "bitter mouth, no sweet at all and drying",
    ],
)
def test_two_readings_are_refused(known, text: str) -> None:
    """Where two people would read it differently, it is refused rather than guessed."""
    with pytest.raises(InputError) as caught:
        parse_words(text, known.vocabulary)
    assert "unclear" in {f.rule for f in caught.value.faults}


@pytest.mark.parametrize(("text", "rule"), [("sweet smell", "smell-or-taste"), ("smells bitter", "smell-or-taste"), ("hot tea", "cup-or-feel")])
def test_another_sense(known, text: str, rule: str) -> None:
    """A taste named as a smell, and the heat of the cup, are no findings."""
    with pytest.raises(InputError) as caught:
        parse_words(text, known.vocabulary)
    assert rule in {f.rule for f in caught.value.faults}


@given(st.lists(st.sampled_from(_NAMES), min_size=2, max_size=6, unique=True), st.sampled_from(["not", "no", "neither", "without"]), st.sampled_from(["or", "nor", ", or"]))
def test_a_denied_list_has_nothing_in_it(known, names: list[str], negation: str, joint: str) -> None:
    """Whatever the length of the list, no member of it is read as there."""
    text = f"{negation} {', '.join(names[:-1])} {joint} {names[-1]}"
    findings = parse_words(text, known.vocabulary).findings
    assert len(findings) == len(names)
    assert all(f.strength == 0 for f in findings)


@given(st.lists(st.sampled_from(_NAMES), min_size=1, max_size=5, unique=True), st.sampled_from(["sweet", "resinous"]))
def test_a_comma_ends_a_negation(known, names: list[str], denied: str) -> None:
    """"Not sweet, numbing" denies sweet only."""
    findings = parse_words(f"not {denied}, {', '.join(names)}", known.vocabulary).findings
    assert {f.quality for f in findings if not f.strength} == {denied}


@pytest.mark.parametrize(
    "text", ["swollen lips, zingy", "numbing, tingling, my heart does odd things", "I feel dizzy and odd", "my mouth went numb and my toes prickle", "vomiting", "a seizure", "I feel ill"],
)
def test_danger_is_answered_first(known, text: str) -> None:
    """A phrase that cannot be read does not swallow the warning."""
    with pytest.raises(InputError) as caught:
        parse_words(text, known.vocabulary)
    assert caught.value.faults[0].rule == "stop-sign"
    assert "poison centre" in caught.value.faults[0].message


@pytest.mark.parametrize("text", ["zingy", "faintly bitter, zingy", "not dizzy, zingy", "comfy", "tastes of the wholesome past"])
def test_no_false_alarm(known, text: str) -> None:
    """An ordinary word that is not known is no emergency."""
    with pytest.raises(InputError) as caught:
        parse_words(text, known.vocabulary)
    assert "stop-sign" not in {f.rule for f in caught.value.faults}
    assert not is_alarming("faintly bitter")


@pytest.mark.parametrize(
    "body",
    [
        "findings: [{quality: stop-palpitation, strength: strong}, {quality: biter, strength: weak}]",
        "sample: {herb: digitalis-purpurea-leaf}\nfindings: [{quality: biter, strength: weak}]",
        "findings: [{quality: vomiting, strength: weak}]",
    ],
)
def test_a_faulty_record_still_warns(known, body: str) -> None:
    """The warning stands before the faults of a record that cannot be used."""
    with pytest.raises(InputError) as caught:
        read_record_text(f"record: 1\n{body}\n", known.vocabulary)
    assert caught.value.faults[0].rule == "stop-sign"
    assert "unknown-quality" in {f.rule for f in caught.value.faults}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("smells of roses", ("floral", 2)), ("my tongue went numb", ("numbing", 2)), ("my heart is pounding", ("stop-palpitation", 2)), ("can't breathe", ("stop-breath", 2)),
        ("it foams", ("foaming", 2)), ("very very bitter", ("bitter", 3)), ("very slightly bitter", ("bitter", 1)), ("a very strong lemon smell", ("citrus", 3)), ("tastes of nothing", ("insipid", 2)),
    ],
)
def test_everyday_words(known, text: str, expected: tuple[str, int]) -> None:
    """What people say at the table is understood."""
    assert [(f.quality, f.strength) for f in parse_words(text, known.vocabulary).findings] == [expected]
