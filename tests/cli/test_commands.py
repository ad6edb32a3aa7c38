"""The command line: exit codes, messages, bad input, nothing half written."""

from __future__ import annotations

import datetime
import importlib
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from kgraph.cli import main

GOOD = "record: 1\nfindings: [{quality: bitter, strength: weak}]\n"


def run(*args: str, **kwargs: object) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own."""
    return subprocess.run([sys.executable, "-m", "kgraph", *args], capture_output=True, text=True, timeout=60, **kwargs)  # type: ignore[call-overload, no-any-return]


def test_help_and_version(capsys: pytest.CaptureFixture[str]) -> None:
    """Help and version go to stdout with exit code 0; help names every command and the caution."""
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    assert all(word in out for word in ("ask", "why", "check", "--version", "poison"))
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("kgraph 0.")


@pytest.mark.parametrize("command", ["ask", "why", "check", "fit", "export", "query", "paths", "match"])
def test_every_option_is_explained(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """No option without a help text."""
    assert main([command, "--help"]) == 0
    lines = capsys.readouterr().out.splitlines()
    for i, line in enumerate(lines):
        if line.strip().startswith("--") and "--help" not in line:
            assert len(line.split("  ")[-1].strip()) > 8 or (i + 1 < len(lines) and lines[i + 1].startswith("   ")), line


@pytest.mark.parametrize("args", [["nonsense"], ["ask"], ["ask", "bitter", "--nonsense"], ["why"]])
def test_wrong_use_is_two(args: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Wrong use exits 2 with its message on stderr."""
    assert main(args) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and captured.err


def write(path: Path, content: str | bytes) -> Path:
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


FUTURE = (datetime.date.today() + datetime.timedelta(days=400)).isoformat()
BAD_FILES: list[tuple[str, str | bytes, str]] = [
    ("empty", "", "empty"),
    ("binary", b"\x7fELF\x00\x01\x02" * 50, "binary"),
    ("latin-1", "record: 1\nimpressions: [{text: caf\u00e9}]".encode("latin-1"), "UTF-8"),
    ("tab", "record: 1\nfindings:\n\t- {quality: bitter, strength: weak}", "tab"),
    ("thirty-megabytes", b"# " + b"x" * 30_000_000, "larger"),
    ("two-documents", GOOD + "---\n" + GOOD, "second YAML document"),
    ("invalid-yaml", "record: [1\nfindings: {", "not valid YAML"),
    ("other-version", GOOD.replace("1", "2", 1), "format 2"),
    ("unknown-quality", GOOD.replace("bitter", "bitterr"), "Did you mean `bitter`"),
    ("unknown-herb", GOOD + "sample: {herb: tilia}\n", "no herb is called"),
    ("strength-7", GOOD.replace("weak", "7"), "`strength` is `7`"),
    ("strength-minus-1", GOOD.replace("weak", "-1"), "`strength` is `-1`"),
    ("strength-nan", GOOD.replace("weak", ".nan"), "`strength` is `.nan`"),
    ("strength-no", GOOD.replace("weak", "no"), "Use absent, weak, moderate or strong"),
    ("no-findings", "record: 1\nfindings: []\n", "no findings"),
    ("same-key-twice", GOOD + "record: 1\n", "stands here again"),
    ("same-finding-twice", "record: 1\nfindings: [{quality: bitter, strength: weak, when: first}, {quality: bitter, strength: strong, when: first}]", "stands already"),
    ("undeclared-taster", "record: 1\ntasters: [A]\nfindings: [{taster: B, quality: bitter, strength: weak}]", "not declared"),
    ("negative-millilitres", GOOD + "preparation: {cold_water_ml: -10}\n", "`cold_water_ml` is -10"),
    ("infinite-grams", GOOD + "preparation: {herb_grams: .inf}\n", "no finite number"),
    ("ethanol-120", GOOD + "preparation: {ethanol_percent: 120}\n", "`ethanol_percent` is 120"),
    ("python-tag", "record: !!python/object/apply:os.system ['true']\nfindings: []\n", "tag"),
    ("alias-bomb", "a: &a [1,1,1,1]\nb: &b [*a,*a,*a,*a]\nc: [*b,*b,*b,*b]\n", "alias"),
    ("brackets", "record: " + "[" * 5000, "deep"),
    ("future-date", GOOD + f"tasted_on: {FUTURE}\n", "yet to come"),
]


