"""Which links, if they were graded otherwise or were there at all, would help the reasoning most?

Every link from a class that at least five documented herbs hold is moved by one word, up and down, and every pair of class and taste that at least
three documented herbs show together without a link gets one at "sometimes"; what that does to the errors over the
documented herbs is counted (families, major, book channel). A list for the reader of sources, never for the editor's pen: a link
goes in when a source says so, and not because the figures would like it.

    python benchmarks/claims_worth_reading.py
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from leave_one_out import Bench, _without, bench

from kgraph.reasoning.book import book_cells
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.fit import fitted_network
from kgraph.reasoning.herbs import documented_intensities
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.network import TEST, Arc, Network

Move = tuple[str, str, str, float]  # class, quality, what is done, strength
_WORDS = ("rarely", "sometimes", "often", "almost-always")


def moves(b: Bench) -> list[Move]:
    """One word up and down for every link, and the links that are missing."""
    number = {w: b.ontology.tables.strength(w) for w in _WORDS}
    found: list[Move] = []
    mine = b.levels[[b.row[h] for h in b.herbs]]
    held = dict(zip(b.ontology.classes, (mine >= 1).sum(axis=0), strict=True))
    for cls, arcs in b.net.arcs.items():
        if held[cls] < 5:
            continue
        for quality, arc in arcs.items():
            if quality.startswith(TEST):
                continue
            at = _WORDS.index(b.ontology.claim(arc.claims[0]).word)
            found += [(cls, quality, f"{_WORDS[at]} to {_WORDS[to]}", number[_WORDS[to]]) for to in (at - 1, at + 1) if 0 <= to < len(_WORDS)]
    column = {c: k for k, c in enumerate(b.ontology.classes)}
    together: dict[tuple[str, str], int] = {}
    for herb in b.herbs:
        for quality, word in documented_intensities(b.ontology, herb).items():
            if word == "absent" or quality in b.net.groups or quality not in b.net.other_cause:
                continue
            for cls in b.ontology.classes:
                if b.levels[b.row[herb], column[cls]] >= 2 and quality not in b.net.arcs[cls]:
                    together[(cls, quality)] = together.get((cls, quality), 0) + 1
    return found + [(cls, quality, "no link to sometimes", number["sometimes"]) for (cls, quality), n in together.items() if n >= 3]


@cache
def _learnt() -> Network:
    b = bench()
    return fitted_network(b.net, b.learnt_from.fit(size=8.0, other_size=20.0))


@cache
def _left_out(herb: str) -> Network:
    return _without(_learnt(), [herb])


def _errors(herbs: tuple[int, ...], arcs: dict[str, dict[str, Arc]]) -> float:
    b = bench()
    task = b.tasks["families, major"]
    total = 0.0
    for i in herbs:
        net = replace(_left_out(b.herbs[i]), arcs=arcs)
        given = Inference(net, Circumstances(), book_cells(b.ontology, net, b.herbs[i])).posterior_any(task.questions)[0]
        total += float(((given - task.truth[i]) ** 2).sum())
    return total


@cache
def _before(herbs: tuple[int, ...]) -> float:
    return _errors(herbs, _learnt().arcs)


def gain(move: Move) -> float:
    """By how much the squared errors shrink over the herbs whose description speaks of the quality."""
    b = bench()
    cls, quality, _, strength = move
    concerned = tuple(i for i, herb in enumerate(b.herbs) if quality in documented_intensities(b.ontology, herb))
    arcs = {c: dict(found) for c, found in _learnt().arcs.items()}
    old = arcs[cls].get(quality)
    arcs[cls][quality] = Arc(strength, old.claims if old else ())
    return _before(concerned) - _errors(concerned, arcs)


def main() -> None:
    b = bench()
    tried = moves(b)
    with ProcessPoolExecutor(2) as pool:
        gains = []
        for n, value in enumerate(pool.map(gain, tried, chunksize=8), start=1):
            gains.append(value)
            if sys.stderr.isatty():
                print(f"\r{n} of {len(tried)}", end="", file=sys.stderr, flush=True)
    print(f"{len(tried)} moves tried; the sum of squared errors shrinks by\n\n| class | taste | move | less error |\n| --- | --- | --- | --- |")
    for k in np.argsort([-g for g in gains])[:20]:
        cls, quality, what, _ = tried[k]
        print(f"| {b.ontology.label('class', cls)} | {b.ontology.label('quality', quality)} | {what} | {gains[k]:.2f} |")


if __name__ == "__main__":
    main()
