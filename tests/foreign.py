"""Random ontologies with invented words, and an oracle that works out every figure by enumeration.

The oracle shares no code with kgraph: it reads the *specification* from which the YAML was written, and adds up the
joint probability over classes, arcs and other causes, one state at a time.
"""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import dataclass, field
from pathlib import Path

import yaml

STRENGTHS = ("almost-always", "often", "sometimes", "rarely", "almost-never")
SEVERITIES = ("information", "care", "avoid")


class _NoAliases(yaml.SafeDumper):
    def ignore_aliases(self, data: object) -> bool:
        return True


def dump(data: object) -> str:
    """YAML without anchors, which the reader refuses."""
    return yaml.dump(data, Dumper=_NoAliases, sort_keys=False)


@dataclass
class Spec:
    """A small world: everything that its YAML says, as plain dictionaries."""

    words: dict[str, float]
    effects: dict[str, float]
    reports: dict[str, tuple[float, float]]
    rho: float
    silent_rho: float
    default_other: float
    other: dict[str, float]
    families: dict[str, list[str]]
    alone: list[str]
    group: str
    kinds: list[str]
    percepts: list[str]
    evokes: dict[tuple[str, str], str]
    acts: dict[tuple[str, str], str]
    warns: dict[tuple[str, str], str]
    priors: dict[str, int]
    herbs: int
    fakes: dict[str, str] = field(default_factory=dict)
    dulls: dict[str, str] = field(default_factory=dict)
    draws: dict[str, str] = field(default_factory=dict)
    false_reports: dict[str, float] = field(default_factory=dict)
    majors: dict[str, int] | None = None  # how many of a class's herbs hold it at major level; None: levels are not told apart
    minor_plain: float = 0.1
    major_plain: float = 0.8
    plain_other: float = 0.3

    def levels(self, c: str) -> dict[str, float]:
        """Level to probability, "" for absent."""
        p = self.prior(c)
        if self.majors is None:
            return {"": 1 - p, "major": p}
        major = p * (self.majors.get(c, 0) + 0.5) / (self.priors.get(c, 0) + 1)
        return {"": 1 - p, "major": major, "minor": p - major}

    def says_plain(self, state: str) -> bool:
        return self.majors is not None and state in ("strong", "moderate")

    def report(self, percept: str, state: str) -> tuple[float, float]:
        there, not_there = self.reports[state]
        factor = self.false_reports.get(percept, 1)
        return there, (1 - (1 - not_there) * factor if state in ("absent", "unnoticed") else not_there * factor)

    @property
    def classes(self) -> list[str]:
        return [c for members in self.families.values() for c in members] + self.alone

    def strength(self, word: str) -> float:
        return 0.0 if word == "almost-never" else self.words[word]

    def prior(self, c: str) -> float:
        return (self.priors.get(c, 0) + 0.5) / (self.herbs + 1)

    def leak(self, percept: str, conditions: bool, plain: bool = False) -> float:
        quiet = 1 - self.other.get(percept, self.default_other) * (self.plain_other if plain else 1)
        if conditions and percept in self.fakes:
            quiet *= 1 - self.strength(self.fakes[percept])
        return 1 - quiet

    def arc(self, c: str, percept: str, conditions: bool, level: str = "major", plain: bool = False) -> float:
        s = self.strength(self.evokes.get((c, percept), "almost-never"))
        if conditions:
            s *= self.effects[self.draws[c]] if c in self.draws else 1.0
            s *= self.effects[self.dulls[percept]] if percept in self.dulls else 1.0
        if level == "minor":
            s *= self.minor_plain if plain else 0.5
        elif plain:
            s *= self.major_plain
        return min(s, 0.999)


