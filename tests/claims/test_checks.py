"""Checks of an ontology: references, sources, cycles, contradictions, tables. Each broken world is caught where it is broken."""

from __future__ import annotations

import re
from pathlib import Path

import foreign
import pytest

from kgraph.claims import load
from kgraph.claims.folders import gather
from kgraph.claims.reading import compile_folders
from kgraph.yamlio import InputError

SAID = {"sources": [{"id": "tome", "where": "leaf 9", "read": "2026-01-02"}]}
OTHER = {"sources": [{"id": "scroll", "where": "line 1", "read": "2026-01-02"}]}
SCROLL = {"sources": [{"id": "scroll", "grade": "A", "title": "Scroll of invented things"}]}


def faults(folder: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        compile_folders([gather(folder)])
    return [f.rule for f in caught.value.faults]


@pytest.fixture
def spec() -> foreign.Spec:
    return foreign.random_spec(2)


@pytest.mark.parametrize(
    ("extra", "rule"),
    [
        ({"evokes": [{"class": "zork", "quality": "nothing-such", "strength": "often", **SAID}]}, "unknown-id"),
        ({"evokes": [{"class": "nobody", "quality": "blim", "strength": "often", **SAID}]}, "unknown-id"),
        ({"evokes": [{"class": "zork", "quality": "blim-word", "strength": "often"}]}, "no-source"),
        ({"evokes": [{"class": "zork", "quality": "blim-word", "strength": "often", "sources": [{"id": "tome"}]}]}, "no-source"),
        ({"evokes": [{"class": "zork", "quality": "blim-word", "strength": "often", "from_memory": True, **SAID}]}, "memory-and-read"),
        ({"evokes": [{"class": "zork", "quality": "blim-word", "strength": "often", "sources": [{"id": "tome", "read": 2026}]}]}, "no-locator"),
        ({"evokes": [{"class": "zork", "quality": "blim-word", "strength": "often", "sources": [{"id": "lost", "where": "x", "read": 2026}]}]}, "unknown-source"),
        ({"evokes": [{"class": "zork", "quality": "blim-word", "strength": "oftn", **SAID}]}, "unknown-word"),
        ({"evokes": [{"class": "zork", "quality": "void", "strength": "often", **SAID}]}, "no-percept"),
        ({"qualities": [{"id": "loop-a", "label": "a", "sense": "taste", "kind": "word", "of": "loop-b"}, {"id": "loop-b", "label": "b", "sense": "taste", "kind": "word", "of": "loop-a"}]}, "cycle"),
        ({"qualities": [{"id": "orphan", "label": "o", "sense": "taste", "kind": "word"}]}, "parent"),
        ({"qualities": [{"id": "blim", "label": "again", "sense": "taste", "kind": "percept"}]}, "stated-twice"),
        ({"qualities": [{"id": "Bad Id", "label": "x", "sense": "taste", "kind": "percept"}]}, "bad-id"),
        ({"classes": [{"id": "stray", "label": "s", "family": "fam-none"}]}, "unknown-id"),
        ({"conditions": [{"id": "odd", "label": "o", "kind": "preparation", "trigger": {"field": "preparation.colour", "is": "red"}}]}, "unknown-word"),
        ({"strength_words": [{"word": "often", "value": 0.5, "common_practice": True}]}, "stated-twice"),
        ({"warns_of": [{"class": "zork", "caution": "ouch", "severity": "fatal", "preparation": "any", "detail": "d", **SAID}]}, "unknown-word"),
        ({"warns_of": [{"class": "zork", "caution": "ouch", "severity": "avoid", "preparation": "any", **SAID}]}, "missing"),
        ({"what-is-this": [{"a": 1}]}, "unknown-key"),
    ],
)
def test_each_broken_world_is_caught(extra: dict, rule: str, spec: foreign.Spec, tmp_path: Path) -> None:
    """A planted fault is found, by its own rule."""
    assert rule in faults(foreign.write(spec, tmp_path / "w", extra=extra))


def test_faults_of_many_files_come_in_one_run(spec: foreign.Spec, tmp_path: Path) -> None:
    """Two broken files give two faults, each with its file and line."""
    folder = foreign.write(spec, tmp_path / "w")
    (folder / "a.yaml").write_text("evokes:\n  - {class: zork, quality: nope, strength: often, common_practice: true}\n")
    (folder / "b.yaml").write_text("actions:\n  - {id: quell, label: again}\n  - {id: x\n")
    with pytest.raises(InputError) as caught:
        compile_folders([gather(folder)])
    places = {(Path(f.place.file).name, f.place.line) for f in caught.value.faults}
    assert ("a.yaml", 2) in places
    assert any(name == "b.yaml" for name, _ in places)


class TestContradictions:
    """Sources that disagree stay side by side; one that says both is an error."""

    def world(self, spec: foreign.Spec, tmp_path: Path, word: str, said: dict) -> Path:
        spec.evokes[("zork", "blim")] = "often"
        row = {"class": "zork", "quality": "blim", "strength": word, **said}
        return foreign.write(spec, tmp_path / "w", extra={"evokes": [row], **SCROLL})

    def test_two_sources_are_kept(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """Both claims stand, and the ontology lists them as a contradiction."""
        ontology, _ = compile_folders([gather(self.world(spec, tmp_path, "rarely", OTHER))])
        pairs = [{c.word for c in found} for found in ontology.contradictions if found[0].relation == "evokes"]
        assert pairs == [{"often", "rarely"}]
        both = ontology.said_of("evokes", "zork")
        assert ontology.ruling([c for c in both if c.object == "blim"]).word == "rarely", "grade A rules over grade B"

    def test_one_source_saying_both_is_an_error(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """The fault names both places."""
        assert faults(self.world(spec, tmp_path, "rarely", SAID)) == ["contradiction"]

    def test_an_unsourced_dissent_is_an_error(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """A contradiction is kept only if both sides have a source."""
        assert faults(self.world(spec, tmp_path, "rarely", {"from_memory": True})) == ["contradiction"]

    def test_the_same_word_twice_is_to_be_merged(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """Two rows that agree are one claim with two sources."""
        assert faults(self.world(spec, tmp_path, "often", OTHER)) == ["stated-twice"]


class TestHerbs:
    """Rules of a herb file."""

    def write(self, spec: foreign.Spec, tmp_path: Path, **fields: object) -> Path:
        folder = foreign.write(spec, tmp_path / "w")
        foreign.herb_file(folder, "blossom", **fields)
        return folder

    def test_small_amount_needs_a_limit(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """How little must be said."""
        assert faults(self.write(spec, tmp_path, taste_safety="small-amount")) == ["no-limit"]

    def test_do_not_taste_needs_a_reason(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """Why must be said."""
        assert faults(self.write(spec, tmp_path, taste_safety="do-not-taste")) == ["no-reason"]

    def test_a_poison_is_never_told_apart_by_tasting(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """Where one of the two is do-not-taste, `how` may not send the reader to taste it."""
        folder = self.write(spec, tmp_path, confused_with=[{"herb": "bane", "kind": "lookalike", "how": "bane tastes of fish", **SAID}])
        foreign.herb_file(folder, "bane", taste_safety="do-not-taste", taste_reason="it kills")
        assert faults(folder) == ["told-apart-by-tasting"]

    def test_an_absence_has_no_intensity(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """`void, weak` would invert the scale."""
        assert faults(self.write(spec, tmp_path, described_as=[{"quality": "void", "intensity": "weak", **SAID}])) == ["intensity"]


class TestLayers:
    """A user's own folder adds to an ontology, and a clash says which came from where."""

    def test_a_herb_of_one_s_own_replaces_the_herb(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """The later folder's herb stands whole; nothing of the earlier one is left."""
        base = foreign.write(spec, tmp_path / "base")
        foreign.herb_file(base, "blossom", described_as=[{"quality": "blim", "intensity": "weak", **SAID}])
        mine = tmp_path / "mine"
        mine.mkdir()
        foreign.herb_file(mine, "blossom", described_as=[{"quality": "blim", "intensity": "strong", **SAID}])
        ontology = load([base, mine], cache=False)
        assert [c.word for c in ontology.said_of("described_as", "blossom")] == ["strong"]

    def two_layers(self, spec: foreign.Spec, tmp_path: Path, first: dict, second: dict) -> list[Path]:
        base, mine = foreign.write(spec, tmp_path / "base"), tmp_path / "mine"
        mine.mkdir()
        foreign.herb_file(base, "blossom", **first)
        foreign.herb_file(mine, "blossom", **second)
        return [base, mine]

    @pytest.mark.parametrize(("before", "after"), [("do-not-taste", "ok"), ("do-not-taste", "small-amount"), ("small-amount", "ok")])
    def test_a_poison_cannot_be_made_safe(self, spec: foreign.Spec, tmp_path: Path, before: str, after: str) -> None:
        """A folder of one's own may make a herb stricter to taste, never laxer."""
        why = {"taste_reason": "it harms", "taste_limit": "a crumb"}
        layers = self.two_layers(spec, tmp_path, {"taste_safety": before, **why}, {"taste_safety": after, **why})
        with pytest.raises(InputError) as caught:
            load(layers, cache=False)
        assert "laxer" in {f.rule for f in caught.value.faults}

    def test_an_avoid_outlives_the_herb_that_stated_it(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """What a replaced herb said to avoid stands on; a lesser caution goes, and what is said anew is not said twice."""
        warn = lambda caution, severity: {"caution": caution, "severity": severity, "preparation": "any", "detail": "mind it", **SAID}  # noqa: E731
        layers = self.two_layers(spec, tmp_path, {"warns_of": [warn("ouch", "avoid"), warn("hush", "care")]}, {"warns_of": [warn("hush", "avoid")]})
        assert {(c.object, c.word) for c in load(layers, cache=False).said_of("warns_of", "blossom")} == {("ouch", "avoid"), ("hush", "avoid")}

    @pytest.mark.parametrize(
        ("text", "rule"),
        [
            ("ontology: {id: mine, extends: nothing}\n", "extends-nothing"), ("ontology: {id: mine, extends: nothng}\n", "unknown-word"),
            ("sources: [{id: tome, title: My own pamphlet, author: Nobody N, year: 2000, kind: book, grade: B}]\n", "stated-twice"),
        ],
    )
    def test_what_a_further_folder_may_not(self, spec: foreign.Spec, tmp_path: Path, text: str, rule: str) -> None:
        """It cannot replace the base from second place, nor put another book behind a source that is cited."""
        base, mine = foreign.write(spec, tmp_path / "base"), tmp_path / "mine"
        mine.mkdir()
        (mine / "c.yaml").write_text(text)
        with pytest.raises(InputError) as caught:
            load([base, mine], cache=False)
        assert rule in {f.rule for f in caught.value.faults}

    def test_the_base_keeps_its_name(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """A header in a further folder does not blank the version that every answer names."""
        base, mine = foreign.write(spec, tmp_path / "base"), tmp_path / "mine"
        mine.mkdir()
        (mine / "c.yaml").write_text("ontology: {id: mine}\n")
        assert load([base, mine], cache=False).header["id"] == "foreign" and load([base, mine], cache=False).version == "1"

    def test_a_herb_is_no_class(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """One id for both would mix up what is said of them."""
        folder = foreign.write(spec, tmp_path)
        foreign.herb_file(folder, "zork")
        assert "stated-twice" in faults(folder)

    def test_a_new_class_is_added(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """A class with its arc joins; the priors of the others do not move."""
        base, mine = foreign.write(spec, tmp_path / "base"), tmp_path / "mine"
        mine.mkdir()
        (mine / "c.yaml").write_text("classes: [{id: novum, label: novum}]\nevokes: [{class: novum, quality: blim, strength: often, common_practice: true}]\n")
        from kgraph.reasoning import build_network

        before, after = build_network(load([base], cache=False)), build_network(load([base, mine], cache=False))
        assert after.prior["novum"] == pytest.approx(0.5 / (spec.herbs + 1))
        assert {c: after.prior[c] for c in before.prior} == before.prior

    def test_a_clash_names_both_places(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """An action stated again says where it stands already."""
        base, mine = foreign.write(spec, tmp_path / "base"), tmp_path / "mine"
        mine.mkdir()
        (mine / "c.yaml").write_text("actions: [{id: quell, label: again}]\n")
        with pytest.raises(InputError) as caught:
            load([base, mine], cache=False)
        assert "world.yaml" in str(caught.value) and "c.yaml:1" in str(caught.value)


class TestTables:
    """A table or trigger that cannot be used is a fault of the folder, never of the program."""

    @pytest.mark.parametrize(
        ("field", "test", "value"),
        [("water", "at_least", 3), ("added", "at_least", 3), ("steep_minutes", "has", "[three]"), ("covered", "has", "[lid]"), ("added", "is", "[salt]"), ("form", "at_most", 1)],
    )
    def test_a_trigger_must_fit_its_field(self, spec: foreign.Spec, tmp_path: Path, field: str, test: str, value: object) -> None:
        """Words are not weighed, and numbers hold no words."""
        folder = foreign.write(spec, tmp_path)
        (folder / "c.yaml").write_text(f"conditions: [{{id: odd, label: odd, kind: preparation, trigger: {{field: preparation.{field}, {test}: {value}}}}}]\n")
        assert "unfit-test" in faults(folder)

    def test_the_tasters_own_table_is_needed(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """A report table for books alone leaves every tasting without numbers."""
        folder = foreign.write(spec, tmp_path)
        for path in folder.glob("*.yaml"):
            path.write_text(path.read_text().replace("taster", "book") if "report_tables" in path.read_text() else path.read_text())
        assert "missing-table" in faults(folder)

    def test_a_share_lies_below_one(self, spec: foreign.Spec, tmp_path: Path) -> None:
        """Other causes cannot be certain."""
        folder = foreign.write(spec, tmp_path)
        for path in folder.glob("*.yaml"):
            path.write_text(re.sub(r"(id: other-causes[^}]*?value: )[0-9.]+", r"\g<1>5", path.read_text(), flags=re.DOTALL))
        assert "not-a-share" in faults(folder)

    @pytest.mark.parametrize(("row", "kind"), [
        ("{quality: blim, value: 0.001, common_practice: true}", "order"),
        ("{quality: blim, value: 1, common_practice: true}", "order"),
        ("{quality: blym, value: 0.3, common_practice: true}", "unknown-id"),
        ("{quality: blim, value: 0.3}", "no-source"),
    ])
    def test_a_silence_tells_less_than_a_denial(self, spec: foreign.Spec, tmp_path: Path, row: str, kind: str) -> None:
        """What a book leaves out speaks against it, and not more than a flat denial."""
        folder = foreign.write(spec, tmp_path)
        states = [("strong", 0.3, 0.01), ("moderate", 0.3, 0.02), ("weak", 0.3, 0.02), ("absent", 0.1, 0.95), ("unnoticed", 0.6, 0.97)]
        rows = ", ".join(f"{{channel: book, state: {s}, if_there: {a}, if_not_there: {b}, common_practice: true}}" for s, a, b in states)
        (folder / "book.yaml").write_text(f"report_tables: [{rows}]\nbook_silences: [{row}]\n")
        assert kind in faults(folder)
        (folder / "book.yaml").write_text(f"report_tables: [{rows}]\nbook_silences: [{{quality: blim, value: 0.3, common_practice: true}}]\n")
        assert compile_folders([gather(folder)])[0].tables.book_silences == {"blim": 0.3}
