"""Closed and full streams, files that are no files, names that are none: said plainly, exit 2, nothing hangs."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

RUN = [sys.executable, "-c", "from kgraph.cli import run; run()"]


def shell(redirection: str, *args: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """kgraph under a shell's redirection."""
    env = {**os.environ, **environment}
    command = ["sh", "-c", f'exec "$@" {redirection}', "sh", *RUN, *args]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, env=env, check=False)


@pytest.mark.parametrize("args", [("ask", "bitter"), ("ask", "bitter", "--json"), ("why", "bitter")])
def test_nowhere_to_write(args: tuple[str, ...]) -> None:
    """Standard output closed: exit 2 and a plain sentence."""
    done = shell(">&-", *args)
    assert done.returncode == 2 and "written" in done.stderr + "written" * ("closed" in done.stderr)
    assert "fault of the program" not in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize("args", [("ask", "bitter"), ("ask", "bitter", "--json"), ("export", "--format", "bibtex"), ("check", "--coverage")])
def test_a_full_disk(args: tuple[str, ...]) -> None:
    """No space for the answer: exit 2, no traceback."""
    done = shell(">/dev/full", *args)
    assert done.returncode == 2 and "cannot be written" in done.stderr and "Traceback" not in done.stderr


@pytest.mark.parametrize("redirection", ["2>&-", "2>/dev/null"])
def test_bad_input_without_an_error_stream(redirection: str) -> None:
    """The exit code still tells."""
    assert shell(redirection, "ask", "biter").returncode == 2


def test_a_pipe_is_no_record(tmp_path: Path) -> None:
    """A named pipe would wait for ever; it is refused. Standard input is read."""
    os.mkfifo(tmp_path / "pipe.yaml")
    done = shell("", "ask", str(tmp_path / "pipe.yaml"))
    assert done.returncode == 2 and "no regular file" in done.stderr
    record = tmp_path / "r.yaml"
    record.write_text("record: 1\nfindings: [{quality: bitter, strength: weak}]\n")
    assert shell(f"<{record}", "ask", "/dev/stdin").returncode == 0


@pytest.mark.parametrize("args", [("ask", "bitter", "--ontology", "x" * 300), ("check", "x" * 300), ("export", "--output", "x" * 300 + ".bib"), ("ask", "bitter", "--ontology", ""), ("ask", ""), ("why", "bitter", "--herb", " "), ("ask", "bitter", "--strengths")])
def test_names_that_are_none(args: tuple[str, ...]) -> None:
    """Too long or empty: exit 2 with a remedy."""
    done = shell("", *args)
    assert done.returncode == 2 and done.stderr.startswith("kgraph: ")


def test_a_home_that_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is written into the working folder, and the answer comes."""
    monkeypatch.chdir(tmp_path)
    assert shell("", "ask", "bitter", HOME="foo", XDG_CACHE_HOME="").returncode == 0
    assert list(tmp_path.iterdir()) == []


def test_words_are_not_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder called sour is not meant by the word; a stroke between words is no path."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sour").mkdir()
    assert shell("", "ask", "sour").returncode == 0
    done = shell("", "ask", "bitter/sour")
    assert done.returncode == 0 and "bitter" in done.stdout and "sour" in done.stdout


def test_a_file_name_that_is_no_text(tmp_path: Path) -> None:
    """A name outside UTF-8 is fingerprinted and read like any other."""
    Path(tmp_path / os.fsdecode(b"\xff.yaml")).write_text("ontology: {id: mine}\n")
    assert shell("", "why", "bitter", "--ontology", str(tmp_path), XDG_CACHE_HOME=str(tmp_path / "cache")).returncode == 0
