"""Several tasters of one sample: where they agree and part, who stands apart, and what they say together."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from kgraph.claims import Ontology
from kgraph.reasoning.agreement import Array, Coefficient, Triangle, fleiss_kappa, kendall_w, krippendorff_alpha, with_interval
from kgraph.reasoning.answer import NOTICE, Answer, as_plain
from kgraph.tasting import Finding, Record, Taster
from kgraph.tasting.record import ANONYMOUS
from kgraph.yamlio import InputError, Place

#: A taster without whom alpha rises by this much, and who differs from most of the others on so many qualities, stands apart.
APART, ALONE = 0.1, 2
#: Shares of the tasters asked that are told as "all", "most", "few".
_MOST, _FEW = 0.6, 0.4


class Row(NamedTuple):
    """One quality: each taster's report (0 absent or not mentioned, 1 weak to 3 strong, None not asked), how many noticed it of those asked, and a word."""

    quality: str
    label: str
    sense: str
    reports: tuple[int | None, ...]
    noticed: int
    asked: int
    word: str


class Apart(NamedTuple):
    """A taster: alpha of the panel without this one, and by how much it rises."""

    taster: str
    without: float | None
    rise: float
    apart: bool


class Panel(NamedTuple):
    """The report on a panel."""

    ontology: dict[str, str]
    sample: str
    herb: str
    tasters: tuple[str, ...]
    rows: tuple[Row, ...]
    coefficients: tuple[Coefficient, ...]
    apart: tuple[Apart, ...]
    misses: tuple[tuple[str, str], ...]
    triangle: Triangle | None
    effective: float
    families: tuple[tuple[str, str, float, float], ...]
    avoid: tuple[str, ...]
    stops: tuple[str, ...]
    remarks: tuple[str, ...]
    notice: str = NOTICE

    def as_dict(self) -> dict[str, Any]:
        """Plain data; `answer` names the format."""
        return {"answer": "panel", "version": 1, **as_plain(self)}


def together(records: Sequence[Record]) -> Record:
    """One record of all tasters.

    Raises:
        InputError: different samples or labels, a taster twice, one taster only.
    """
    first = records[0]
    tasters: dict[str, Taster] = {}
    findings: list[Finding] = []
    looked_for: dict[str, tuple[str, ...]] = {}
    for number, record in enumerate(records, start=1):
        place = Place(record.file or f"record {number}")
        for what, mine, theirs in (("sample", record.sample.code, first.sample.code), ("herb", record.sample.herbs or record.sample.herb, first.sample.herbs or first.sample.herb)):
            if mine != theirs:
                raise InputError.single("other-sample", f"this record is of {what} `{mine or 'none'}`, the first one of `{theirs or 'none'}`.", "A panel tastes one sample; give the records of each to a panel of its own.", place)
        names = {id: (id if id != ANONYMOUS or len(records) == 1 else f"taster {number}") for id in record.tasters}
        for id, name in names.items():
            if name in tasters:
                raise InputError.single("taster-twice", f"the taster `{name}` has tasted this sample already.", "Keep one sheet of each, or give the people names of their own.", place)
            tasters[name] = record.tasters[id]._replace(id=name)
            if id in record.looked_for:
                looked_for[name] = record.looked_for[id]
        findings += [f._replace(taster=names[f.taster]) for f in record.findings]
    if len(tasters) < 2:
        raise InputError.single("one-taster", "a panel needs two tasters or more.", "Give the records of all who tasted this sample.", Place(first.file or "record"))
    tests = {t.test: t for record in records for t in record.tests}
    impressions = tuple(i for record in records for i in record.impressions)
    return dataclasses.replace(first, findings=tuple(findings), tasters=tasters, looked_for=looked_for, tests=tuple(tests.values()), impressions=impressions, file=first.file)


def misses_in(ontology: Ontology, record: Record, quality: str) -> list[tuple[str, str]]:
    """(taster, label of the quality) for each taster of a reference solution who did not notice what it shows."""
    percept = ontology.percept(quality)
    noticed = {f.taster for f in record.findings if f.strength > 0 and ontology.percept(f.quality) == percept}
    return [(taster, ontology.label("quality", quality)) for taster in record.tasters if taster not in noticed]


def panel_of(ontology: Ontology, record: Record, answer: Answer, *, misses: Sequence[tuple[str, str]] = (), test: Triangle | None = None, remarks: Sequence[str] = ()) -> Panel:
    """The report on a record of several tasters.

    Args:
        ontology: what is known.
        record: all tasters together, as :func:`together` gives them.
        answer: what follows from it.
        misses: (taster, quality) that a reference solution should have shown.
        test: a triangle test to be told beside it.
        remarks: what was noticed while the sheets were put together.
    """
    tasters = tuple(record.tasters)
    table = _reports(ontology, record)
    rows = tuple(_row(ontology, quality, tuple(reports)) for quality, reports in table.items())
    ratings = np.array([[np.nan if r is None else float(r) for r in row.reports] for row in rows]).T if rows else np.zeros((len(tasters), 0))
    n, rho = len(tasters), ontology.tables.constants["taster-correlation"]
    return Panel(
        ontology.identity, record.sample.code, ontology.label("herb", record.sample.herb) if record.sample.herb else "",
        tasters, rows, _coefficients(ratings), _apart(ratings, tasters), tuple(misses), test, n / (1 + (n - 1) * rho),
        tuple((c.id, c.label, c.prior, c.posterior) for c in answer.risen("families")[:5]),
        tuple(dict.fromkeys(h.label for h in (*answer.label_cautions, *answer.cautions) if h.severity == "avoid")), _stops(answer), tuple(remarks),
    )


