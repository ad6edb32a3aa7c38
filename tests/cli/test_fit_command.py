"""`kgraph fit`: the table on stdout, in a file or as JSON; bad input leaves nothing behind."""

from __future__ import annotations

import json
from pathlib import Path

import foreign
import handmade
import pytest

from kgraph.claims.folders import shipped_folder
from kgraph.cli import main


def test_the_table(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Stdout holds the table and nothing else, and so does the file; what was done is said on stderr."""
    assert main(["fit"]) == 0
    out, err = capsys.readouterr()
    assert out == (shipped_folder() / "tables" / "fitted.yaml").read_text(encoding="utf-8") and "described herbs" in err
    target = tmp_path / "fitted.yaml"
    assert main(["fit", "--output", str(target)]) == 0
    assert target.read_text(encoding="utf-8") == out


def test_json(capsys: pytest.CaptureFixture[str]) -> None:
    """The same figures as one object."""
    assert main(["fit", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["word_weight"] in (2, 4, 8, 16) and data["herbs"] > 150 and set(data["strengths"][0]) == {"class", "quality", "word", "value", "low", "high", "herbs"}
    assert all(s["low"] <= s["value"] <= s["high"] for s in data["strengths"])


def test_a_file_that_exists_is_kept(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    target = tmp_path / "old.yaml"
    target.write_text("old", encoding="utf-8")
    assert main(["fit", "--output", str(target)]) == 2
    assert target.read_text(encoding="utf-8") == "old" and "--force" in capsys.readouterr().err
    assert main(["fit", "--output", str(target), "--force"]) == 0
    assert target.read_text(encoding="utf-8") != "old"


@pytest.mark.parametrize("herbs", [0, 3])
def test_too_few_herbs(herbs: int, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """An ontology with few described herbs, or none with senses: a clear word, exit 2, no table."""
    rows = [{"channel": "book", "state": s, "if_there": a, "if_not_there": b, **handmade.WHO}
            for s, a, b in (("strong", 0.3, 0.003), ("moderate", 0.4, 0.004), ("weak", 0.299, 0.003), ("absent", 0.001, 0.99), ("unnoticed", 0.6, 0.98))]
    folder = foreign.write(handmade.spec(), tmp_path / "world", extra={"report_tables": rows})
    for n in range(3):
        senses = {"described_as": handmade.described(blim="weak", gorp="weak")} if herbs else {"no_description": "none found"}
        foreign.herb_file(folder, f"herb-{n}", contains=[handmade.row(**{"class": "zork", "level": "major"})], no_cautions="none found", **senses)
    target = tmp_path / "fitted.yaml"
    assert main(["fit", "--ontology", str(folder), "--output", str(target)]) == 2
    err = capsys.readouterr().err
    assert f"only {herbs} herbs" in err and "Traceback" not in err and not target.exists()


def test_an_ontology_with_errors(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The fault is named with file and line; no table is written."""
    (tmp_path / "bad").mkdir()
    (tmp_path / "bad" / "a.yaml").write_text("evokes: [{class: nothing-such, quality: bitter, strength: often, from_memory: true}]\n", encoding="utf-8")
    target = tmp_path / "fitted.yaml"
    assert main(["fit", "--ontology", str(tmp_path / "bad"), "--output", str(target)]) == 2
    assert "a.yaml:1" in capsys.readouterr().err and not target.exists()


def test_interrupted_the_old_table_stays(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Ctrl-C while it learns, or while it writes: exit 130, the file as it was, nothing beside it."""
    target = tmp_path / "fitted.yaml"
    target.write_text("old", encoding="utf-8")

    def stop(*args: object, **kwargs: object) -> None:
        raise KeyboardInterrupt

    for place in ("kgraph.reasoning.fit.Descriptions.fit", "kgraph.writing.files.os.fdopen"):
        with monkeypatch.context() as patch:
            patch.setattr(place, stop)
            assert main(["fit", "--output", str(target), "--force"]) == 130
        assert target.read_text(encoding="utf-8") == "old" and [p.name for p in tmp_path.iterdir()] == ["fitted.yaml"]
