"""Does reasoning beat a blunt statistic on a herb that neither has met?

Each described herb is left out; priors and strengths are made again without it; what its books say of its senses is the
record (book channel, standard list looked for), and what they say of its constituents, actions and cautions the truth.
It measures books against books: it says nothing about tongues, and nothing about whether a herb works.

    python benchmarks/leave_one_out.py [--quick] [--pictures]
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parent))

from rivals import RIVALS, tune
from scores import Score, area, areas, diagram, difference, first_right, first_three, score, skill_difference

from kgraph.claims import Ontology
from kgraph.reasoning.book import book_cells
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.fit import Descriptions, fitted_network
from kgraph.reasoning.herbs import documented_intensities, level_words
from kgraph.reasoning.inference import Inference, Question
from kgraph.reasoning.network import TEST, Network, build_network
from kgraph.session import load

Array = NDArray[np.float64]
GROUPS = 10
_INTENSITY = {"absent": -0.5, "weak": 0.6, "moderate": 0.8, "strong": 1.0}


@dataclass
class Task:
    """A question with its truth: H herbs by L labels, and what the network is asked for it."""

    name: str
    labels: list[str]
    truth: Array
    questions: list[Question]


@dataclass
class Bench:
    ontology: Ontology
    net: Network
    learnt_from: Descriptions
    herbs: list[str]
    plants: list[str]
    features: Array
    tasks: dict[str, Task]
    levels: Array  # all herbs of the ontology by classes: 2 major, 1 minor, 0 else
    row: dict[str, int]  # herb to its row in `levels`


@cache
def bench() -> Bench:
    """Everything that is the same for every left-out herb."""
    o = load().ontology
    net = build_network(o, words_alone=True)
    learnt_from = Descriptions(o, net)
    herbs = learnt_from.herbs
    every, classes = list(o.herbs), list(o.classes)
    levels = np.zeros((len(every), len(classes)))
    column = {c: k for k, c in enumerate(classes)}
    for i, herb in enumerate(every):
        for c, word in level_words(o, herb).items():
            levels[i, column[c]] = {"major": 2, "minor": 1}.get(word, 0)
    row = {herb: i for i, herb in enumerate(every)}
    mine = levels[[row[h] for h in herbs]]

    def held(members: Iterable[str], least: int) -> Array:
        found: Array = (mine[:, [column[c] for c in members]] >= least).any(axis=1).astype(float)
        return found

    tasks: dict[str, Task] = {}
    for least, part, word in ((2, (1.0, 0.0), "major"), (1, (1.0, 1.0), "major or minor")):
        families = o.families
        tasks[f"families, {word}"] = Task(f"families, {word}", list(families), np.stack([held(m, least) for m in families.values()], axis=1), [dict.fromkeys(m, part) for m in families.values()])
        tasks[f"classes, {word}"] = Task(f"classes, {word}", classes, np.stack([held([c], least) for c in classes], axis=1), [{c: part} for c in classes])
    actions = list(net.acts)
    said = {h: {c.object for c in o.said_of("acts_as", h)} for h in herbs}
    tasks["actions"] = Task("actions", actions, np.array([[float(a in said[h]) for a in actions] for h in herbs]), [{c: arc.strength for c, arc in net.acts[a].items()} for a in actions])
    carried: dict[str, set[str]] = {}
    for (caution, _), found in net.carriers.items():
        carried.setdefault(caution, set()).update(found)
    warned = {h: {c.object for c in o.said_of("warns_of", h)} for h in herbs}
    cautions = sorted(carried)
    tasks["cautions"] = Task("cautions", cautions, np.array([[float(c in warned[h]) for c in cautions] for h in herbs]), [dict.fromkeys(carried[c], 1.0) for c in cautions])
    return Bench(o, net, learnt_from, herbs, [o.herbs[h].family for h in herbs], _features(o, net, herbs), tasks, levels, row)


def _features(o: Ontology, net: Network, herbs: Sequence[str]) -> Array:
    """What the rivals see: documented intensities, a group as strong as the strongest of its kinds."""
    percepts = [p for p in net.other_cause if not p.startswith(TEST)]
    column = {p: k for k, p in enumerate(percepts)}
    group_of = {kind: g for g, kinds in net.groups.items() for kind in kinds}
    x = np.zeros((len(herbs), len(percepts)))
    for i, herb in enumerate(herbs):
        for percept, word in documented_intensities(o, herb).items():
            if percept in column:
                x[i, column[percept]] = _INTENSITY[word]
                if word != "absent" and group_of.get(percept) in column:
                    g = column[group_of[percept]]
                    x[i, g] = max(x[i, g], _INTENSITY[word])
    return x


# -- kgraph ----------------------------------------------------------------------------------------------------


def _without(net: Network, left_out: Sequence[str]) -> Network:
    """The network with priors counted without some herbs."""
    b = bench()
    keep = np.ones(len(b.levels), dtype=bool)
    keep[[b.row[h] for h in left_out]] = False
    seen = b.levels[keep]
    held, major = (seen >= 1).sum(axis=0), (seen >= 2).sum(axis=0)
    prior = dict(zip(b.ontology.classes, (held + 0.5) / (len(seen) + 1), strict=True))
    share = dict(zip(b.ontology.classes, (major + 0.5) / (held + 1), strict=True))
    return replace(net, prior={c: float(p) for c, p in prior.items()}, major={c: float(prior[c] * share[c]) for c in prior})


def _ours(left_out: Sequence[str], *, fitted: bool, sizes: tuple[float, float] = (8.0, 20.0)) -> list[Array]:
    """Probabilities for the left-out herbs, all tasks side by side."""
    b = bench()
    net = b.net
    if fitted:
        net = fitted_network(net, b.learnt_from.fit([h for h in b.herbs if h not in set(left_out)], size=sizes[0], other_size=sizes[1]))
    net = _without(net, left_out)
    questions = [q for task in b.tasks.values() for q in task.questions]
    found = []
    for herb in left_out:
        cells = book_cells(b.ontology, net, herb)
        found.append(Inference(net, Circumstances(), cells).posterior_any(questions)[0])
    return found


def _job(group: int) -> tuple[list[int], dict[str, Array]]:
    """One tenth of the herbs, each left out alone; what is tuned is tuned without the whole tenth."""
    b = bench()
    mine = list(range(group, len(b.herbs), GROUPS))
    others = [i for i in range(len(b.herbs)) if i % GROUPS != group]
    tuned = b.learnt_from.fit([b.herbs[i] for i in others])
    sizes = tuned.size, tuned.other_size
    found: dict[str, list[Array]] = {"kgraph": [], "strength words alone": []}
    for i in mine:
        found["kgraph"] += _ours([b.herbs[i]], fitted=True, sizes=sizes)
        found["strength words alone"] += _ours([b.herbs[i]], fitted=False)
    for name, (learner, settings) in RIVALS.items():
        parts = []
        for task in b.tasks.values():
            compared = task.name.startswith("families") or name in ("frequency", "nearest neighbours", "naive Bayes")
            if not compared or (QUICK and name == "boosted trees"):
                parts.append(np.full((len(mine), len(task.labels)), np.nan))
                continue
            setting = tune(learner, settings, b.features[others], task.truth[others])
            rows = []
            for i in mine:
                rest = np.arange(len(b.herbs)) != i
                rows.append(learner(b.features[rest], task.truth[rest], setting)(b.features[[i]])[0])
            parts.append(np.array(rows))
        found[name] = list(np.concatenate(parts, axis=1))
    return mine, {name: np.array(rows) for name, rows in found.items()}


def _plant_job(plant: str) -> tuple[list[int], dict[str, Array]]:
    """A whole plant family left out at once: ours and the regression."""
    b = bench()
    mine = [i for i, p in enumerate(b.plants) if p == plant]
    rest = np.array([p != plant for p in b.plants])
    task = b.tasks["families, major"]
    learner, _ = RIVALS["logistic regression"]
    theirs = learner(b.features[rest], task.truth[rest], 3.0)(b.features[mine])
    width = len(task.labels)
    return mine, {"kgraph": np.array(_ours([b.herbs[i] for i in mine], fitted=True))[:, :width], "logistic regression": theirs}


QUICK = False


def _gather(job: Callable[..., tuple[list[int], dict[str, Array]]], over: Sequence[object], label: str) -> dict[str, Array]:
    b = bench()
    whole: dict[str, Array] = {}
    with ProcessPoolExecutor(2) as pool:
        for done, (rows, found) in enumerate(pool.map(job, over), start=1):
            for name, values in found.items():
                whole.setdefault(name, np.full((len(b.herbs), values.shape[1]), np.nan))[rows] = values
            if sys.stderr.isatty():
                print(f"\r{label}: {done} of {len(over)}", end="" if done < len(over) else "\n", file=sys.stderr, flush=True)
    return whole


# -- report ----------------------------------------------------------------------------------------------------


def _ceiling() -> tuple[int, int, dict[str, int]]:
    """Pairs of herb and major family, those that no documented quality could lead to, and these by family."""
    b = bench()
    task = b.tasks["families, major"]
    pairs, without, by = 0, 0, {}
    for i, herb in enumerate(b.herbs):
        noticed = {p for p, word in documented_intensities(b.ontology, herb).items() if word != "absent"}
        noticed |= {g for g, kinds in b.net.groups.items() if noticed & set(kinds)}
        for k, family in enumerate(task.labels):
            if not task.truth[i, k]:
                continue
            pairs += 1
            held = [c for c in b.ontology.families[family] if b.levels[b.row[herb], list(b.ontology.classes).index(c)] >= 2]
            if not any(noticed & set(b.net.arcs[c]) for c in held):
                without += 1
                by[family] = by.get(family, 0) + 1
    return pairs, without, dict(sorted(by.items(), key=lambda item: (-item[1], item[0])))


def _line(name: str, s: Score) -> str:
    return f"| {name} | {s.recall:.3f} | {s.first:.3f} | {s.area:.3f} | {s.skill:+.3f} | {s.slope:.2f} | {s.intercept:+.2f} |"


def main() -> None:
    global QUICK
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="leave the boosted trees out")
    parser.add_argument("--pictures", action="store_true", help="write calibration.svg beside this file")
    asked = parser.parse_args()
    QUICK = asked.quick
    start = time.time()
    b = bench()
    found = _gather(_job, range(GROUPS), "left out, tenths of the herbs")
    print(f"{len(b.herbs)} described herbs of {len(b.ontology.herbs)}, each left out; books against books.\n")
    column = 0
    for task in b.tasks.values():
        here = slice(column, column + len(task.labels))
        column += len(task.labels)
        given = {name: values[:, here] for name, values in found.items() if not np.isnan(values[:, here]).any()}
        base = given["frequency"]
        print(f"### {task.name} ({len(task.labels)} labels, {int(task.truth.sum())} true)\n")
        print("| model | in the first three | first right | area | Brier skill | slope | intercept |\n| --- | --- | --- | --- | --- | --- | --- |")
        scores = {name: score(values, task.truth, base) for name, values in given.items()}
        for name, s in scores.items():
            print(_line(name, s))
        print("\n| kgraph less ... | in the first three | first right | area | Brier skill |\n| --- | --- | --- | --- | --- |")
        for name, values in given.items():
            if name != "kgraph":
                gaps = [difference(f(given["kgraph"], task.truth), f(values, task.truth)) for f in (first_three, first_right, areas)]
                gaps.append(skill_difference(given["kgraph"], values, task.truth, base))
                print(f"| {name} | " + " | ".join(f"{m:+.3f} ({low:+.3f} to {high:+.3f})" for m, low, high in gaps) + " |")
        print()
        if task.name == "families, major":
            _families(task, given)
            if asked.pictures:
                from picture import line_chart

                rows = [(p, share) for p, share, _ in diagram(given["kgraph"], task.truth)]
                text = line_chart("What was said and what was so", "probability given", "share that was so", {"kgraph": rows, "honest": [(0.0, 0.0), (1.0, 1.0)]})
                (Path(__file__).parent / "calibration.svg").write_text(text, encoding="utf-8")
            _plants(task)
    pairs, without, by = _ceiling()
    print(f"Ceiling: {without} of {pairs} pairs of herb and major family have no link from any documented quality ({without / pairs:.0%}): " + ", ".join(f"{f} {n}" for f, n in by.items()) + ".")
    print(f"{time.time() - start:.0f} s", file=sys.stderr)


def _families(task: Task, given: dict[str, Array]) -> None:
    print("Calibration of kgraph: " + "; ".join(f"said {p:.2f}, so {share:.2f} ({n})" for p, share, n in diagram(given["kgraph"], task.truth)) + ".\n")
    print("| family with at least ten herbs | herbs | area, kgraph | area, logistic regression |\n| --- | --- | --- | --- |")
    for k, family in enumerate(task.labels):
        if task.truth[:, k].sum() >= 10:
            ours, theirs = (area(given[name][:, k], task.truth[:, k]) for name in ("kgraph", "logistic regression"))
            print(f"| {bench().ontology.family_label(family)} | {int(task.truth[:, k].sum())} | {ours:.3f} | {theirs:.3f} |")
    print()


def _plants(task: Task) -> None:
    """Whole plant families left out: kin cannot help."""
    b = bench()
    plants = sorted(set(b.plants))
    found = _gather(_plant_job, plants, "left out, plant families")
    base = np.stack([(task.truth.sum(axis=0) - row + 0.5) / len(task.truth) for row in task.truth])
    print(f"Whole plant families left out ({len(plants)}):\n\n| model | in the first three | first right | area | Brier skill | slope | intercept |\n| --- | --- | --- | --- | --- | --- | --- |")
    for name, values in found.items():
        print(_line(name, score(values, task.truth, base)))
    m, low, high = difference(first_three(found["kgraph"], task.truth), first_three(found["logistic regression"], task.truth))
    print(f"\nkgraph less regression, in the first three: {m:+.3f} ({low:+.3f} to {high:+.3f}).\n")


if __name__ == "__main__":
    main()
