"""Bug: on a terminal of an old encoding the arrow of a path ended in a fault of our own (70)."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_old_encodings(encoding: str) -> None:
    """What the terminal cannot show is replaced; JSON is escaped, not replaced."""
    env = {**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    screen = subprocess.run([sys.executable, "-m", "kgraph", "ask", "bitter"], capture_output=True, env=env, timeout=60)
    assert screen.returncode == 0 and screen.stderr == b""
    done = subprocess.run([sys.executable, "-m", "kgraph", "ask", "bitter", "--json"], capture_output=True, env=env, timeout=60)
    assert json.loads(done.stdout.decode(encoding))["answer"] == 1