@pytest.mark.parametrize(("name", "content", "says"), BAD_FILES, ids=[b[0] for b in BAD_FILES])
def test_bad_records(name: str, content: str | bytes, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One clear message that names file and line, exit 2, under five seconds, nothing on stdout, nothing written."""
    path = write(tmp_path / f"{name}.yaml", content)
    before = set(tmp_path.iterdir())
    start = time.monotonic()
    code = main(["ask", str(path)])
    assert time.monotonic() - start < 5
    captured = capsys.readouterr()
    assert code == 2 and captured.out == ""
    assert says in captured.err and f"{name}.yaml" in captured.err
    assert "Traceback" not in captured.err
    assert name == "thirty-megabytes" or f"{name}.yaml:" in captured.err
    assert set(tmp_path.iterdir()) == before


@pytest.mark.parametrize(("path", "says"), [("missing.yaml", "no such file"), (".", "no record in this folder"), ("some/where.yaml", "no such file")])
def test_paths_that_are_no_record(path: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """A missing file and a folder are named so."""
    monkeypatch.chdir(tmp_path)
    assert main(["ask", path]) == 2
    assert says in capsys.readouterr().err


def test_bad_words_and_names(capsys: pytest.CaptureFixture[str]) -> None:
    """Plain words, qualities and herbs that are not known are refused with suggestions."""
    for args, says in ((["ask", "biter"], "`bitter`"), (["why", "bittr"], "`bitter`"), (["why", "bitter", "--herb", "oak brk"], "oak bark"), (["ask", "my old boots"], "not understood")):
        assert main(args) == 2
        captured = capsys.readouterr()
        assert says in captured.err and captured.out == ""


class TestCheck:
    """`kgraph check`: exit 1 where there are faults, 0 where there are none, 2 for wrong use."""

    def test_the_shipped_ontology(self, capsys: pytest.CaptureFixture[str]) -> None:
        """Without an argument: fine, counts on stderr."""
        assert main(["check"]) == 0
        captured = capsys.readouterr()
        assert captured.out == "" and "herbs" in captured.err

    def test_a_broken_folder(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Faults with file and line on stdout, exit 1."""
        write(tmp_path / "mine.yaml", "evokes:\n  - {class: condensed-tanins, quality: bitter, strength: often, common_practice: true}\n")
        assert main(["check", str(tmp_path)]) == 1
        out = capsys.readouterr().out
        assert "mine.yaml:2:" in out and "`condensed-tannins`" in out

    def test_a_good_folder_of_one_s_own(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """A herb that says all it must is accepted, and can be asked about."""
        claim = "common_practice: true"
        write(tmp_path / "mine.yaml", "\n".join([
            "herb:", "  id: novum-herb", "  name: Novum inventum", "  family: Inventaceae", "  part: herb", "  common_names: [new herb]", "  taste_safety: ok",
            "  described_as:", f"    - {{quality: bitter, intensity: strong, {claim}}}", f"    - {{quality: sweet, intensity: absent, {claim}}}",
            "  contains:", f"    - {{class: secoiridoid-bitters, level: major, {claim}}}",
            "  warns_of:", f"    - {{caution: pregnancy, severity: care, preparation: any, detail: no data, {claim}}}",
            f"    - {{caution: lactation, severity: care, preparation: any, detail: no data, {claim}}}", "",
        ]))
        assert main(["check", str(tmp_path)]) == 0
        assert main(["why", "bitter", "--herb", "new herb", "--ontology", str(tmp_path)]) == 0
        assert "secoiridoid" in capsys.readouterr().out

    def test_records(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """A record is checked as a record."""
        assert main(["check", str(write(tmp_path / "good.yaml", GOOD))]) == 0
        assert main(["check", str(write(tmp_path / "bad.yaml", GOOD.replace("weak", "9")))]) == 1
        assert "bad.yaml:2:" in capsys.readouterr().out
        assert main(["check", str(tmp_path / "none.yaml")]) == 2

    @pytest.mark.parametrize("make", ["missing", "file", "no-yaml"])
    def test_folders_that_are_none(self, make: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """A missing folder, a file and a folder without YAML given to --ontology exit 2."""
        path = tmp_path / "x"
        if make == "file":
            path.write_text("x")
        elif make == "no-yaml":
            path.mkdir()
        assert main(["ask", "bitter", "--ontology", str(path)]) == 2
        assert str(path) in capsys.readouterr().err


def test_json_is_one_object_and_nothing_else() -> None:
    """stdout parses as JSON; no NaN or Infinity; the keys of the format stand."""
    done = run("ask", "dry mouth, not sweet", "--json")
    assert done.returncode == 0 and done.stderr == ""
    data = json.loads(done.stdout, parse_constant=lambda c: pytest.fail(c))
    assert data["answer"] == 1 and set(data["ontology"]) >= {"version", "sha256"}
    for key in ("understood", "families", "classes", "actions", "uses", "label_cautions", "cautions", "conditions", "unexplained", "cannot_show", "notice"):
        assert key in data
    for group in ("families", "classes", "actions"):
        for candidate in data[group]:
            assert set(candidate) >= {"id", "label", "prior", "posterior", "weight_db", "paths"}
            for path in candidate["paths"]:
                assert set(path) == {"quality", "class", "action", "probability", "claims"}
    for heed in data["cautions"]:
        assert set(heed) >= {"id", "severity", "origin", "because", "probability", "detail"}


def plant(monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    """Make the reasoning fail from within."""

    def broken(*_: object) -> None:
        raise error

    monkeypatch.setattr(importlib.import_module("kgraph.reasoning.asking"), "circumstances_of", broken)


def test_a_planted_fault_of_our_own_is_seventy(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """An error that is not the user's is no user's error: exit 70, one line, no traceback."""
    plant(monkeypatch, ZeroDivisionError("planted"))
    assert main(["ask", "bitter"]) == 70
    err = capsys.readouterr().err
    assert "planted" in err and "Traceback" not in err and err.count("\n") == 1


def test_an_input_error_is_never_a_bare_value_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """A ValueError of our own making is a fault of ours, not bad input."""
    plant(monkeypatch, ValueError("ours"))
    assert main(["ask", "bitter"]) == 70


def test_a_closed_pipe_ends_quietly() -> None:
    """`kgraph ask ... | head -1` prints one line and no complaint."""
    done = subprocess.run(f"{sys.executable} -m kgraph ask bitter --full | head -1", shell=True, capture_output=True, text=True, timeout=60)
    assert done.stdout.count("\n") == 1 and done.stderr == ""


def test_interrupted_is_130() -> None:
    """Ctrl-C gives exit code 130 and no traceback."""
    import signal

    code = "import signal,os,kgraph.cli as c,kgraph.session as s\ns.load=lambda *a,**k:os.kill(os.getpid(),signal.SIGINT)\nimport sys\nsys.argv=['kgraph','ask','bitter']\nc.run()"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert done.returncode == 130 and "Traceback" not in done.stderr
    assert signal.SIGINT


def test_no_colour_where_none_is_wanted() -> None:
    """Piped output and NO_COLOR hold no escape codes."""
    done = run("ask", "bitter", env={**os.environ, "FORCE_COLOR": "1"})
    assert "\x1b" not in done.stdout


def test_help_loads_no_heavy_room() -> None:
    """`--help` imports neither numpy nor yaml nor the ontology."""
    code = "import sys\nfrom kgraph.cli import main\nmain(['--help'])\nprint([m for m in ('numpy','yaml','rdflib','networkx','pyoxigraph','kgraph.graphs','kgraph.claims','kgraph.reasoning','pydantic') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert done.stdout.splitlines()[-1] == "[]"


def test_completion_names_qualities_and_herbs() -> None:
    """The shell completion offers ids."""
    from kgraph.cli.app import _herbs, _qualities

    assert "bitter" in _qualities("bit") and "quercus-robur-bark" in _herbs("querc")


def test_imports_run_one_way() -> None:
    """cli > writing > (reasoning, graphs) > (claims, tasting) > yamlio: no room imports one above or beside it (DESIGN 3)."""
    import ast

    allowed = {
        "yamlio": set(), "claims": {"yamlio"}, "tasting": {"yamlio"}, "reasoning": {"yamlio", "claims", "tasting"},
        "graphs": {"yamlio", "claims", "tasting"}, "writing": {"yamlio", "claims", "tasting", "reasoning", "graphs"},
    }
    package = Path(__file__).resolve().parents[2] / "kgraph"
    for room, below in allowed.items():
        for path in (package / room).glob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [a.name for a in node.names] if isinstance(node, ast.Import) else []
                for name in names:
                    parts = name.split(".")
                    if parts[0] == "kgraph":
                        assert len(parts) > 1 and parts[1] in below | {room}, f"{path.name} imports {name}"
