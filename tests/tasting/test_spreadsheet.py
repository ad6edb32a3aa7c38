"""A class's spreadsheet as records: the same record as the YAML, and every fault with its line."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.cli import main
from kgraph.session import Knowledge
from kgraph.tasting import Record, read_record_text
from kgraph.tasting.gathering import files_of
from kgraph.tasting.spreadsheet import MOST_COLUMNS, read_spreadsheet_text
from kgraph.writing.rows import harmless
from kgraph.yamlio import InputError

HEAD = "sample,taster,herb,tasted_on,looked_for,steep_minutes,state,bitter,drying,test:foam-on-shaking,impression\n"


def read(known: Knowledge, text: str):
    return dict(read_spreadsheet_text(text, "class.csv", known.vocabulary))


def test_equals_the_yaml(known: Knowledge) -> None:
    """One sample of two tasters, with everything that a row can hold."""
    text = HEAD + '417,A,gentiana-lutea-root,2026-05-03,standard,8,blocked-nose,3,absent,no,"a hayloft, in August"\n417,B,,,,,,weak,,,\n'
    yaml = """record: 1
tasted_on: 2026-05-03
sample: {code: "417", herb: gentiana-lutea-root}
preparation: {steep_minutes: 8}
tasters: {A: {state: [blocked-nose]}, B: {}}
looked_for: {A: standard}
findings:
  - {taster: A, quality: bitter, strength: 3}
  - {taster: A, quality: astringent-drying, strength: absent}
  - {taster: B, quality: bitter, strength: weak}
