"""The screens: short, plain, complete in what matters, and the same as the JSON."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.tasting import Finding, Preparation, Record, Sample, Taster
from kgraph.writing.plain import about, before_after, chance, listing, visible
from kgraph.writing.terminal import FIRST_SCREEN

WORDS = ["dry mouth, a little bitter, not sweet", "tingling, numbing, mouth-watering", "strongly bitter, camphor, aromatic", "slimy, no smell", "sweet, aniseed", "minty, cool", "soapy, foamy, throat scratched"]
#: Words of statistics that stay in --numbers, --json and the guide (DESIGN 5).
FORBIDDEN = re.compile(r"\b(priors?|posteriors?|decibans?|leaks?|bits?|noisy|likelihoods?|marginals?|bayes\w*|dB|p-value)\b", re.I)

qualities = st.sampled_from(
    ["bitter", "sweet", "sour", "salty", "astringent-drying", "slippery-mucilaginous", "burning-pungent", "warming", "cooling", "tingling", "numbing", "acrid",
     "nose-stinging", "mouth-watering", "oily", "soapy", "foaming", "throat-scratched", "minty", "camphoraceous", "citrus", "aniseed", "warm-spicy", "floral"]
)


@st.composite
def tastings(draw: st.DrawFn) -> Record:
    found = draw(st.lists(st.tuples(qualities, st.integers(0, 3)), min_size=1, max_size=12, unique_by=lambda t: t[0]))
    herb = draw(st.sampled_from(["", "quercus-robur-bark", "digitalis-purpurea-leaf", "glycyrrhiza-glabra-root", "mentha-x-piperita-leaf", "linum-usitatissimum-seed"]))
    return Record(
        tuple(Finding(q, s) for q, s in found), sample=Sample("417", herb), preparation=Preparation(ethanol_percent=draw(st.sampled_from([None, 20.0]))),
        tasters={"taster": Taster("taster", tuple(draw(st.sampled_from([(), ("blocked-nose",)]))))},
        looked_for=draw(st.sampled_from([{}, {"taster": ("bitter", "sweet", "minty", "oily", "cooling")}])),
    )


def besides_warnings(lines: list[str]) -> list[str]:
    """The lines that belong to no STOP, WARNING or AVOID item."""
    kept, depth = [], -1
    for line in lines:
        indent = len(line) - len(line.lstrip())
        if line.lstrip().startswith(("STOP", "WARNING", "AVOID")):
            depth = indent
        elif depth < 0 or indent <= depth:
            depth = -1
            kept.append(line)
    return kept


@given(tastings(), st.sampled_from([80, 88, 100]))
def test_the_first_screen_is_short_plain_and_hides_no_avoid(known, record: Record, width: int) -> None:
    """At most forty lines besides the warnings, which are never dropped, no word of statistics, the notice, and every avoid."""
    reply = known.ask(record)
    text = reply.text(width=width)
    lines = text.splitlines()
    assert max(map(len, lines)) <= width
    assert len(besides_warnings(lines)) <= FIRST_SCREEN + (0 if width >= 88 else 5)
    assert not FORBIDDEN.search(text), FORBIDDEN.search(text)
    flat = " ".join(text.split())
    assert " ".join(reply.notice.split()) in flat
    for heed in reply.cautions:
        if heed.severity == "avoid":
            assert heed.label in flat
    if record.sample.herb:
        for heed in reply.label_cautions:
            if heed.severity == "avoid":
                assert heed.label in flat


@pytest.mark.parametrize("words", WORDS)
def test_usual_screens_keep_within_forty_lines(known, words: str) -> None:
    """Seven everyday tastings, at the usual width."""
    assert len(known.ask(words).text(width=88).splitlines()) <= FIRST_SCREEN


@pytest.mark.parametrize("words", WORDS)
def test_the_screen_says_what_the_json_says(known, words: str) -> None:
    """Read back: the families and actions on the screen are the first three risen of the JSON, with the same chances."""
    reply = known.ask(words)
    data = reply.as_dict()
    flat = " ".join(reply.text(width=100).split())
    for group in ("families", "actions"):
        risen = [c for c in data[group] if c["standing"] == "risen"][:3]
        position = 0
        for candidate in risen:
            found = flat.index(f"{candidate['label']}: ", position)
            assert before_after(candidate['prior'], candidate['posterior']) in flat[found : found + 120]
            position = found
    for hidden in data["cannot_show"][:2]:
        assert hidden["label"] in flat


@pytest.mark.parametrize("words", WORDS)
def test_full_lists_every_source_it_cites(known, words: str) -> None:
    """Each number in brackets has its line under Sources, and each source its number."""
    text = known.ask(words).text(full=True, width=100)
    body, _, rest = text.partition("\nSources\n")
    body = " ".join(body.split())
    cited = {int(n) for group in re.findall(r"\[((?:\d+(?:, )?)+)(?:, [a-z ]+)*\]", body) for n in re.findall(r"\d+", group)}
    listed = {int(n) for n in re.findall(r"^  (\d+) ", rest, re.M)}
    assert cited == listed and cited == set(range(1, len(cited) + 1))
    assert not FORBIDDEN.search(body)


def test_numbers_on_demand(known) -> None:
    """With `numbers` the figures stand beside the words."""
    from kgraph.writing.terminal import render

    reply = known.ask("bitter")
    assert "dB]" in render(reply.answer, reply.ontology, numbers=True)


class TestWhy:
    """The student's screen."""

    @pytest.mark.parametrize("quality", ["drying", "bitter", "slippery", "tingling", "aromatic", "no smell", "tasteless", "red", "swollen lips", "smoky"])
    def test_it_reads_plainly(self, known, quality: str) -> None:
        """No word of statistics, the notice, and first how to make sure."""
        text = known.why(quality).text()
        assert not FORBIDDEN.search(text), FORBIDDEN.search(text)
        assert "licensed practitioner" in " ".join(text.split())
        if quality in ("drying", "bitter"):
            assert text.index("First make sure") < text.index("What gives it")

    def test_poisons_that_give_it_are_named(self, known) -> None:
        """Tingling can be aconite: the screen says so plainly."""
        flat = " ".join(known.why("tingling").text().split())
        assert flat.startswith("WARNING. Poisons give it too") and "aconite-type alkaloids" in flat[:120]

    @pytest.mark.parametrize("quality", ["mousy", "numbing", "tingling", "stinging-prickling", "nauseous", "almond-like", "acrid"])
    def test_a_danger_sign_is_not_to_be_tasted_twice(self, known, quality: str) -> None:
        """What stings, numbs or sickens is never to be tried again, and no missing taste rules a poison out."""
        flat = " ".join(known.why(quality).text().split())
        assert "Do not taste it again" in flat and "taste once more" not in flat
        for chain in flat.split(" alkaloids: ")[1:]:
            assert "no sign of" not in chain.split("mind: AVOID")[0]

    def test_a_test_that_is_tasted_needs_a_label(self, known) -> None:
        """Without a herb only tests that are safe without a label are offered."""
        for quality in ("bitter", "mousy", "sweet", "burning-pungent"):
            for cause in known.why(quality).causes:
                assert all(known.ontology.tests[t.object].safe_without_label for t in cause.tests)

    def test_a_colour_is_looked_at_again(self, known) -> None:
        """Nobody rinses the mouth for a colour."""
        assert "daylight" in known.why("golden-yellow").text() and "rinse" not in known.why("golden-yellow").text()


