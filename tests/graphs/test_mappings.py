"""The SSSOM files: their form, their ends, and that they agree with SKOS; and identifiers known from elsewhere.

Form: SSSOM 1.0 (mapping set with id and licence; each row with predicate and justification). Patterns of identifiers: the
prefixes' entries in Bioregistry, as `NCBITaxon:\\d+`, `CHEBI:\\d+`, `FOODON:\\d{8}`, `DOID:\\d+`, `SYMP:\\d{7}`.
"""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from kgraph.graphs.mappings import MATCHES, read_mappings
from kgraph.session import Knowledge

FILES = sorted((Path(__file__).resolve().parents[2] / "ontology" / "mappings").glob("*.sssom.tsv"))
PATTERNS = {"NCBITaxon": r"\d+", "CHEBI": r"\d+", "FOODON": r"\d{8}", "DOID": r"\d+", "SYMP": r"\d{7}"}


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.name)
def test_each_file_says_what_it_is(file: Path) -> None:
    """Id, licence and prefixes stand in its head; every prefix that is used is declared."""
    text = file.read_text(encoding="utf-8")
    head = [line for line in text.splitlines() if line.startswith("#")]
    assert any(line.startswith("#mapping_set_id: https://") for line in head) and any("creativecommons.org/licenses/by/4.0" in line for line in head)
    declared = {line.split(":")[0].strip("# ") for line in head if line.startswith("#  ")}
    used = {cell.split(":")[0] for line in text.splitlines() if not line.startswith("#") for cell in line.split("\t")[:7] if re.match(r"[A-Za-z]+:\S+\Z", cell)}
    assert used <= declared


def test_rows(known: Knowledge) -> None:
    """Ends that exist, predicates of SKOS, justifications of semapv, a public copy named, nothing twice."""
    rows = read_mappings()
    o = known.ontology
    markers = {m for c in o.all_of("contains") for m in c.facts.get("markers", ())}
    for row in rows:
        if row.kind:
            thing = o.things[row.kind][row.id]
            assert row.label in (thing.label, getattr(thing, "name", None)), row
        else:
            assert row.label in markers, row
        prefix, local = row.object.split(":")
        assert re.fullmatch(PATTERNS[prefix], local) and row.object_iri == f"http://purl.obolibrary.org/obo/{prefix}_{local}"
        assert row.match in MATCHES and row.justification in ("semapv:LexicalMatching", "semapv:ManualMappingCuration")
        assert re.search(r" of \w+/\w+$", row.copy) and row.object_label
    assert len(rows) > 300 and max(Counter((r.kind, r.id or r.label, r.object) for r in rows).values()) == 1


def test_a_lexical_match_is_one() -> None:
    """Where labels are the ground, they are the same but for number, or the row says which synonym it was."""
    def bare(text: str) -> str:
        return re.sub(r"(ies|s)\b", lambda m: "y" if m[1] == "ies" else "", text.lower())

    plants = [r for r in read_mappings() if r.object.startswith("NCBITaxon:")]
    off = [r for r in plants if r.label.lower().replace("×", "x").split()[:2] != r.object_label.lower().split()[:2]]
    assert [r.id for r in off] == ["potentilla-anserina-herb"], off
    classes = [r for r in read_mappings() if r.kind == "class" and r.match == "exactMatch"]
    assert [r.id for r in classes if bare(r.label) != bare(r.object_label)] == ["condensed-tannins"]


def test_s46_exact_is_neither_broad_nor_related() -> None:
    """SKOS S46: exactMatch is disjoint from broadMatch (hence narrowMatch) and relatedMatch."""
    by: dict[tuple[str, str, str], set[str]] = {}
    for r in read_mappings():
        by.setdefault((r.kind, r.id or r.label, r.object), set()).add(r.match)
    assert all(not ("exactMatch" in found and found & {"broadMatch", "narrowMatch", "relatedMatch"}) for found in by.values())


def test_no_vocabulary_gives_one_term_to_two_classes() -> None:
    """An exact match belongs to one thing alone."""
    exact = Counter(r.object for r in read_mappings() if r.kind and r.match == "exactMatch")
    assert max(exact.values()) == 1


def test_identifiers_known_from_elsewhere() -> None:
    """From memory, as a check against a slip of columns: caffeine, quercetin, starch; garlic, flax; common cold."""
    held = {(r.object_label.lower(), r.object) for r in read_mappings()}
    assert {("caffeine", "CHEBI:27732"), ("quercetin", "CHEBI:16243"), ("starch", "CHEBI:28017"), ("allium sativum", "NCBITaxon:4682"), ("linum usitatissimum", "NCBITaxon:4006"), ("common cold", "DOID:10459")} <= held


def test_what_stays_unmapped_is_counted(known: Knowledge) -> None:
    """The query finds the rest, thing by thing."""
    o = known.ontology
    mapped = {(r.kind, r.id) for r in read_mappings()}
    expected = Counter({name: sum((kind, id) not in mapped for id in o.things[kind]) for name, kind in (("herb", "herb"), ("constituent class", "class"), ("use", "use"))})
    assert Counter(row[0] for row in known.query("unmapped")) == expected
    assert expected == {"herb": 78, "constituent class": 77, "use": 61}