tests: [{test: foam-on-shaking, seen: no}]
impressions: [{taster: A, text: "a hayloft, in August"}]
"""
    found = read(known, text)["class.csv#417"]
    expected = read_record_text(yaml, known.vocabulary)
    assert isinstance(found, Record)
    for name in ("tasted_on", "sample", "preparation", "tasters", "looked_for", "impressions"):
        assert getattr(found, name) == getattr(expected, name), name
    assert [f[:5] for f in found.findings] == [f[:5] for f in expected.findings] and [t[:2] for t in found.tests] == [t[:2] for t in expected.tests]


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("bom", ["", "\ufeff"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_delimiters_marks_and_line_ends(known: Knowledge, mark: str, bom: str, newline: str, tmp_path: Path) -> None:
    """Commas, semicolons and tabs; a byte-order mark; any line end."""
    file = tmp_path / "c.csv"
    file.write_bytes((bom + newline.join([mark.join(["sample", "Bitter", "sour"]), mark.join(["1", "2", ""]), mark.join(["2", "", "weak"])])).encode())
    from kgraph.tasting.spreadsheet import read_spreadsheet

    found = dict(read_spreadsheet(file, known.vocabulary))
    assert {name.split("#")[1]: [(f.quality, f.strength) for f in r.findings] for name, r in found.items()} == {"1": [("bitter", 2)], "2": [("sour", 1)]}  # type: ignore[union-attr]


def test_a_blend_and_its_cells(known: Knowledge) -> None:
    """Herbs of a blend stand with semicolons between them, quoted where semicolons part the cells."""
    found = read(known, 'sample;herb;bitter\n1;"gentiana-lutea-root; althaea-officinalis-root";2\n')["class.csv#1"]
    assert isinstance(found, Record) and found.sample.herbs == ("gentiana-lutea-root", "althaea-officinalis-root") and found.sample.herb == ""


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("taster,bitter\nA,1\n", "class.csv:1:1", "`sample` is missing"), ("sample,taster\n1,A\n", "class.csv:1:1", "no column is a quality"),
        ("sample,biter\n1,2\n", "class.csv:1:2", "Did you mean `bitter`"), ("sample,bitter,bitter\n1,2,3\n", "class.csv:1:3", "a column already"),
        ("sample|bitter\n1|2\n", "class.csv:1:1", "commas, semicolons or tabs"), ("", "class.csv", "empty"), ("sample,bitter\n", "class.csv", "no row"),
        ("sample,test:shake,bitter\n1,yes,2\n", "class.csv:1:2", "no test is called"), ('sample,bitter\n"1,2\n', "class.csv:2:1", "no CSV"),
        ("sample," + ",".join(f"c{i}" for i in range(10_000)) + "\n", f"class.csv:1:{MOST_COLUMNS + 1}", "10,001 columns"),
    ],
)
def test_a_file_that_cannot_be_used(known: Knowledge, text: str, place: str, words: str) -> None:
    """What is wrong with the whole file, with line and column."""
    with pytest.raises(InputError) as caught:
        read(known, text)
    assert any(str(f.place) == place and words in str(f) for f in caught.value.faults), str(caught.value)


@pytest.mark.parametrize(
    ("rows", "place", "words"),
    [
        ("1,A,,,,,,7,,,\n", "class.csv:2:8", "`strength` is `7`"), ("1,A,nettel,,,,,1,,,\n", "class.csv:2:3", "no herb is called"),
        ("1,A,,2026-13-01,,,,1,,,\n", "class.csv:2:4", "is no day"), ("1,A,,,,8,,1,,,\n1,B,,,,9,,1,,,\n", "class.csv:3:6", "for one sample"),
        ("1,A,,,,,,1,,,\n1,A,,,,,,2,,,\n", "class.csv:3:2", "stands for this sample already"), (",A,,,,,,1,,,\n", "class.csv:2:1", "names no sample"),
        ("1,A,,,,,,1,,,,,x\n", "class.csv:2:12", "13 cells"), ("1,A,,,,,,,,yes,\n1,B,,,,,,1,,no,\n", "class.csv:3:10", "stands already"), ("1,A,,,,,,1,,maybe,\n", "class.csv:2:10", ""),
    ],
)
def test_a_bad_sample_does_not_stop_the_others(known: Knowledge, rows: str, place: str, words: str) -> None:
    """Its faults come with line and column; the good sample beside it is read."""
    found = read(known, HEAD + rows + "good,A,,,,,,2,,,\n")
    assert isinstance(found["class.csv#good"], Record)
    errors = [e for e in found.values() if isinstance(e, InputError)]
    assert len(errors) == 1 and any(str(f.place) == place and words in str(f) for f in errors[0].faults), str(errors[0])


@given(st.lists(st.lists(st.text(st.characters(codec="utf-8"), max_size=6), min_size=1, max_size=5), max_size=5), st.sampled_from(",;\t"))
def test_any_table_is_read_or_refused(known: Knowledge, rows: list[list[str]], mark: str) -> None:
    """Never anything but records and faults."""
    out = io.StringIO()
    csv.writer(out, delimiter=mark).writerows([["sample", "taster", "bitter", "impression"], *rows])
    try:
        found = read(known, out.getvalue())
    except InputError:
        return
    assert all(isinstance(r, Record | InputError) for r in found.values())


class TestCommands:
    """`ask` and `match` on many records."""

    def folder(self, tmp_path: Path) -> Path:
        (tmp_path / "a.yaml").write_text("record: 1\nsample: {code: '1'}\nfindings: [{quality: bitter, strength: strong}]\n")
        (tmp_path / "b.yml").write_text("record: 1\nfindings: [{quality: biter, strength: strong}]\n")
        (tmp_path / "c.csv").write_text("sample,bitter,impression\n=1+1,2,@x\n")
        (tmp_path / "notes.txt").write_text("not a record")
        return tmp_path

    def test_a_folder(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Good ones are answered, bad ones listed with file and line, exit 1."""
        assert main(["ask", str(self.folder(tmp_path))]) == 1
        out = capsys.readouterr()
        lines = [json.loads(line) for line in out.out.splitlines()]
        assert [Path(line["record"]).name for line in lines] == ["a.yaml", "c.csv#=1+1"] and all(line["answer"] == "ask-brief" for line in lines)
        assert "b.yml:2:22" in out.err and "2 records answered, 1 with faults" in out.err
        assert main(["match", str(tmp_path / "a.yaml"), str(tmp_path / "c.csv")]) == 0
        assert all(json.loads(line)["answer"] == "match-brief" for line in capsys.readouterr().out.splitlines())

    def test_formulae_are_made_harmless(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """A sample's code that a spreadsheet would run comes out as text; nothing is overwritten unasked."""
        out = tmp_path / "out.csv"
        assert main(["ask", str(self.folder(tmp_path) / "c.csv"), "--output", str(out)]) == 0
        (row,) = list(csv.DictReader(io.StringIO(out.read_text())))
        assert row["code"] == "'=1+1" and "bitter principles" in row["families"]
        assert main(["ask", str(tmp_path / "c.csv"), "--output", str(out)]) == 2
        assert "--force" in capsys.readouterr().err
        assert main(["match", str(tmp_path / "c.csv"), "--output", str(out), "--force"]) == 0
        assert main(["ask", str(tmp_path / "a.yaml"), "--output", str(tmp_path / "none" / "x.csv")]) == 2
        assert main(["ask", str(tmp_path / "a.yaml"), "--output", str(tmp_path / "x.doc")]) == 2

    def test_folders(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Files are taken once, in order; a folder without records is a fault."""
        folder = self.folder(tmp_path)
        assert [p.name for p in files_of([str(folder), str(folder / "a.yaml")])] == ["a.yaml", "b.yml", "c.csv"]
        empty = tmp_path / "empty"
        empty.mkdir()
        assert main(["ask", str(empty)]) == 2
        assert "no record" in capsys.readouterr().err

    def test_nothing_but_impressions(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """There is nothing to reason on, and it is said."""
        (tmp_path / "i.csv").write_text("sample,bitter,impression\n1,,a hayloft\n")
        assert main(["match", str(tmp_path / "i.csv")]) == 1
        assert "i.csv:2" in capsys.readouterr().err


def test_harmless() -> None:
    """What begins like a formula gets an apostrophe."""
    assert [harmless(t) for t in ("=1", "+1", "-1", "@a", "\tx", "bitter")] == ["'=1", "'+1", "'-1", "'@a", "'\tx", "bitter"]
