"""README, DEVELOPERS and the demo say what the program says."""

from __future__ import annotations

import doctest
import importlib.util
import re
import shlex
from pathlib import Path

import pytest
import yaml

from kgraph.cli import main

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
CONSOLE = re.compile(r"```console\n\$ kgraph (.*?)\n(.*?)```", re.S)


@pytest.mark.parametrize(("command", "shown"), CONSOLE.findall(README), ids=lambda value: value[:30])
def test_the_examples_are_the_programs_own_output(command: str, shown: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Each console block is run and compared."""
    monkeypatch.chdir(ROOT)
    assert main(shlex.split(command)) == 0
    assert capsys.readouterr().out == shown


def test_there_are_console_blocks() -> None:
    """The comparison above has something to compare."""
    assert len(CONSOLE.findall(README)) == 2


def test_the_python_example_runs() -> None:
    """The session in README is a doctest."""
    block = re.search(r"```pycon\n(.*?)```", README, re.S)
    assert block
    test = doctest.DocTestParser().get_doctest(block[1], {}, "README", "README.md", 0)
    results = doctest.DocTestRunner().run(test)
    assert results.failed == 0 and results.attempted >= 6


def test_the_record_in_readme_is_a_record(known, tmp_path: Path) -> None:
    """The example of the format is read without a fault, and every field stands in it."""
    block = re.search(r"```yaml\n(record: 1.*?)```", README, re.S)
    assert block
    path = tmp_path / "r.yaml"
    path.write_text(block[1], encoding="utf-8")
    assert known.read(path).tests[0].test == "foam-on-shaking"


def test_the_spreadsheet_in_readme_is_one(known) -> None:
    """The example of a class's spreadsheet is read without a fault, and so is the demo's."""
    from kgraph.tasting import Record
    from kgraph.tasting.spreadsheet import read_spreadsheet, read_spreadsheet_text

    block = re.search(r"```csv\n(.*?)```", README, re.S)
    assert block
    ((_, record),) = read_spreadsheet_text(block[1], "c.csv", known.vocabulary)
    assert isinstance(record, Record) and list(record.tasters) == ["A", "B"] and len(record.findings) == 4
    assert len(read_spreadsheet(ROOT / "demo_graph" / "class.csv", known.vocabulary)) == 3


def test_the_counts_in_readme_are_true(known) -> None:
    """Herbs and statements as counted."""
    assert f"{len(known.ontology.herbs)} herbs and {len(known.ontology.claims):,} statements" in " ".join(README.split())


def test_every_command_and_option_stands_in_readme() -> None:
    """No command goes undocumented."""
    from kgraph.cli.app import app

    names = [c.name or c.callback.__name__ for c in app.registered_commands]
    for name in names:
        assert f"`kgraph {name}" in README
    for option in ("--full", "--numbers", "--json", "--strengths", "--sealed", "--herb", "--ontology", "--draws", "--claimed", "--about", "--format"):
        assert option in README


def test_the_pictures_in_readme_are_there() -> None:
    """Each picture that README shows is in the demo, and each has words for those who cannot see it."""
    shown = re.findall(r"!\[([^\]]+)\]\(([^)]+)\)|\]\((demo_graph/pictures/[^)]+)\)", README)
    files = [b or c for _, b, c in shown]
    assert len(files) >= 5 and all((ROOT / f).stat().st_size > 5_000 for f in files) and all(len(alt) > 20 for alt, b, _ in shown if b)


def test_the_job_stands_first() -> None:
    """README opens with the job in one paragraph, then the cautions, then the two commands."""
    first, second, third = (README.index(t) for t in ("tastes them on purpose", "Tasting unknown plants can poison", "## Two commands"))
    assert first < second < third


class TestDemo:
    """The invented class."""

    def test_made_anew_it_is_the_same(self) -> None:
        """`demo_graph/made` is what the commands say now."""
        spec = importlib.util.spec_from_file_location("make", ROOT / "demo_graph" / "make.py")
        assert spec and spec.loader
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        made = module.make()
        on_file = {path.name: path.read_text(encoding="utf-8") for path in (ROOT / "demo_graph" / "made").iterdir()}
        assert on_file == made

    def test_the_records_are_those_that_were_asked_for(self, known) -> None:
        """An astringent, a mucilage, an aromatic bitter, a tincture that fakes heat, a do-not-taste herb."""
        records = {path.stem: known.read(path) for path in sorted((ROOT / "demo_graph" / "records").glob("*.yaml"))}
        assert len(records) >= 5
        replies = {name: known.ask(record) for name, record in records.items()}
        assert replies["01-tormentil"].families[0].id == "tannins"
        assert replies["02-marshmallow"].families[0].id == "mucilages"
        assert replies["05-foxglove"].text().startswith("STOP.")
        assert any(u.faked > 0.3 for u in replies["04-gentian-tincture"].unexplained)
        assert replies["06-tingling-root"].text().startswith("WARNING.")

    def test_the_scenario_is_our_own(self) -> None:
        """The words of the demo stay within the invented school."""
        text = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "demo_graph" / "records").glob("*.yaml")).lower()
        assert "sambucus" not in text and all(yaml.safe_load(path.read_text(encoding="utf-8"))["record"] == 1 for path in (ROOT / "demo_graph" / "records").glob("*.yaml"))