def random_spec(seed: int) -> Spec:
    """A world of at most four classes, four percepts and eight arcs."""
    rng = random.Random(seed)

    def falling(count: int, low: float, high: float) -> list[float]:
        return sorted((round(rng.uniform(low, high), 3) for _ in range(count)), reverse=True)

    reported = falling(3, 0.5, 1.0)
    noticed = round(rng.uniform(0.5, 0.97), 3)
    shares = [x / sum(reported) * noticed for x in reported]
    false_alarm = round(rng.uniform(0.01, 0.1), 3)
    false_shares = [0.1 * false_alarm, 0.25 * false_alarm, 0.65 * false_alarm]
    shares.sort(reverse=True)
    reports = dict(zip(("strong", "moderate", "weak"), zip(shares, false_shares, strict=True), strict=True))
    reports["absent"] = (1 - sum(shares), 1 - sum(false_shares))
    low = reports["absent"][0] / reports["absent"][1]
    ratio = rng.uniform(low, 1.0)
    reports["unnoticed"] = (0.9 * ratio, 0.9)
    classes = ["zork", "wug", "plon", "dax"][: rng.randint(2, 4)]
    kinds = ["frim", "sneb"][: rng.randint(1, 2)]
    percepts = ["blim", "gorp"][: rng.randint(1, 2)]
    targets = [*percepts, *kinds]
    pairs = [(c, p) for c in classes for p in targets]
    rng.shuffle(pairs)
    evokes = {pair: rng.choice(STRENGTHS) for pair in pairs[: rng.randint(3, min(8, len(pairs)))]}
    split = rng.randint(1, len(classes))
    families = {"fam-one": classes[:split]}
    spec = Spec(
        words=dict(zip(STRENGTHS, falling(5, 0.01, 0.98), strict=True)),
        effects={"much-less": 0.2, "less": 0.45, "slightly-less": 0.8, "more": 1.4},
        reports=reports, rho=round(rng.uniform(0, 1), 2), silent_rho=round(rng.uniform(0, 1), 2),
        default_other=round(rng.uniform(0, 0.2), 3), other={rng.choice(targets): round(rng.uniform(0, 0.3), 3)},
        families=families, alone=classes[split:], group="zemm", kinds=kinds, percepts=percepts, evokes=evokes,
        acts={(c, a): rng.choice(STRENGTHS) for c in classes for a in ("quell", "jive") if rng.random() < 0.7},
        warns={(c, w): rng.choice(SEVERITIES) for c in classes for w in ("ouch", "hush") if rng.random() < 0.6},
        priors={c: rng.randint(0, 9) for c in classes if rng.random() < 0.8}, herbs=10,
        fakes={rng.choice(targets): rng.choice(STRENGTHS[:4])} if rng.random() < 0.7 else {},
        dulls={rng.choice(targets): rng.choice(("less", "more"))} if rng.random() < 0.7 else {},
        draws={rng.choice(classes): rng.choice(("much-less", "more"))} if rng.random() < 0.7 else {},
        false_reports={rng.choice(targets): rng.choice((0.2, 0.6))} if rng.random() < 0.7 else {},
    )
    if seed % 2:
        spec.majors = {c: rng.randint(0, n) for c, n in spec.priors.items()}
        spec.minor_plain, spec.major_plain, spec.plain_other = round(rng.uniform(0, 0.5), 2), round(rng.uniform(0.3, 1), 2), round(rng.uniform(0, 1), 2)
        if not spec.majors:
            spec.majors = None
    return spec


