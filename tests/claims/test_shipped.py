"""The shipped ontology keeps its own written rules."""

from __future__ import annotations

import re
from pathlib import Path

from kgraph.claims.folders import select, shipped_folder
from kgraph.claims.reading import compile_folders
from kgraph.reasoning.network import priors_as_yaml

FAMILIES = {
    "tannins", "mucilages", "starch", "sugars-and-fructans", "sweet-glycosides", "acids", "salts", "bitter-principles", "hot-pungents", "tingle-amides",
    "sulphur-pungents", "cooling-oils", "camphor-oils", "spicy-oils", "citrus-and-pine-oils", "floral-oils", "woody-oils", "saponins", "resins",
    "phenolics-and-pigments", "coumarins", "fixed-oils",
}


def test_it_loads_without_a_remark() -> None:
    """No fault and no remark: every tasted herb states pregnancy and lactation, every source is used."""
    _, remarks = compile_folders(select([]))
    assert [str(r) for r in remarks] == []


def test_the_family_ids_stand_fixed(known) -> None:
    """Figures stay comparable between versions."""
    assert set(known.ontology.things["family"]) == FAMILIES


def test_there_are_forty_herbs_of_each_kind_that_was_asked_for(known) -> None:
    """At least forty herbs, with every family of taste among them, and the never-taste lookalikes."""
    ontology = known.ontology
    assert len(ontology.herbs) >= 40
    major = {ontology.family_of(c.object) for c in ontology.all_of("contains") if c.word in ("major", "minor")}
    assert major >= FAMILIES - {"starch"}
    assert sum(h.taste_safety == "do-not-taste" for h in ontology.herbs.values()) >= 10


def test_the_prior_table_is_the_count_of_the_herbs(known) -> None:
    """The table was made by the command and not edited by hand."""
    on_file = (shipped_folder() / "tables" / "priors.yaml").read_text(encoding="utf-8")
    assert on_file == priors_as_yaml(known.ontology)


def test_every_poison_class_warns(known) -> None:
    """A class marked as a poison carries at least one `avoid`."""
    ontology = known.ontology
    for id, thing in ontology.classes.items():
        if thing.poison:
            assert any(c.word == "avoid" for c in ontology.said_of("warns_of", id)), id


def test_poisons_without_taste_have_no_arc(known) -> None:
    """What taste cannot show must not be pointed to, or away from, by any taste."""
    for id in ("pyrrolizidine-alkaloids", "aristolochic-acids", "cicutoxin-type-polyynes", "toxic-lectins"):
        assert known.ontology.said_of("evokes", id) == []


def test_severity_follows_the_written_rule(known) -> None:
    """A detail that says never, must not, contra-indicated or fatal is an `avoid`, not mere information."""
    strict = re.compile(r"contra-?indicated|must not be|\bfatal\b|\bnever (take|to be|use|eat|swallow|taste)", re.I)
    wrong = [c.id for c in known.ontology.all_of("warns_of") if c.word == "information" and strict.search(c.text("detail"))]
    assert wrong == []


def test_no_herb_is_its_own_lookalike_and_poisons_are_marked(known) -> None:
    """A confusion joins two different herbs."""
    for claim in known.ontology.all_of("confused_with"):
        assert claim.object != claim.subject


def test_locators_stand_behind_every_reading(known) -> None:
    """`read` always has `where`."""
    for claim in known.ontology.claims:
        for a in claim.attributions:
            assert a.where or not a.read, claim.id


def test_no_leftovers_of_the_conversion() -> None:
    """No placeholder, no name of a page that is no source, no path of a machine."""
    for path in Path(shipped_folder()).rglob("*"):
        if path.is_file():
            text = path.read_text(encoding="utf-8")
            assert "FIXME" not in text and "(grade C)" not in text, path
