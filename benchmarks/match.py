"""How often does a tasting find its own herb, and how fast is the match?

Recovery: a cup of a herb on file is drawn from a *perturbed* description (one quality in seven is a step stronger or
weaker than written, one in twenty is not there, one in twenty foreign ones is), tasters report with rates of their own,
and the record is held against every herb. 4, 6 or 8 qualities were asked, those of the herb and others mixed. Then the
speed of the match, of draws, of next, of many records, and of ten thousand invented herbs. Seed and ontology are all that it depends on.

    python benchmarks/match.py [--cups N]
"""

from __future__ import annotations

import argparse
import dataclasses
import random
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from speed import median_ms

from kgraph.claims.model import Claim
from kgraph.claims.store import ClaimStore
from kgraph.claims.words import INTENSITIES
from kgraph.reasoning import build_network
from kgraph.reasoning.asking import ask
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.evidence import Cell
from kgraph.reasoning.figures import Figures
from kgraph.reasoning.herbs import documented_intensities
from kgraph.reasoning.match import WELL_DESCRIBED, match
from kgraph.reasoning.proposal import propose
from kgraph.reasoning.shelf import Shelf
from kgraph.session import Knowledge, load
from kgraph.tasting import Finding, Record, write_record

SEED = 20261125
ASKED = (4, 6, 8)


def perturbed_report(known: Knowledge, intensity: int, rng: random.Random) -> int:
    """What a taster reports of an intensity: the table's chances, each times a factor between two thirds and one and a half."""
    table = known.ontology.tables.documented
    weights = [table[(INTENSITIES[intensity], state)] * rng.uniform(0.67, 1.5) for state in INTENSITIES]
    return rng.choices(range(4), weights)[0]