def write(spec: Spec, folder: Path, rename: dict[str, str] | None = None, extra: dict | None = None) -> Path:
    """The world as YAML that replaces the shipped ontology; `rename` maps ids to other ids."""
    n = (rename or {}).get
    r = lambda id: n(id, id)  # noqa: E731
    who = {"common_practice": True}
    said = {"sources": [{"id": "tome", "where": "leaf 3", "read": "2026-01-02"}]}
    label = lambda id: f"label of {r(id)}"  # noqa: E731
    data: dict = {
        "ontology": {"id": "foreign", "version": "1", "licence": "CC0", "extends": "nothing"},
        "sources": [{"id": "tome", "grade": "B", "author": "Nobody N", "title": "Tome of invented things", "year": 1900}],
        "qualities": [
            *({"id": r(p), "label": label(p), "sense": "taste", "kind": "percept"} for p in spec.percepts),
            {"id": r("blim-word"), "label": label("blim-word"), "sense": "taste", "kind": "word", "of": r("blim")},
            {"id": r(spec.group), "label": label(spec.group), "sense": "aroma", "kind": "group"},
            *({"id": r(k), "label": label(k), "sense": "aroma", "kind": "kind", "of": r(spec.group)} for k in spec.kinds),
            {"id": r("void"), "label": label("void"), "sense": "aroma", "kind": "absence", "absence_of": [r(spec.group)]},
        ],
        "families": [{"id": r(f), "label": label(f)} for f in spec.families],
        "classes": [
            *({"id": r(c), "label": label(c), "family": r(f)} for f, members in spec.families.items() for c in members),
            *({"id": r(c), "label": label(c)} for c in spec.alone),
        ],
        "actions": [{"id": r(a), "label": label(a)} for a in ("quell", "jive")],
        "cautions": [{"id": r(w), "label": label(w)} for w in ("ouch", "hush")],
        "uses": [{"id": r("chore"), "label": label("chore")}],
        "conditions": [{"id": r("murk"), "label": label("murk"), "kind": "preparation", "trigger": {"field": "preparation.steep_minutes", "at_least": 10}}],
        "evokes": [{"class": r(c), "quality": r(p), "strength": w, **said} for (c, p), w in spec.evokes.items()],
        "acts_as": [{"class": r(c), "action": r(a), "strength": w, "basis": "tradition", **said} for (c, a), w in spec.acts.items()],
        "warns_of": [{"class": r(c), "caution": r(w), "severity": s, "preparation": "any", "detail": f"detail {r(c)} {r(w)}", **said} for (c, w), s in spec.warns.items()],
        "used_for": [{"action": r("quell"), "use": r("chore"), "status": "traditional", **said}],
        "fakes": [{"condition": r("murk"), "quality": r(p), "strength": w, **said} for p, w in spec.fakes.items()],
        "dulls": [{"condition": r("murk"), "quality": r(p), "effect": w, **said} for p, w in spec.dulls.items()],
        "draws": [{"condition": r("murk"), "class": r(c), "effect": w, **said} for c, w in spec.draws.items()],
        "strength_words": [{"word": w, "value": v, **who} for w, v in spec.words.items()],
        "effect_words": [{"word": w, "factor": v, **who} for w, v in spec.effects.items()],
        "levels": [
            {"level": w, "factor": v, **({"plain": plain} if spec.majors is not None else {}), **who}
            for w, v, plain in (("major", 1, spec.major_plain), ("minor", 0.5, spec.minor_plain), ("trace", 0.1, 0.01))
        ],
        "report_tables": [
            {"channel": "taster", "state": s, "if_there": a, "if_not_there": b, **({"asks": "plain"} if spec.says_plain(s) else {}), **who}
            for s, (a, b) in spec.reports.items()
        ],
        "constants": [{"id": i, "value": v, **who} for i, v in (("other-causes", spec.default_other), ("taster-correlation", spec.rho), ("unnoticed-correlation", spec.silent_rho), *([("plain-other-causes", spec.plain_other)] if spec.majors is not None else []))],
        "other_causes": [{"quality": r(p), "value": v, **who} for p, v in spec.other.items()],
        "false_reports": [{"quality": r(p), "factor": v, **who} for p, v in spec.false_reports.items()],
        "evidence_words": [{"word": w, "at_least_db": v, **who} for w, v in (("feebly", 1), ("roundly", 6))],
        "standard_list": {"version": 1, "qualities": [r(p) for p in (*spec.percepts, *spec.kinds)], **who},
        "priors": {"version": 1, "herbs": spec.herbs, "counts": [{"class": r(c), "herbs": v, **({"major": spec.majors[c]} if spec.majors is not None else {})} for c, v in spec.priors.items()]},
    }
    for section, rows in (extra or {}).items():
        data[section] = rows if isinstance(rows, dict) else [*data.get(section, []), *rows]
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "world.yaml").write_text(dump({k: v for k, v in data.items() if v}), encoding="utf-8")
    return folder


