"""BibTeX and CSL-JSON: every source once, keys kept, hostile text kept as text; files written whole or not at all."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from kgraph.claims import Source
from kgraph.cli import main
from kgraph.writing.references import bibtex, csl_items, people


def test_every_source_stands_once(known) -> None:
    """As many entries as sources, with the ids as keys."""
    sources = known.ontology.sources
    keys = re.findall(r"^@\w+\{([^,]+),$", bibtex(sources.values()), re.M)
    assert keys == sorted(sources) and len(set(keys)) == len(keys)
    items = csl_items(sources.values())
    assert [item["id"] for item in items] == sorted(sources) and all(item["title"] for item in items)


def test_hostile_text_stays_text() -> None:
    """Braces, backslashes and percent signs of a title cannot end an entry."""
    nasty = Source("x", "A", title=r"A 50% } \input{/etc/passwd} & _b_ {", author="Nobody N, Other O", year="about 1899")
    text = bibtex([nasty])
    assert re.search(r"(?<!\\)\\input", text) is None and text.count("@") == 1
    stripped = re.sub(r"\\[{}]", "", text)
    assert stripped.count("{") == stripped.count("}")
    (item,) = csl_items([nasty])
    assert item["title"] == nasty.title and item["issued"] == {"date-parts": [[1899]]}
    assert [a["literal"] for a in item["author"]] == ["Nobody N", "Other O"]


@pytest.mark.parametrize(("author", "names"), [("", []), ("World Health Organization", ["World Health Organization"]), ("Wood GB", ["Wood GB"]), ("A B; C D", ["A B", "C D"])])
def test_people(author: str, names: list[str]) -> None:
    """Persons are told apart, institutions stay whole."""
    assert people(author) == names


@pytest.mark.skipif(shutil.which("pandoc") is None, reason="pandoc is not installed")
def test_pandoc_reads_both(known, tmp_path: Path) -> None:
    """An independent reader finds as many references as we wrote."""
    for name, reader in (("s.bib", "bibtex"), ("s.json", "csljson")):
        assert main(["export", "--output", str(tmp_path / name)]) == 0
        done = subprocess.run(["pandoc", "-f", reader, "-t", "csljson", str(tmp_path / name)], capture_output=True, text=True, check=True)
        assert len(json.loads(done.stdout)) == len(known.ontology.sources)


class TestFiles:
    """The file that is written."""

    def test_written_and_not_overwritten(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """A second time only with --force; nothing else is left in the folder."""
        path = tmp_path / "s.bib"
        assert main(["export", "--output", str(path)]) == 0
        first = path.read_text(encoding="utf-8")
        path.write_text("mine")
        assert main(["export", "--output", str(path)]) == 2 and path.read_text() == "mine"
        assert "--force" in capsys.readouterr().err
        assert main(["export", "--output", str(path), "--force"]) == 0 and path.read_text(encoding="utf-8") == first
        assert list(tmp_path.iterdir()) == [path]

    @pytest.mark.parametrize(("output", "says"), [("nowhere/s.bib", "no folder"), (".", "folder"), ("s.docx", "does not tell the format"), ("blocked/s.bib", "no folder")])
    def test_bad_places(self, output: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
        """A missing folder, a folder, an ending that tells nothing: one message, exit 2, nothing written."""
        monkeypatch.chdir(tmp_path)
        (tmp_path / "blocked").write_text("a file")
        args = ["export", "--output", output] + (["--format", "bibtex"] if output == "." else [])
        assert main(args) == 2
        assert says in capsys.readouterr().err
        assert {p.name for p in tmp_path.iterdir()} == {"blocked"}

    def test_unknown_format(self, capsys: pytest.CaptureFixture[str]) -> None:
        """A misspelt format is answered with the nearest right one."""
        assert main(["export", "--format", "bibtx"]) == 2
        assert "`bibtex`" in capsys.readouterr().err

    def test_stdout(self, capsys: pytest.CaptureFixture[str]) -> None:
        """`-` prints and writes nothing."""
        assert main(["export", "--format", "csl-json"]) == 0
        assert len(json.loads(capsys.readouterr().out)) > 100