def cup(known: Knowledge, shelf: Shelf, herb: str, asked: int, rng: random.Random) -> Record:
    """A record of a cup of the herb in which so many qualities were asked: about two thirds of them described ones where there are enough."""
    o = known.ontology
    described = {p: INTENSITIES.index(w) for p, w in documented_intensities(o, herb).items() if o.qualities[p].sense != "appearance" and not known.network.groups.get(p)}
    others = [p for p in o.tables.standard_list if p not in described and not known.network.groups.get(p)]
    chosen = rng.sample(sorted(described), min(len(described), (2 * asked + 2) // 3))
    chosen += rng.sample(others, asked - len(chosen))
    findings = []
    for percept in chosen:
        if percept in described:
            level = described[percept]
            draw = rng.random()
            level = 0 if draw < 0.05 else min(3, max(0, level + rng.choice((-1, 1)))) if draw < 0.2 else level
        else:
            cell = Cell(percept, "weak", 1.0, 1.0, ())
            share = float(shelf.expected(Figures(o, known.network), Circumstances(), cell)[shelf.index[herb]])
            level = rng.randint(1, 2) if rng.random() < share or rng.random() < 0.05 else 0
        findings.append(Finding(percept, perturbed_report(known, level, rng)))
    return Record(tuple(findings))


def recovery(known: Knowledge, cups: int) -> None:
    shelf = known.shelf
    herbs = [h for i, h in enumerate(shelf.ids) if shelf.described[i] >= WELL_DESCRIBED]
    print(f"{len(herbs)} herbs with {WELL_DESCRIBED} described qualities or more, {cups} cups of each; one taster\n")
    print("| asked | the right herb first | among five | not told apart from the first (3 dB) | said not to fit | blind guess |\n| --- | --- | --- | --- | --- | --- |")
    rng = random.Random(SEED)
    for asked in ASKED:
        counts = [0, 0, 0, 0]
        for herb in herbs:
            for _ in range(cups):
                found = match(known.ontology, known.network, cup(known, shelf, herb, asked, rng), shelf=shelf)
                place = next(i for i, h in enumerate(found.herbs) if h.id == herb)
                own = found.herbs[place]
                for k, yes in enumerate((place == 0, place < 5, own.below_best_db > -3, own.word == "does not fit")):
                    counts[k] += yes
        total = len(herbs) * cups
        print(f"| {asked} | " + " | ".join(f"{c / total:.2f}" for c in counts) + f" | {1 / len(shelf.ids):.3f} |", flush=True)


def crowded(known: Knowledge, herbs: int) -> Knowledge:
    """The ontology with so many invented herbs, each with ten claims."""
    o = known.ontology
    rng = random.Random(SEED)
    classes, percepts = list(o.classes), [q.id for q in o.qualities.values() if q.kind in ("percept", "kind")]
    made = dict(o.things["herb"])
    claims = list(o.claims)
    pattern = next(iter(o.herbs.values()))
    for n in range(herbs - len(made)):
        id = f"planta-{n}"
        made[id] = dataclasses.replace(pattern, id=id, label=id, taste_safety="ok")
        claims += [Claim(f"contains/{id}/{c}", "contains", id, c, rng.choice(("major", "minor", "trace")), common_practice=True) for c in rng.sample(classes, 5)]
        claims += [Claim(f"described_as/{id}/{p}", "described_as", id, p, rng.choice(INTENSITIES), common_practice=True) for p in rng.sample(percepts, 5)]
    things = {**o.things, "herb": made}
    return Knowledge(dataclasses.replace(o, things=things, store=ClaimStore.of(claims, made)))


def peak_mb(work: Callable[[], object]) -> float:
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    return peak


def speed(known: Knowledge) -> None:
    o, net, shelf = known.ontology, known.network, known.shelf
    rng = random.Random(SEED)
    eight = [Record(tuple(Finding(q, rng.randint(0, 3)) for q in rng.sample(list(o.tables.standard_list), 8))) for _ in range(12)]
    print("\n| what | figure | aim |\n| --- | --- | --- |")
    asked, matched = (median_ms(lambda work=work: [work(r) for r in eight], 3) / len(eight) for work in (
        lambda r: ask(o, net, r, shelf=lambda: shelf), lambda r: match(o, net, r, shelf=shelf)))
    print(f"| match of 8 findings (ask of the same: {asked:.0f} ms) | {matched:.0f} ms | adds ≤ 50 ms |")
    for name, work in (("ask", lambda r: ask(o, net, r, draws=200, shelf=lambda: shelf)), ("match", lambda r: match(o, net, r, draws=200, shelf=shelf))):
        plain = asked if name == "ask" else matched
        ms = median_ms(lambda work=work: [work(r) for r in eight], 2) / len(eight)
        print(f"| 200 draws in `{name}`, 8 findings | {ms - plain:.0f} ms more | ≤ 1 s |")
    wide = Record(tuple(Finding(q, 2) for q in o.tables.standard_list[:8]), looked_for={"taster": o.tables.standard_list})
    print(f"| 200 draws in `ask`, whole standard list | {median_ms(lambda: ask(o, net, wide, draws=200), 2) - median_ms(lambda: ask(o, net, wide), 2):.0f} ms more | ≤ 1 s |")
    print(f"| next, about families / herbs | {median_ms(lambda: propose(o, net, eight[0], about='families', shelf=shelf), 3):.0f} / {median_ms(lambda: propose(o, net, eight[0], about='herbs', shelf=shelf), 3):.0f} ms | |")
    many_records(known, rng)
    peaks = []
    for herbs in (2_500, 10_000):
        crowd = crowded(known, herbs)
        net = build_network(crowd.ontology)
        start = time.perf_counter()
        stock = Shelf(crowd.ontology, net)
        compiled = time.perf_counter() - start
        ms = median_ms(lambda: match(crowd.ontology, net, eight[0], shelf=stock), 3)  # noqa: B023
        drawn = median_ms(lambda: match(crowd.ontology, net, eight[0], draws=200, shelf=stock), 1)  # noqa: B023
        figures = Figures(crowd.ontology, net)
        peaks.append(peak_mb(lambda: [part.max() for _, part in stock.slices(figures, Circumstances(), [])]))  # noqa: B023
        print(f"| {herbs:,} herbs, 8 findings (herbs compiled once in {compiled:.2f} s) | {ms / 1000:.2f} s; with 200 draws {drawn / 1000:.1f} s | ≤ 1 s |", flush=True)
        print(f"|   memory of a match / of one with 200 draws | {peak_mb(lambda: match(crowd.ontology, net, eight[0], shelf=stock)):.0f} / {peak_mb(lambda: match(crowd.ontology, net, eight[0], draws=200, shelf=stock)):.0f} MB | independent of their number |", flush=True)  # noqa: B023


def many_records(known: Knowledge, rng: random.Random) -> None:
    o = known.ontology
    standard = list(o.tables.standard_list)
    kinds = {
        "8 findings, one sheet": lambda: Record(tuple(Finding(q, rng.randint(0, 3)) for q in standard[:8])),
        "8 findings, each another sheet": lambda: Record(tuple(Finding(q, rng.randint(0, 3)) for q in rng.sample(standard, 8))),
        "8 findings, whole standard list looked for": lambda: Record(tuple(Finding(q, rng.randint(0, 3)) for q in rng.sample(standard, 8)), looked_for={"taster": tuple(standard)}),
    }
    from kgraph.tasting.gathering import files_of, read_all

    for what, make in kinds.items():
        with tempfile.TemporaryDirectory() as folder:
            for n in range(1_000):
                (Path(folder) / f"{n:04d}.yaml").write_text(write_record(make()))
            rates = []
            for work in (known.briefs, known.match_briefs):
                start = time.perf_counter()
                done = sum(1 for _ in work([r for batch in read_all(files_of([folder]), known.vocabulary) for r in batch]))  # type: ignore[arg-type,operator]
                rates.append(done / (time.perf_counter() - start))
        print(f"| 1,000 files, {what}: `ask` / `match` | {rates[0]:.0f} / {rates[1]:.0f} a second | ≥ 200 a second |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cups", type=int, default=10, help="cups of each herb (10)")
    cups = parser.parse_args().cups
    known = load()
    recovery(known, cups)
    speed(known)


if __name__ == "__main__":
    sys.exit(main())
