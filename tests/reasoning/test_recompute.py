"""`ask --json --strengths` holds all that an independent script needs to work out every figure again."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from kgraph.cli import main

SCRIPT = Path(__file__).with_name("recompute.py")


@pytest.mark.parametrize(
    "words",
    ["dry mouth, a little bitter, not sweet", "tingling, numbing, not minty", "slimy, no smell", "minty, cooling, aromatic, not camphor"],
)
def test_an_independent_script_agrees(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Every posterior of the shipped ontology, to 1e-9, by exact fractions in another process without kgraph."""
    assert main(["ask", words, "--json", "--strengths"]) == 0
    text = capsys.readouterr().out
    done = subprocess.run([sys.executable, "-I", str(SCRIPT)], input=text, capture_output=True, text=True, check=True)
    again, answer = json.loads(done.stdout), json.loads(text)
    for group in ("classes", "families", "actions"):
        found = {c["id"]: c["posterior"] for c in answer[group]}
        assert found == pytest.approx(again[group], abs=1e-9)
        assert set(found) == set(again[group])
    assert answer["cautions"]
    for heed in answer["cautions"]:
        assert heed["probability"] == pytest.approx(again["cautions"][f"{heed['id']}/{heed['severity']}"], abs=1e-9)


def test_the_script_is_short_and_independent() -> None:
    """At most sixty lines of code, and no import of kgraph or of any package."""
    lines = [line for line in SCRIPT.read_text(encoding="utf-8").splitlines() if line.strip() and not line.strip().startswith("#")]
    body = "\n".join(lines)
    doc_end = body.index('"""', 3) + 3
    code = [line for line in body[doc_end:].splitlines() if line.strip() and not line.strip().startswith('"""')]
    assert len(code) <= 60
    assert "kgraph" not in body[doc_end:] and "numpy" not in body


def test_without_strengths_they_are_left_out(capsys: pytest.CaptureFixture[str]) -> None:
    """The key stands only when it is asked for."""
    main(["ask", "bitter", "--json"])
    assert "strengths" not in json.loads(capsys.readouterr().out)