def herb_file(folder: Path, id: str, **fields: object) -> None:
    """Add a herb to a written world."""
    herb = {"id": id, "name": f"Planta {id}", "family": "Inventaceae", "part": "leaf", "common_names": [f"{id} leaf"], "taste_safety": "ok", **fields}
    (folder / f"{id}.yaml").write_text(dump({"herb": herb}), encoding="utf-8")


@dataclass
class Tasting:
    """What one or more tasters reported: percept to state, for each taster; and whether the condition held."""

    cells: list[dict[str, str]]
    conditions: bool = False


def random_tasting(spec: Spec, seed: int) -> Tasting:
    rng = random.Random(seed * 7 + 1)
    targets = [*spec.percepts, *spec.kinds]
    tasters = []
    for _ in range(rng.choice((1, 1, 1, 2))):
        cells = {p: rng.choice(("strong", "moderate", "weak", "absent", "unnoticed")) for p in targets if rng.random() < 0.75}
        if rng.random() < 0.5:
            cells[spec.group] = rng.choice(("strong", "weak", "absent"))
        if not any(s != "unnoticed" for s in cells.values()):
            cells["blim"] = "moderate"
        tasters.append(cells)
    return Tasting(tasters, rng.random() < 0.6)


def record_data(spec: Spec, tasting: Tasting, rename: dict[str, str] | None = None) -> dict:
    """The tasting as a record of format 1."""
    r = lambda id: (rename or {}).get(id, id)  # noqa: E731
    names = [f"T{i}" for i in range(len(tasting.cells))]
    data: dict = {"record": 1, "tasters": names}
    if tasting.conditions:
        data["preparation"] = {"steep_minutes": 12}
    data["findings"] = [
        {"taster": t, "quality": r(p), "strength": s}
        for t, cells in zip(names, tasting.cells, strict=True) for p, s in cells.items() if s != "unnoticed"
    ]
    data["looked_for"] = {t: [r(p) for p, s in cells.items() if s == "unnoticed"] for t, cells in zip(names, tasting.cells, strict=True)}
    data["looked_for"] = {t: one for t, one in data["looked_for"].items() if one}
    if not data["looked_for"]:
        del data["looked_for"]
    return data


def pooled(spec: Spec, tasting: Tasting) -> tuple[dict[str, tuple[float, float]], dict[str, bool]]:
    """Percept to the likelihood of all its reports (there, not there), by the written rules (Kish, design effect); and to whether it is asked to be plain."""
    logs: dict[str, list[float]] = {}
    for_it: dict[str, float] = {}
    for_plain: dict[str, float] = {}
    order = ("absent", "weak", "moderate", "strong")
    for given in tasting.cells:
        cells = dict(given)
        noticed = max((order.index(cells[k]) for k in spec.kinds if cells.get(k) in order), default=0)
        # a kind noticed as strongly implies its group, for that taster
        if noticed and spec.group in cells and (cells[spec.group] not in order or order.index(cells[spec.group]) <= noticed):
            del cells[spec.group]
        silent = sum(s == "unnoticed" for s in cells.values())
        for p, s in cells.items():
            there, not_there = spec.report(p, s)
            log = math.log(there / not_there)
            if log > 0:
                for_it[p] = for_it.get(p, 0.0) + log
                for_plain[p] = for_plain.get(p, 0.0) + (log if spec.says_plain(s) else 0.0)
            logs.setdefault(p, []).append(log / (1 + (silent - 1) * spec.silent_rho) if s == "unnoticed" else log)
    pooled: dict[str, tuple[float, float]] = {}
    for p, values in logs.items():
        n = len(values)
        pooled[p] = (math.exp(sum(values) / n * (n / (1 + (n - 1) * spec.rho))), 1.0)
    plain = {p: sum(values) > 0 and for_plain.get(p, 0.0) > for_it.get(p, 0.0) / 2 for p, values in logs.items()}
    if spec.group in plain and len({plain[p] for p in (spec.group, *spec.kinds) if p in plain}) > 1:  # one threshold for a group and its kinds
        plain.update({p: False for p in (spec.group, *spec.kinds) if p in plain})
    return pooled, plain


