"""The page of a lecture in headless Chromium: size, time to write, time until it answers, frames, the board.

    python benchmarks/page.py

Chromium is looked for on the path (Debian: apt install chromium). Times are medians of runs on this machine.
"""

from __future__ import annotations

import os
import random
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

from kgraph.graphs.picture import LAYERS, Link, Node, Picture
from kgraph.session import load
from kgraph.writing.lecture import Lecture, page

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-sync", "--no-first-run"]
#: Script time of one frame: the handler that the page runs when the picture is chosen in, moved and laid out again.
FRAMES = """async () => {
  const times = [], view = document.getElementById('view'), n = Page.nodes.length;
  for (let i = 0; i < 300; i++) {
    await new Promise(requestAnimationFrame);
    const start = performance.now();
    view.scrollTo((i * 37) % 2000, (i * 91) % 8000);
    if (i % 10 === 0) Drawing.choose((i * 131) % n, {scroll: false});
    times.push(performance.now() - start);
  }
  return times;
}"""
BOARD = """count => {
  const b = Page.board, times = [];
  let seed = 7;
  const next = () => (seed = (seed * 1103515245 + 12345) % 2147483648) / 2147483648;
  for (let run = 0; run < 40; run++) {
    const ticks = new Map();
    while (ticks.size < count) {
      const p = Math.floor(next() * b.percepts.length);
      if (b.percepts[p].kind !== 'test') ticks.set(p, ['absent', 'weak', 'moderate', 'strong'][Math.floor(next() * 4)]);
    }
    const cells = Sums.cellsOf(b, ticks, []), start = performance.now();
    Sums.answer(b, cells, []);
    times.push(performance.now() - start);
  }
  return times;
}"""


def row(what: str, figure: str, aim: str) -> None:
    print(f"| {what} | {figure} | {aim} |", flush=True)


def crowd(nodes: int, links: int) -> Picture:
    """An invented picture of so many nodes and links."""
    rng = random.Random(1)
    kinds = [kind for kind in LAYERS if kind != "herb"]
    per = nodes // len(kinds) + 1
    made = [Node(f"{kind}/{i}", kind, f"{kind} number {i}", "", "", "taste" if kind == "quality" else "", "", LAYERS.index(kind), i) for kind in kinds for i in range(per)][:nodes]
    joined = []
    while len(joined) < links:
        a, b = sorted(rng.sample(range(nodes), 2))
        if made[a].layer < made[b].layer:
            joined.append(Link(a, b, "evokes", "often", 0.7, "tradition", False, ()))
    return Picture("A crowd", tuple(made), tuple(joined), tuple(sorted({n.layer for n in made})))


def main() -> None:
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    if not chromium:
        sys.exit("no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    known = load()
    known.draw("drying")  # everything imported and compiled
    print("| what | figure | aim |\n| --- | --- | --- |")
    times = []
    for _ in range(3):
        start = time.perf_counter()
        html = known.draw()
        times.append(time.perf_counter() - start)
    row("page of the whole ontology, written", f"{statistics.median(times):.2f} s", "≤ 2 s")
    row("  its size", f"{len(html.encode()) / 1e6:.2f} MB", "≤ 3 MB")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        file = Path(folder) / "whole.html"
        file.write_text(html, encoding="utf-8")
        loads = []
        for _ in range(5):
            tab = browser.new_page(viewport={"width": 1400, "height": 900})
            start = time.perf_counter()
            tab.goto(file.as_uri())
            tab.click(".nodes .n >> nth=3")
            tab.wait_for_selector(".n.chosen")
            loads.append(time.perf_counter() - start)
            if len(loads) < 5:
                tab.close()
        row("  until a click is answered, headless Chromium", f"{statistics.median(loads):.2f} s", "≤ 2 s")
        row("  script time a frame, median of 300 (scrolling, a choice every tenth)", f"{statistics.median(tab.evaluate(FRAMES)):.2f} ms", "≤ 16 ms")
        for count, aim in ((12, "≤ 50 ms"), (24, "")):
            found = tab.evaluate(BOARD, count)
            row(f"  board at {count} findings, median (worst) of 40", f"{statistics.median(found):.0f} ms ({max(found):.0f} ms)", aim)
        big = Path(folder) / "crowd.html"
        big.write_text(page(known.ontology, Lecture(crowd(2_000, 8_000), (), "", (), (), ("",), None)), encoding="utf-8")
        tab = browser.new_page(viewport={"width": 1400, "height": 900})
        tab.goto(big.as_uri())
        frames = tab.evaluate(FRAMES)
        row("2,000 nodes and 8,000 lines: script time a frame, median of 300", f"{statistics.median(frames):.2f} ms", "≤ 16 ms")
        row("  of the frames with a choice (light, lay out, describe), median", f"{statistics.median(frames[::10]):.0f} ms", "")
        row("  size", f"{big.stat().st_size / 1e6:.1f} MB", "")
        browser.close()


if __name__ == "__main__":
    main()
