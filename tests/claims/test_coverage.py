"""Counts for an editor: right on a small world, and told the same on screen and in JSON."""

from __future__ import annotations

import json
from pathlib import Path

import foreign
import pytest

from kgraph.claims import load
from kgraph.claims.coverage import coverage
from kgraph.cli import main

SAID = {"sources": [{"id": "tome", "where": "leaf 9", "read": "2026-01-02"}]}


def test_a_small_world_is_counted_right(tmp_path: Path) -> None:
    """Each count and each list, against what was written."""
    spec = foreign.random_spec(2)
    folder = foreign.write(spec, tmp_path / "w")
    foreign.herb_file(
        folder, "blossom",
        described_as=[{"quality": "blim", "intensity": "weak", **SAID}, {"quality": "void", "from_memory": True}],
        contains=[{"class": "zork", "level": "major", "common_practice": True}],
        warns_of=[{"caution": "ouch", "severity": "avoid", "preparation": "any", "detail": "not", "from_memory": True}],
    )
    foreign.herb_file(folder, "bud", described_as=[{"quality": "void", **SAID}])
    found = coverage(load([folder], cache=False))
    general = sum(len(x) for x in (spec.evokes, spec.acts, spec.warns, spec.fakes, spec.dulls, spec.draws)) + 1
    assert found["herbs"] == 2 and found["claims"] == general + 5
    assert found["seen"] == general + 2 and found["from_memory"] == 2 and found["common_practice"] == 1
    assert found["herb_claims"] == 5 and found["herb_claims_seen"] == 2
    assert found["avoid_from_memory"] == ["warns_of/blossom/ouch"]
    assert found["herbs_without_mouthfeel"] == ["bud"]
    assert found["classes_without_herbs"] == sorted(set(spec.classes) - {"zork"})
    evoked = {p for (_, p) in spec.evokes}
    assert found["qualities_that_nothing_evokes"] == sorted({*spec.percepts, *spec.kinds} - evoked)
    assert found["claims_by_grade"]["B"] == general + 2


def test_the_screen_and_the_json_say_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    """The integers that were asked for stand in both; nothing else is on stdout."""
    assert main(["check", "--coverage", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    for key in ("herbs", "claims", "seen", "from_memory"):
        assert isinstance(data[key], int)
    assert data["seen"] + data["from_memory"] + data["common_practice"] == data["claims"]
    assert sum(data["claims_by_relation"].values()) == data["claims"] == sum(data["claims_by_grade"].values())
    assert main(["check", "--coverage"]) == 0
    screen = " ".join(capsys.readouterr().out.split())
    assert f"herbs: {data['herbs']:,}" in screen and f"from memory: {data['from_memory']:,}" in screen


def test_check_in_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Faults as JSON, with the same exit code."""
    (tmp_path / "a.yaml").write_text("evokes: [{class: nope, quality: bitter, strength: often, common_practice: true}]\n")
    assert main(["check", str(tmp_path), "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["faults"] == 1
    assert main(["check", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["faults"] == 0