@dataclass
class Oracle:
    """Everything by enumeration."""

    classes: dict[str, float]
    families: dict[str, float]
    actions: dict[str, float]
    cautions: dict[tuple[str, str], float]
    arcs: dict[tuple[str, str], float]
    unaccounted: dict[str, float]


def enumerate_world(spec: Spec, tasting: Tasting) -> Oracle:
    """Add up the joint probability of classes, arcs, other causes and reports."""
    cond = tasting.conditions
    likelihood, plain = pooled(spec, tasting)
    group_asked = spec.group in likelihood
    if group_asked:
        plain = dict.fromkeys(spec.kinds, plain[spec.group]) | plain
    targets = [p for p in (*spec.percepts, *spec.kinds) if p in likelihood or (group_asked and p in spec.kinds)]
    arcs = [(c, p, spec.arc(c, p, cond)) for c in spec.classes for p in targets if spec.arc(c, p, cond) > 0]
    leaks = [(p, spec.leak(p, cond, plain[p])) for p in (*targets, *([spec.group] if group_asked else []))]
    families = {**spec.families, **{c: [c] for c in spec.alone}}
    total = 0.0
    cls = dict.fromkeys(spec.classes, 0.0)
    fam = dict.fromkeys(families, 0.0)
    act = dict.fromkeys(("quell", "jive"), 0.0)
    carriers: dict[tuple[str, str], list[str]] = {}
    for (c, w), s in spec.warns.items():
        carriers.setdefault((w, s), []).append(c)
    warn = dict.fromkeys(carriers, 0.0)
    fired = {(c, p): 0.0 for c, p, _ in arcs}
    silent = dict.fromkeys([*targets, spec.group], 0.0)
    for state in itertools.product(*(spec.levels(c) for c in spec.classes)):
        level = dict(zip(spec.classes, state, strict=True))
        present = {c: int(bool(at)) for c, at in level.items()}
        weight = math.prod(spec.levels(c)[at] for c, at in level.items())
        live = [(c, p, spec.arc(c, p, cond, level[c], plain[p])) for c, p, _ in arcs if present[c]]
        passive = {a: 1 - math.prod(1 - spec.strength(spec.acts.get((c, a), "almost-never")) for c in spec.classes if present[c]) for a in act}
        for fires in itertools.product((0, 1), repeat=len(live)):
            joint = weight * math.prod(s if on else 1 - s for on, (_, _, s) in zip(fires, live, strict=True))
            if joint == 0:
                continue
            evoked = {p for on, (_, p, _) in zip(fires, live, strict=True) if on}
            for others in itertools.product((0, 1), repeat=len(leaks)):
                full = joint * math.prod(v if on else 1 - v for on, (_, v) in zip(others, leaks, strict=True))
                if full == 0:
                    continue
                there = evoked | {p for on, (p, _) in zip(others, leaks, strict=True) if on}
                if there & set(spec.kinds):
                    there = there | {spec.group}
                full *= math.prod(a if p in there else b for p, (a, b) in likelihood.items())
                total += full
                for c, on in present.items():
                    cls[c] += full * on
                for f, members in families.items():
                    fam[f] += full * any(present[m] for m in members)
                for a, p in passive.items():
                    act[a] += full * p
                for key, members in carriers.items():
                    warn[key] += full * any(present[m] for m in members)
                for on, (c, p, _) in zip(fires, live, strict=True):
                    fired[(c, p)] += full * on
                for p in silent:
                    mine = {p, *spec.kinds} if p == spec.group else {p}
                    silent[p] += full * (not evoked & mine)
    share = lambda d: {k: v / total for k, v in d.items()}  # noqa: E731
    return Oracle(share(cls), share(fam), share(act), share(warn), share(fired), share(silent))
