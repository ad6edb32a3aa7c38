"""Makes `made/` anew: what the commands say about each record. `python demo_graph/make.py [FOLDER]`."""

from __future__ import annotations

import contextlib
import io
import os
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
COMMANDS = {
    "ask.txt": ["ask", "{record}"],
    "ask-full.txt": ["ask", "{record}", "--full"],
}
MORE = {
    "why-drying.txt": ["why", "drying"],
    "why-tingling.txt": ["why", "tingling"],
    "why-slippery-in-marshmallow.txt": ["why", "slippery", "--herb", "althaea-officinalis-root", "--full"],
    "match-tormentil.txt": ["match", "records/01-tormentil.yaml"],
    "match-two-mints.txt": ["match", "records/08-mint-this-year.yaml", "records/07-mint-last-year.yaml"],
    "match-evening-blend.txt": ["match", "records/09-evening-blend.yaml"],
    "next-mint.txt": ["next", "records/08-mint-this-year.yaml"],
    "next-gentian-and-its-doubles.txt": ["next", "bitter", "--claimed", "gentian"],
    "class.csv.txt": ["ask", "class.csv", "--format", "csv"],
    "sealed-gentian.txt": ["ask", "records/04-gentian-tincture.yaml", "--sealed"],
}


def say(args: list[str]) -> str:
    """What a command prints, at a fixed width, from inside this folder."""
    from kgraph.cli import main

    before, out = Path.cwd(), io.StringIO(newline="")
    os.environ.update({"COLUMNS": "88", "TERM": "dumb", "NO_COLOR": "1"})
    os.chdir(HERE)
    try:
        with contextlib.redirect_stdout(out):
            code = main(args)
    finally:
        os.chdir(before)
    if code:
        raise SystemExit(f"{args} ended with {code}")
    return out.getvalue().replace("\r\n", "\n")


def make() -> dict[str, str]:
    """File name to contents."""
    made: dict[str, str] = {}
    for record in sorted((HERE / "records").glob("*.yaml")):
        for ending, command in COMMANDS.items():
            made[f"{record.stem}.{ending}"] = say([word.format(record=f"records/{record.name}") for word in command])
    for name, command in MORE.items():
        made[name] = say(command)
    return made


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "made"
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in make().items():
        (folder / name).write_text(text, encoding="utf-8")
