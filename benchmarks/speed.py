"""Figures as ratios in one run: `python benchmarks/speed.py` (about a minute; `--quick` for a look).

Whole processes are timed in turn with a bare typer app, so that the ratio holds when the machine's speed drifts. Inference is
timed beside pyAgrum's LazyPropagation on the same network with each noisy-OR split into a chain of two-parent nodes.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
RECORD = ROOT / "demo_graph" / "records" / "01-tormentil.yaml"
BARE = """
import typer
app = typer.Typer(help="a bare app")
@app.command()
def one(name: str = "a"): "One."
@app.command()
def two(name: str = "a"): "Two."
app()
"""


def wall(command: Sequence[str], env: dict[str, str]) -> float:
    start = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=env, check=True)
    return time.perf_counter() - start


def paired(a: Sequence[str], b: Sequence[str], runs: int, env: dict[str, str]) -> tuple[float, float, float]:
    """Medians of A and B in turn, and the median of their ratios."""
    wall(a, env), wall(b, env)
    pairs = [(wall(a, env), wall(b, env)) for _ in range(runs)]
    return statistics.median(p[0] for p in pairs), statistics.median(p[1] for p in pairs), statistics.median(p[0] / p[1] for p in pairs)


def median_ms(work: Callable[[], object], runs: int) -> float:
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return 1000 * statistics.median(times)


def row(what: str, figure: str, aim: str) -> None:
    print(f"| {what} | {figure} | {aim} |", flush=True)


def processes(runs: int, folder: Path) -> None:
    bare = folder / "bare.py"
    bare.write_text(BARE)
    env = {**os.environ, "XDG_CACHE_HOME": str(folder / "cache")}
    typer_help = [sys.executable, str(bare), "--help"]
    ask = [sys.executable, "-m", "kgraph", "ask", str(RECORD)]
    for what, command, aim in (("`kgraph ask --draws 0`", [*ask, "--draws", "0"], "≤ 3"), ("  with its 200 draws", ask, "≤ 5")):
        a, b, ratio = paired(command, typer_help, runs, env)
        row(f"{what} on the demo record, warm snapshot, whole process / bare typer help", f"{ratio:.2f} ({a:.2f} s / {b:.2f} s)", aim)
    code = f"import resource,sys;from kgraph.cli import main;sys.stdout=open('{os.devnull}','w');main(['ask',{str(RECORD)!r}]);sys.stderr.write(str(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss))"
    peak = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, check=True).stderr
    row("  its peak memory", f"{int(peak) / 1024:.0f} MiB", "≤ 150 MB")
    a, b, ratio = paired([sys.executable, "-m", "kgraph", "--help"], typer_help, runs, env)
    row("`kgraph --help` / bare typer help", f"{ratio:.2f}", "≤ 1.3")


def ontology(runs: int) -> None:
    from kgraph.claims import folders, reading, snapshot

    found = folders.select([])
    row("compile the shipped ontology", f"{median_ms(lambda: reading.compile_folders(found), max(2, runs // 4)) / 1000:.2f} s", "≤ 2 s")
    compiled, _ = reading.compile_folders(found)
    with tempfile.TemporaryDirectory() as folder:
        snapshot.save(compiled, Path(folder))

        def warm() -> None:
            snapshot.load(folders.fingerprint(folders.select([])), Path(folder))

        row("warm load (files hashed, snapshot read)", f"{median_ms(warm, runs):.0f} ms", "≤ 60 ms")
        unpacked = snapshot.load(compiled.sha256, Path(folder))
        assert unpacked is not None
        start = time.perf_counter()
        count = len(unpacked.claims)
        row(f"  and every one of its {count:,} claims unpacked", f"{1000 * (time.perf_counter() - start):.0f} ms more", "")


def inference(runs: int, draws: int) -> None:
    from kgraph.reasoning.circumstances import Circumstances
    from kgraph.reasoning.evidence import Cell
    from kgraph.reasoning.inference import Inference
    from kgraph.session import load

    known = load()
    o, net = known.ontology, known.network
    percepts = [q.id for q in o.qualities.values() if net.other_cause.get(q.id) is not None and net.evokers(q.id) and q.kind in ("percept", "kind")]
    families = [dict.fromkeys(m, 1.0) for m in o.families.values()]
    actions = [{c: a.strength for c, a in arcs.items()} for arcs in net.acts.values()]

    def cells(chosen: Sequence[str], rng: random.Random) -> list[Cell]:
        found = []
        for p in chosen:
            state = rng.choice(("strong", "moderate", "weak", "absent", "absent", "unnoticed"))
            there, not_there = o.tables.report("taster", state, p)
            scale = max(there, not_there)
            found.append(Cell(p, state, there / scale, not_there / scale, (p,)))
        return found

    def answer(evidence: list[Cell]) -> list[float]:
        one = Inference(net, Circumstances(), evidence)
        return [*one.posterior.values(), *map(float, one.posterior_any([*families, *actions])[0])]

    rng = random.Random(1)
    records = [cells(rng.sample(percepts, 22), rng) for _ in range(runs)]
    widths = [Inference(net, Circumstances(), r).engine.width for r in records]
    times = [median_ms(lambda r=r: answer(r), 3) for r in records]
    row(f"exact answers at 22 random findings ({len(families)} families, {len(net.prior)} classes, {len(actions)} actions), median of {runs} records", f"{statistics.median(times):.1f} ms (table of 2^{statistics.median(widths):.0f})", "≤ 5 ms")
    busiest = sorted(percepts, key=lambda p: -len(net.evokers(p)))[:22]
    hard = cells(busiest, rng)
    row("  at the 22 busiest findings", f"{median_ms(lambda: answer(hard), max(5, runs // 4)):.1f} ms (2^{Inference(net, Circumstances(), hard).engine.width})", "≤ 25 ms")
    rival(known, records[: max(3, runs // 8)], cells, percepts, draws)


def rival(known: object, records: list[list[object]], cells: Callable[..., list[object]], percepts: list[str], draws: int) -> None:
    """pyAgrum's LazyPropagation on the split network: all class posteriors, the same records."""
    try:
        import pyagrum as gum
    except ImportError:
        row("against pyAgrum", "not installed", "≥ 3 ×")
        return
    from kgraph.reasoning.circumstances import Circumstances
    from kgraph.reasoning.inference import Inference, arc_strength, other_cause

    nowhere = Circumstances()
    net = known.network  # type: ignore[attr-defined]

    def build(evidence: list[object]) -> tuple[object, dict[str, list[float]]]:
        bn = gum.BayesNet()
        for c, p in net.prior.items():
            bn.add(gum.LabelizedVariable(c, "", 3))  # absent, at major level, at minor level
            bn.cpt(c).fillWith([1 - p, net.major[c], p - net.major[c]])
        soft: dict[str, list[float]] = {}
        for cell in evidence:
            percept, last = cell.percept, ""  # type: ignore[attr-defined]
            for n, c in enumerate(net.evokers(percept)):
                name = f"{percept}--{n}"
                bn.add(gum.LabelizedVariable(name, "", 2))
                bn.addArc(c, name)
                if last:
                    bn.addArc(last, name)
                for on in (0, 1, 2):
                    strength = arc_strength(net, nowhere, c, percept, minor=on == 2, plain=cell.plain) if on else 0.0  # type: ignore[attr-defined]
                    for before in (0, 1) if last else (0,):
                        quiet = (1 - strength) * (0 if before else 1)
                        where = {c: on, **({last: before} if last else {})}
                        bn.cpt(name)[where] = [quiet, 1 - quiet]
                last = name
            leak = other_cause(net, nowhere, percept, plain=cell.plain)  # type: ignore[attr-defined]
            off = (1 - leak) * cell.not_there + leak * cell.there  # type: ignore[attr-defined]
            scale = max(off, cell.there)  # type: ignore[attr-defined]
            soft[last] = [off / scale, cell.there / scale]  # type: ignore[attr-defined]
        return bn, soft

    def lazy(bn: object, soft: dict[str, list[float]]) -> dict[str, float]:
        engine = gum.LazyPropagation(bn)
        for name, values in soft.items():
            engine.addEvidence(name, values)
        engine.setTargets(set(net.prior))
        engine.makeInference()
        return {c: 1 - float(engine.posterior(c)[0]) for c in net.prior}

    ratios, worst = [], 0.0
    for evidence in records:
        bn, soft = build(evidence)
        theirs = median_ms(lambda bn=bn, soft=soft: lazy(bn, soft), 3)
        ours = median_ms(lambda evidence=evidence: Inference(net, Circumstances(), evidence), 3)  # type: ignore[arg-type]
        ratios.append(theirs / ours)
    rng = random.Random(2)
    for _ in range(draws):
        evidence = cells(rng.sample(percepts, rng.randint(4, 22)), rng)
        mine = Inference(net, Circumstances(), evidence).posterior  # type: ignore[arg-type]
        truth = lazy(*build(evidence))
        worst = max(worst, max(abs(mine[c] - truth[c]) for c in mine))
    row(f"class posteriors, pyAgrum LazyPropagation (split network) / ours, median of {len(ratios)} records", f"{statistics.median(ratios):.1f} × (least {min(ratios):.1f} ×)", "≥ 3 ×")
    row(f"  greatest difference on {draws} drawn records", f"{worst:.1e}", "≤ 1e-9")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="few runs, for a look")
    quick = parser.parse_args().quick
    print("| what | figure | aim |\n| --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        processes(3 if quick else 11, Path(folder))
    ontology(4 if quick else 20)
    inference(8 if quick else 60, 5 if quick else 200)
    row("peak memory of this run", f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB", "")


if __name__ == "__main__":
    main()