def test_hostile_text_stays_text(tmp_path) -> None:
    """Control codes and direction marks in a label cannot move the cursor or turn the line round."""
    import foreign

    from kgraph.session import load

    spec = foreign.random_spec(4)
    nasty = "\x1b[2Jzap\u202edne\x07<script>"
    extra = {"classes": [{"id": "nasty", "label": nasty}], "evokes": [{"class": "nasty", "quality": "blim", "strength": "almost-always", "common_practice": True}]}
    reply = load(foreign.write(spec, tmp_path / "w", extra=extra), cache=False).ask(Record((Finding("blim", 3),)))
    for text in (reply.text(full=True), repr(reply)):
        assert "\x1b" not in text and "\u202e" not in text and "\x07" not in text and "zap" in text
    assert "<script>" not in reply._repr_html_()
    assert "<script>" not in reply.table("classes")._repr_html_()


@given(st.floats(0, 1))
def test_chances_are_true(p: float) -> None:
    """The words for a chance are within a tenth, and finer near the ends."""
    words = chance(p)
    if m := re.fullmatch(r"(\d+) in (\d+)", words):
        assert abs(int(m[1]) / int(m[2]) - p) <= 0.0501
    else:
        assert p < 0.0075 or p >= 0.9925
    assert about(p).endswith(words)


def test_small_helpers() -> None:
    """Lists read as sentences; text is made visible."""
    assert listing(["a"]) == "a" and listing(["a", "b", "c"]) == "a, b and c" and listing([]) == ""
    assert visible("a\tb\x00") == "a?b?"


class TestNotebook:
    """Replies read well in a notebook without further libraries."""

    def test_tables_and_reprs(self, known) -> None:
        """A table prints as columns and shows as HTML; a reply's repr is its screen."""
        reply = known.ask("bitter")
        table = reply.table("families")
        assert len(table) == len(reply.families) and "before" in repr(table) and "<table>" in table._repr_html_()
        assert repr(reply) == reply.text()
        assert known.why("bitter").table().columns[0] == "class"
        with pytest.raises(ValueError, match="no group"):
            reply.table("herbs")
        with pytest.raises(AttributeError):
            _ = reply.nonsense
        assert "herbs" in repr(known)