def _stops(answer: Answer) -> tuple[str, ...]:
    found = []
    if answer.label.taste_safety == "do-not-taste":
        found.append(f"STOP. {answer.label.label} is never to be tasted. If any was swallowed, call a poison centre now.")
    if answer.understood.stop_signs:
        found.append(f"STOP. {', '.join(answer.understood.stop_signs)}: taste no more, rinse, and call a poison centre or an emergency number now.")
    if answer.emergencies:
        found.append(f"WARNING. These findings fit poisons too: {', '.join(e.label for e in answer.emergencies)}. Taste no more.")
    return tuple(found)


def _reports(ontology: Ontology, record: Record) -> dict[str, list[int | None]]:
    """Percept to one report a taster, the strongest of any moment and word; what was looked for and not mentioned counts as 0."""
    order = {id: i for i, id in enumerate(record.tasters)}
    found: dict[str, list[int | None]] = {}

    def put(percept: str, taster: str, value: int) -> None:
        row = found.setdefault(percept, [None] * len(order))
        before = row[order[taster]]
        row[order[taster]] = value if before is None else max(before, value)

    for finding in record.findings:
        if ontology.qualities[finding.quality].kind not in ("stop", "absence"):
            put(ontology.percept(finding.quality), finding.taster, finding.strength)
    for taster, qualities in record.looked_for.items():
        for quality in qualities:
            if ontology.qualities[quality].kind not in ("stop", "absence"):
                put(ontology.percept(quality), taster, 0)
    return found


def _row(ontology: Ontology, quality: str, reports: tuple[int | None, ...]) -> Row:
    asked = [r for r in reports if r is not None]
    noticed = sum(r > 0 for r in asked)
    share = noticed / len(asked)
    spread = max(asked) - min(asked)
    if len(asked) < 2:
        word = "one taster only"
    elif share in (0.0, 1.0):
        word = "all alike" if spread <= 1 else "all, at different strengths"
    else:
        word = "most" if share >= _MOST else "few" if share <= _FEW else "they part"
    thing = ontology.qualities[quality]
    return Row(quality, thing.label, thing.sense, reports, noticed, len(asked), word)


def _coefficients(ratings: Array) -> tuple[Coefficient, ...]:
    whole = ratings[:, ~np.isnan(ratings).any(axis=0)]
    same = "everybody said the same throughout: there is nothing that chance could explain"

    def kappa(table: Array) -> float | None:
        return fleiss_kappa(np.stack([(table == 0).sum(axis=0), (table > 0).sum(axis=0)], axis=1).astype(float)) if table.shape[1] else None

    return (
        with_interval("Fleiss' kappa, noticed or not", whole, kappa, same if whole.shape[1] else "no quality was asked of all"),
        with_interval("Krippendorff's alpha, strengths in order", ratings, krippendorff_alpha, same if ratings.shape[1] else "no quality was asked of two"),
        with_interval("Kendall's W, order of the qualities", whole, kendall_w, same if whole.shape[1] > 1 else "fewer than two qualities were asked of all"),
    )


def _alone(ratings: Array, i: int) -> int:
    """On how many qualities a taster says the contrary of what most of the others say, noticed or not."""
    own, others = ratings[i] > 0, np.delete(ratings, i, axis=0)
    asked = ~np.isnan(others)
    share = np.where(asked, others > 0, False).sum(axis=0) / np.maximum(1, asked.sum(axis=0))
    counted = ~np.isnan(ratings[i]) & (asked.sum(axis=0) >= 2)
    return int((counted & ((own & (share < 0.5)) | (~own & (share > 0.5)))).sum())


def _apart(ratings: Array, tasters: Sequence[str]) -> tuple[Apart, ...]:
    """Each taster by what the panel's alpha becomes without this one; only where three or more tasted."""
    whole = krippendorff_alpha(ratings)
    if len(tasters) < 3 or whole is None:
        return ()
    found = []
    for i, taster in enumerate(tasters):
        without = krippendorff_alpha(np.delete(ratings, i, axis=0))
        rise = (1.0 if without is None else without) - whole
        found.append(Apart(taster, without, rise, rise >= APART and _alone(ratings, i) >= ALONE))
    # the one whose absence helps most; two cannot both be the odd one out of three
    best = max(found, key=lambda a: a.rise)
    return tuple(a._replace(apart=a.apart and a is best) for a in found)
