"""How honest is the reasoning when the world is not quite the model?

Cups and tasters are drawn from a *perturbed* network: other strengths (log odds moved at random), tasters who miss more
or less than the tables say, percepts the class has no word for, percepts with a cause that nobody listed, and several
words for one percept. Each record then goes the way of every record, and what is said of the families is compared with
what was in the cup. Ontology, tables and seed are all that it depends on.

    python benchmarks/simulated_tasters.py [--cups N] [--pictures]
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from scores import Array, calibration, first_three

from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.evidence import cells_of
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.network import TEST
from kgraph.session import Knowledge, load
from kgraph.tasting import Finding, Record, Taster

PANELS = (1, 2, 4, 8)
SEED = 20261125


@dataclass
class World:
    """The perturbed network: what truly happens in cups and mouths.

    Attributes:
        strengths: class to percept to strength, the log odds moved by a normal draw of spread 0.7.
        unspoken: percepts that these tasters have no word for (one in ten).
        extra: percept to the chance of a cause that nobody listed (three in ten have one, of 0.1).
        words: percept to the words for it.
    """

    strengths: dict[str, dict[str, float]]
    unspoken: set[str]
    extra: dict[str, float]
    words: dict[str, list[str]]


def perturbed(known: Knowledge, rng: np.random.Generator) -> World:
    net, o = known.network, known.ontology

    def moved(strength: float) -> float:
        odds = np.log(strength / (1 - strength)) + rng.normal(0, 0.7)
        return float(1 / (1 + np.exp(-odds)))

    percepts = [p for p in net.other_cause if not p.startswith(TEST) and o.qualities[p].kind != "colour"]
    words: dict[str, list[str]] = defaultdict(list)
    for quality in o.qualities.values():
        if quality.kind == "word":
            words[o.percept(quality.id)].append(quality.id)
    return World(
        {c: {p: moved(arc.strength) for p, arc in arcs.items() if not p.startswith(TEST)} for c, arcs in net.arcs.items()},
        {p for p in percepts if rng.random() < 0.1}, {p: 0.1 for p in percepts if rng.random() < 0.3}, words,
    )


def cup(known: Knowledge, world: World, rng: np.random.Generator) -> tuple[dict[str, str], dict[str, str]]:
    """(class to level, percept to faint or plain) of one drawn cup."""
    net = known.network
    levels = {}
    for c, prior in net.prior.items():
        draw = rng.random()
        if draw < net.major[c]:
            levels[c] = "major"
        elif draw < prior:
            levels[c] = "minor"
    there: dict[str, str] = {}
    for c, level in levels.items():
        some, plain = (1.0, net.plain_major) if level == "major" else net.faint
        for p, strength in world.strengths[c].items():
            draw = rng.random()
            if draw < strength * plain:
                there[p] = "plain"
            elif draw < strength * some:
                there.setdefault(p, "faint")
    for p, chance in net.other_cause.items():
        if not p.startswith(TEST) and rng.random() < chance + world.extra.get(p, 0.0):
            there.setdefault(p, "plain" if rng.random() < net.plain_other else "faint")
    for group, kinds in net.groups.items():
        found = [there[k] for k in (group, *kinds) if k in there]
        if found:
            there[group] = "plain" if "plain" in found else "faint"
    return levels, there


def record_of(known: Knowledge, world: World, there: dict[str, str], tasters: int, rng: np.random.Generator) -> Record:
    """What so many tasters write down, each with miss rates of their own."""
    asked = [known.ontology.percept(q) for q in known.ontology.tables.standard_list]
    findings: list[Finding] = []
    names = [f"T{n + 1}" for n in range(tasters)]
    for name in names:
        keen, fancy = float(rng.beta(16, 3)), float(rng.beta(2, 30))
        for p in dict.fromkeys([*asked, *there]):
            if p in world.unspoken or p not in known.network.other_cause:
                continue
            level = there.get(p)
            notice = fancy if level is None else keen * (1.0 if level == "plain" else 0.7)
            if level is None and p not in asked:
                notice *= 0.05  # nobody asked for it and it is not there: hardly ever named
            if rng.random() < notice:
                chances = {"plain": (0.2, 0.45, 0.35), "faint": (0.75, 0.2, 0.05), None: (0.7, 0.25, 0.05)}[level]
                strength = int(rng.choice([1, 2, 3], p=chances))
                findings.append(Finding(p, strength, name))
                if world.words.get(p) and rng.random() < 0.5:  # the same percept once more, in other words
                    findings += [Finding(word, strength, name) for word in world.words[p] if rng.random() < 0.5]
            elif p in asked and rng.random() < 0.3:
                findings.append(Finding(p, 0, name))
    looked_for = dict.fromkeys(names, tuple(known.ontology.tables.standard_list))
    return Record(tuple(findings), tasters={name: Taster(name) for name in names}, looked_for=looked_for)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cups", type=int, default=400, help="cups for each size of panel")
    parser.add_argument("--pictures", action="store_true", help="write the two pictures beside this file")
    asked = parser.parse_args()
    known = load()
    families = list(known.ontology.families.values())
    rng = np.random.default_rng(SEED)
    rows: list[tuple[int, int, Array, Array]] = []
    for size in PANELS:
        for n in range(asked.cups):
            world = perturbed(known, rng)
            levels, there = cup(known, world, rng)
            record = record_of(known, world, there, size, rng)
            if not record.findings:
                continue
            cells = cells_of(known.ontology, known.network, record, Circumstances())
            given = Inference(known.network, Circumstances(), cells).posterior_any([dict.fromkeys(m, 1.0) for m in families])[0]
            truth = np.array([float(any(c in levels for c in m)) for m in families])
            rows.append((size, sum(c.speaks_for for c in cells), given, truth))
            if sys.stderr.isatty():
                print(f"\r{size} tasters: {n + 1} of {asked.cups}", end="", file=sys.stderr, flush=True)
    print(f"{len(rows)} records from a perturbed model, seed {SEED}; families, major or minor.\n")
    base = np.mean([truth for *_, truth in rows], axis=0)
    by_panel = _table("tasters", [(str(size), float(size), [r for r in rows if r[0] == size]) for size in PANELS], base)
    bins = [(1, 2), (3, 4), (5, 6), (7, 8), (9, 99)]
    by_count = _table("findings", [(f"{low} to {high}" if high < 99 else f"{low} and more", (low + min(high, 10)) / 2, [r for r in rows if low <= r[1] <= high]) for low, high in bins], base)
    if asked.pictures:
        from picture import line_chart

        here = Path(__file__).parent
        (here / "tasters.svg").write_text(line_chart("More tasters", "tasters", "share", by_panel, highest=1.5), encoding="utf-8")
        (here / "findings.svg").write_text(line_chart("More findings", "findings that speak for something", "share", by_count, highest=1.5), encoding="utf-8")


def _table(what: str, groups: list[tuple[str, float, list[tuple[int, int, Array, Array]]]], base: Array) -> dict[str, list[tuple[float, float]]]:
    print(f"| {what} | records | families in the first three | Brier skill | calibration slope | said, on average | so, on average |\n| --- | --- | --- | --- | --- | --- | --- |")
    lines: dict[str, list[tuple[float, float]]] = {"in the first three": [], "Brier skill": [], "calibration slope": []}
    for name, x, rows in groups:
        if len(rows) < 20:
            print(f"| {name} | {len(rows)} | too few | | | | |")
            continue
        given, truth = np.array([r[2] for r in rows]), np.array([r[3] for r in rows])
        recall = float(np.nanmean(first_three(given, truth)))
        skill = 1 - float(((given - truth) ** 2).sum() / ((base - truth) ** 2).sum())
        slope, _ = calibration(given, truth)
        print(f"| {name} | {len(rows)} | {recall:.3f} | {skill:+.3f} | {slope:.2f} | {given.mean():.3f} | {truth.mean():.3f} |")
        for line, value in zip(lines.values(), (recall, skill, slope), strict=True):
            line.append((x, value))
    print()
    return lines


if __name__ == "__main__":
    main()
