"""Many records at once: records with the same sheet share one plan and one pass, each a row with its own reports.

What comes out is short: the first families and actions, every caution to avoid, poisons, signs to stop. It equals what
:func:`kgraph.reasoning.asking.ask` says of each record.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np

from kgraph.claims import Ontology
from kgraph.reasoning import heed
from kgraph.reasoning.answer import NOTICE, as_plain
from kgraph.reasoning.circumstances import Circumstances, circumstances_of
from kgraph.reasoning.draws import DrawnElimination, DrawnWeights
from kgraph.reasoning.elimination import Array, Elimination
from kgraph.reasoning.evidence import Cell, cells_of
from kgraph.reasoning.heed import NEVER, POISON_DB, POISON_POSTERIOR, RISEN_BY, RISEN_DB
from kgraph.reasoning.inference import pose
from kgraph.reasoning.network import TEST, Network
from kgraph.reasoning.plan import TooWide
from kgraph.reasoning.weights import decibans, firm, standing_of
from kgraph.tasting import Record

SHOWN = 3
#: Records worked on at once: memory does not grow with their number.
AT_ONCE = 64


class Short(NamedTuple):
    """A family or action that the tasting makes likelier."""

    id: str
    label: str
    prior: float
    posterior: float
    weight_db: float


class Brief(NamedTuple):
    """What is said of one of many records."""

    record: str
    code: str
    herb: str
    taste_safety: str
    stop_signs: tuple[str, ...]
    emergencies: tuple[str, ...]
    families: tuple[Short, ...]
    actions: tuple[Short, ...]
    avoid: tuple[str, ...]
    label_avoid: tuple[str, ...]
    left_out: tuple[str, ...]
    notice: str = NOTICE

    def as_dict(self) -> dict[str, Any]:
        """Plain data; `answer` names the format."""
        data: dict[str, Any] = as_plain(self)
        return {"answer": "ask-brief", "version": 1, **data}


class Sheet:
    """Records with the same qualities in them, made under the same conditions: one plan, and a row a record.

    Raises:
        TooWide: as :class:`kgraph.reasoning.plan.Plan`.
    """

    def __init__(self, net: Network, circumstances: Circumstances, percepts: Sequence[str]) -> None:
        self.net, self.circumstances, self.percepts = net, circumstances, tuple(percepts)
        faint, plain = ([Cell(p, "weak", 1.0, 1.0, (), plain=plain) for p in percepts] for plain in (False, True))
        self.posed, other = pose(net, circumstances, faint), pose(net, circumstances, plain)
        self.engine = DrawnElimination(Elimination(self.posed.nodes, self.posed.bits))
        self.index = {id: i for i, id in enumerate(self.posed.classes)}
        keys = [(self.posed.classes[c], self.percepts[bit]) for c, bit in self.engine.column]
        self._bit = np.array([bit for _, bit in self.engine.column], dtype=int)
        self._strengths = np.array([[p.strengths.get(key, 0.0) for key in keys] for p in (self.posed, other)])
        self._faint = np.array([[p.faint.get(key, 0.0) for key in keys] for p in (self.posed, other)])
        self._other = np.array([[bit.other for bit in p.bits] for p in (self.posed, other)])
        self._present = np.array([node.prior for node in self.posed.nodes])
        self._minor = np.array([node.minor for node in self.posed.nodes])

    def weights(self, rows: Sequence[Sequence[Cell]]) -> DrawnWeights:
        """The weights of records, each with its cells in the order of `percepts`."""
        shape = (len(rows), len(self.percepts))
        there = np.array([[c.there for c in cells] for cells in rows]).reshape(shape)
        not_there = np.array([[c.not_there for c in cells] for cells in rows]).reshape(shape)
        plain = np.array([[c.plain for c in cells] for cells in rows], dtype=bool).reshape(shape)
        asked = plain[:, self._bit] if len(self._bit) else np.zeros((len(rows), 0), dtype=bool)
        other = np.where(plain, self._other[1], self._other[0])
        present, minor = np.tile(self._present, (len(rows), 1)), np.tile(self._minor, (len(rows), 1))
        return DrawnWeights(
            1 - present - minor, present, minor, (1 - other) * not_there + other * there, there, not_there,
            np.where(asked, self._strengths[1], self._strengths[0]), np.where(asked, self._faint[1], self._faint[0]), other,
        )

    def any_of(self, w: DrawnWeights, total: Array, parts: Array) -> Array:
        """P(any class takes part | reports) for questions given as shares of all classes: parts (Q, classes of the network), result (R, Q)."""
        inside = [i for i, id in enumerate(self.net.prior) if id in self.index]
        outside = [i for i, id in enumerate(self.net.prior) if id not in self.index]
        order = [self.index[id] for id in self.net.prior if id in self.index]
        priors = np.array(list(self.net.prior.values()))
        beyond = np.prod(1 - parts[:, outside] * priors[outside], axis=1)
        kept = np.ones((len(parts), len(self.posed.classes)))
        kept[:, order] = 1 - parts[:, inside]
        rows, questions = len(w), len(parts)

        def spread(values: Array) -> Array:
            return np.repeat(values, questions, axis=0)

        asked = DrawnWeights(
            spread(w.absent), (w.present[:, None, :] * kept).reshape(rows * questions, -1), (w.minor[:, None, :] * kept).reshape(rows * questions, -1),
            *(spread(v) for v in (w.off, w.on, w.not_there, w.strengths, w.faint, w.other)),
        )
        none = self.engine.totals(asked).reshape(rows, questions) / total[:, None] * beyond
        found: Array = np.clip(1 - none, 0.0, 1.0)
        return found


class Clerk:
    """Briefs of records; compiled once for an ontology."""

    def __init__(self, ontology: Ontology, net: Network) -> None:
        self.ontology, self.net = ontology, net
        self.classes = {id: i for i, id in enumerate(net.prior)}
        self.priors = np.array(list(net.prior.values()))
        self.families, self.actions = list(ontology.families), list(net.acts)
        self.avoid = [key for key in sorted(net.carriers) if key[1] == "avoid"]
        self.carriers = [np.array([self.classes[id] for id in net.carriers[key]]) for key in self.avoid]
        shares = [dict.fromkeys(members, 1.0) for members in ontology.families.values()]
        shares += [{c: arc.strength for c, arc in net.acts[a].items()} for a in self.actions]
        shares += [dict.fromkeys(net.carriers[key], 1.0) for key in self.avoid]
        self.parts = np.zeros((len(shares), len(self.classes)))
        for row, members in enumerate(shares):
            for id, part in members.items():
                self.parts[row, self.classes[id]] = part
        self.before = 1 - np.prod(1 - self.parts * self.priors, axis=1)
        # a question about one class with a share of 1 is that class's own marginal
        self._single = {row: int(parts.argmax()) for row, parts in enumerate(self.parts) if parts.sum() == 1.0 == parts.max()}
        self._wide = [row for row in range(len(shares)) if row not in self._single]

    def briefs(self, records: Sequence[tuple[str, Record]]) -> Iterator[Brief]:
        """Briefs in the order of the records."""
        found: dict[int, Brief] = {}
        for sheet, numbers, cells in self._sheets([record for _, record in records]):
            for start in range(0, len(numbers), AT_ONCE):
                some = slice(start, start + AT_ONCE)
                for number, brief in zip(numbers[some], self._some(sheet, cells[some], [records[n] for n in numbers[some]]), strict=True):
                    found[number] = brief
        yield from (found[i] for i in range(len(records)))

    def totals(self, records: Sequence[Record]) -> list[tuple[Circumstances, list[Cell], float]]:
        """For each record its circumstances, its cells that count, and P(reports) of the generic network."""
        found: dict[int, tuple[Circumstances, list[Cell], float]] = {}
        for sheet, numbers, cells in self._sheets(records):
            kept = set(sheet.percepts)
            rows = [[c for c in row if c.percept in kept] for row in cells]
            for start in range(0, len(numbers), AT_ONCE):
                some = slice(start, start + AT_ONCE)
                for number, row, total in zip(numbers[some], rows[some], sheet.engine.totals(sheet.weights(rows[some])), strict=True):
                    found[number] = (sheet.circumstances, row, float(total))
        return [found[i] for i in range(len(records))]

    def _sheets(self, records: Sequence[Record]) -> Iterator[tuple[Sheet, list[int], list[list[Cell]]]]:
        """(sheet, numbers of the records on it, their cells): records are on one sheet where qualities and conditions are the same."""
        groups: dict[Any, tuple[Circumstances, list[int], list[list[Cell]]]] = {}
        for number, record in enumerate(records):
            circumstances = circumstances_of(self.ontology, record)
            cells = sorted(cells_of(self.ontology, self.net, record, circumstances), key=lambda c: c.percept)
            key = (tuple(c.percept for c in cells), circumstances.effects)
            _, numbers, rows = groups.setdefault(key, (circumstances, [], []))
            numbers.append(number)
            rows.append(cells)
        for (percepts, _), (circumstances, numbers, rows) in groups.items():
            try:
                yield Sheet(self.net, circumstances, percepts), numbers, rows
            except TooWide:
                for number, cells in zip(numbers, rows, strict=True):
                    yield self._narrowed(circumstances, cells), [number], [cells]

    def _narrowed(self, circumstances: Circumstances, cells: list[Cell]) -> Sheet:
        """A sheet without the cells that say least, as for a single record."""
        left = list(cells)
        while True:
            try:
                return Sheet(self.net, circumstances, [c.percept for c in left])
            except TooWide:
                weakest = min(left, key=lambda c: (abs(c.log_ratio), c.percept))
                left = [c for c in left if c is not weakest]

    def _some(self, sheet: Sheet, cells: Sequence[list[Cell]], records: Sequence[tuple[str, Record]]) -> list[Brief]:
        kept = set(sheet.percepts)
        rows = [[c for c in row if c.percept in kept] for row in cells]
        w = sheet.weights(rows)
        total, present, fired = sheet.engine.marginals_of(w)
        after = np.tile(self.priors, (len(rows), 1))
        for id, number in sheet.index.items():
            after[:, self.classes[id]] = present[:, number] / total
        answers = np.empty((len(rows), len(self.parts)))
        for row, cls in self._single.items():
            answers[:, row] = after[:, cls]
        answers[:, self._wide] = sheet.any_of(w, total, self.parts[self._wide])
        links = [(sheet.posed.classes[c], sheet.percepts[bit], mass / total) for (c, bit), mass in fired.items()]
        return [
            self._brief(name, record, row, answers[r], after[r], [(c, p, float(mass[r])) for c, p, mass in links], [c.percept for c in all_cells if c.percept not in kept])
            for r, ((name, record), row, all_cells) in enumerate(zip(records, rows, cells, strict=True))
        ]

    def _brief(self, name: str, record: Record, cells: list[Cell], answers: Array, after: Array, links: list[tuple[str, str, float]], left_out: list[str]) -> Brief:
        o = self.ontology
        reported = {c.percept for c in cells if c.speaks_for}
        links = [link for link in links if link[1] in reported]
        first = len(self.families)
        families = self._risen(self.families, answers[:first], self.before[:first])
        actions = self._risen(self.actions, answers[first : first + len(self.actions)], self.before[first : first + len(self.actions)])
        shown = {cls for f in families if (cls := _strongest(links, dict.fromkeys(o.families[f.id], 1.0)))}
        shown |= {cls for a in actions if (cls := _strongest(links, {c: arc.strength for c, arc in self.net.acts[a.id].items()}))}
        herbs = record.sample.herbs or tuple(filter(None, [record.sample.herb]))
        label, heeds = heed.label_of_sample(o, record.sample, sealed=False)
        never = self.net.carriers.get(NEVER, {})
        poisons = [id for id in never if after[self.classes[id]] >= POISON_POSTERIOR and decibans(self.net.prior[id], float(after[self.classes[id]])) >= POISON_DB]
        return Brief(
            name, record.sample.code, "; ".join(herbs), label.taste_safety,
            tuple(dict.fromkeys(o.label("quality", f.quality) for f in record.findings if o.qualities[f.quality].kind == "stop" and f.strength > 0)),
            tuple(o.label("class", id) for id in sorted(poisons, key=lambda id: (-firm(float(after[self.classes[id]])), id))),
            tuple(f._replace(label=o.family_label(f.id)) for f in families), tuple(a._replace(label=o.label("action", a.id)) for a in actions),
            self._avoid(answers[first + len(self.actions) :], after, shown),
            tuple(dict.fromkeys(h.label for h in heeds if h.severity == "avoid")),
            tuple(left_out),
        )

    @staticmethod
    def _risen(ids: Sequence[str], after: Array, before: Array) -> list[Short]:
        found = []
        for i in np.argsort(before - after, kind="stable")[: 4 * SHOWN]:
            prior, posterior = float(before[i]), float(after[i])
            weight = decibans(prior, posterior)
            if standing_of(prior, posterior, weight) == "risen":
                found.append(Short(ids[i], "", prior, posterior, weight))
        return sorted(found, key=lambda s: (-firm(s.posterior - s.prior), s.id))[:SHOWN]

    def _avoid(self, answers: Array, after: Array, shown: set[str]) -> tuple[str, ...]:
        """Labels of the cautions to avoid that this tasting raises, by the rule of :func:`kgraph.reasoning.heed.heed_of_tasting`."""
        rise = after - self.priors
        alone = {i for i in np.flatnonzero(rise >= RISEN_BY) if decibans(float(self.priors[i]), float(after[i])) >= RISEN_DB}
        on_path = {self.classes[id] for id in shown}
        labels = []
        start = len(self.before) - len(self.avoid)
        for k, ((caution, _), classes) in enumerate(zip(self.avoid, self.carriers, strict=True)):
            prior, posterior = float(self.before[start + k]), float(answers[k])
            risen = posterior - prior >= RISEN_BY and decibans(prior, posterior) >= RISEN_DB
            if risen or any(i in alone or i in on_path for i in classes):
                labels.append(self.ontology.label("caution", caution))
        return tuple(labels)


def _strongest(links: Sequence[tuple[str, str, float]], parts: dict[str, float]) -> str:
    """The class on the path that is shown: what the senses say goes first, then the likeliest."""
    paths = [(percept.startswith(TEST), -firm(mass * parts[cls]), percept, cls) for cls, percept, mass in links if cls in parts]
    return min(paths)[3] if paths else ""
