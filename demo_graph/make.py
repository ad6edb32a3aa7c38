"""Makes `made/` anew: what the commands say about each record. `python demo_graph/make.py [FOLDER]`.

With `--pictures` also `pictures/`: screenshots of the lecture page and a static picture (needs Chromium).
"""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
COMMANDS = {
    "ask.txt": ["ask", "{record}"],
    "ask-full.txt": ["ask", "{record}", "--full"],
}
SESSION = sorted(f"session/{path.name}" for path in (HERE / "session").glob("*.yaml"))
MORE = {
    "why-drying.txt": ["why", "drying"],
    "why-tingling.txt": ["why", "tingling"],
    "why-slippery-in-marshmallow.txt": ["why", "slippery", "--herb", "althaea-officinalis-root", "--full"],
    "match-tormentil.txt": ["match", "records/01-tormentil.yaml"],
    "match-two-mints.txt": ["match", "records/08-mint-this-year.yaml", "records/07-mint-last-year.yaml"],
    "match-evening-blend.txt": ["match", "records/09-evening-blend.yaml"],
    "next-mint.txt": ["next", "records/08-mint-this-year.yaml"],
    "next-gentian-and-its-doubles.txt": ["next", "bitter", "--claimed", "gentian"],
    "session-plan.md": ["sheet", "tormentil", "marshmallow root", "peppermint", "--tasters", "M,O,T,R,S,W", "--plan"],
    "session-panel.txt": ["panel", *SESSION],
    "session-note.md": ["note", "tormentil", *(word for file in SESSION for word in ("--record", file))],
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


def take_pictures(folder: Path) -> None:
    """Screenshots of the page of the first record, light and dark, and of the hand-out; the static picture of gentian."""
    import tempfile

    from playwright.sync_api import sync_playwright

    folder.mkdir(exist_ok=True)
    say(["draw", "gentian", "--output", str(folder / "gentian.svg"), "--force"])
    with tempfile.TemporaryDirectory() as made, sync_playwright() as driver:
        say(["draw", "records/01-tormentil.yaml", "--output", f"{made}/page.html"])
        say(["handout", "--output", f"{made}/handout.html"])
        browser = driver.chromium.launch(executable_path=os.environ.get("CHROMIUM") or shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"])
        for tone, steps in (("light", 6), ("dark", 9)):
            page = browser.new_page(viewport={"width": 1400, "height": 950}, color_scheme=tone)
            page.goto(Path(made, "page.html").as_uri())
            for _ in range(steps):
                page.keyboard.press("PageDown")
            page.click("#fit")
            page.screenshot(path=folder / f"lecture-{tone}.png")
            if tone == "dark":
                page.evaluate("document.getElementById('board').scrollIntoView()")
                page.screenshot(path=folder / "board-dark.png")
        say(["panel", *SESSION, "--output", f"{made}/panel.html"])
        say(["sheet", "tormentil", "marshmallow root", "peppermint", "--tasters", "M,O,T,R,S,W", "--output", f"{made}/sheet.html"])
        page = browser.new_page(viewport={"width": 900, "height": 900})
        page.goto(Path(made, "panel.html").as_uri())
        page.screenshot(path=folder / "panel.png")
        page = browser.new_page(viewport={"width": 420, "height": 1000})
        page.goto(Path(made, "sheet.html").as_uri())
        page.check("#ok")
        page.select_option("#cell-bitter", "weak")
        page.evaluate("document.getElementById('cells').scrollIntoView()")
        page.screenshot(path=folder / "sheet-phone.png")
        page = browser.new_page(viewport={"width": 900, "height": 1100})
        page.goto(Path(made, "handout.html").as_uri())
        page.screenshot(path=folder / "handout.png")
        browser.close()


if __name__ == "__main__":
    if "--pictures" in sys.argv:
        sys.argv.remove("--pictures")
        take_pictures(HERE / "pictures")
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "made"
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in make().items():
        (folder / name).write_text(text, encoding="utf-8")
