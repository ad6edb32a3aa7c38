"""Reading a tasting record (format 1) from YAML, with every fault of the file in one run."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

from kgraph.tasting.danger import is_alarming, stop_fault
from kgraph.tasting.record import (
    ANONYMOUS,
    FORMAT,
    FORMS,
    STRENGTHS,
    WHEN,
    Finding,
    Impression,
    Outcome,
    Preparation,
    Record,
    Sample,
    Taster,
)
from kgraph.tasting.vocabulary import Vocabulary
from kgraph.yamlio import (
    FaultList,
    Fields,
    InputError,
    Leaf,
    Limits,
    Mapping,
    Place,
    Sequence,
    did_you_mean,
    kind_of,
    read_file,
    read_text,
    shorten,
)

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}\Z")
_PERIOD = re.compile(r"\d{4}(-\d{2}(-\d{2})?)?\Z")
_YES_NO = {"yes": True, "no": False}
_LIMITS = Limits(bytes=1_000_000, nodes=50_000)
_MAX_FINDINGS = 5_000
_MOST_INGREDIENTS = 30


def read_record(path: Path, vocabulary: Vocabulary, today: datetime.date | None = None) -> Record:
    """A record from a file. Raises :class:`kgraph.yamlio.InputError` with all its faults."""
    return read_tree(read_file(path, _LIMITS), str(path), vocabulary, today)


def read_record_text(text: str, vocabulary: Vocabulary, file: str = "record", today: datetime.date | None = None) -> Record:
    """A record from YAML text."""
    return read_tree(read_text(text, file, _LIMITS), file, vocabulary, today)


def read_tree(top: Mapping, file: str, vocabulary: Vocabulary, today: datetime.date | None = None) -> Record:
    """A record from a tree of nodes, however it came about. Raises :class:`kgraph.yamlio.InputError` with all its faults."""
    faults = FaultList()
    row = Fields(top, faults, "this record")
    version = row.integer("record", 0, 1_000_000, required=True)
    if version is not None and version != FORMAT:
        row.fault("record", "other-version", f"this is a record of format {version}; this program reads format {FORMAT}.", f"Write `record: {FORMAT}`, or use a newer kgraph.")
    tasted_on = _day(row, today or datetime.date.today())
    sample = _sample(row, vocabulary)
    preparation = _preparation(row)
    tasters = _tasters(row, vocabulary)
    looked_for, standard = _looked_for(row, vocabulary, tasters)
    findings = _findings(row, vocabulary, tasters)
    tests = _tests(row, vocabulary)
    impressions = _impressions(row, tasters)
    row.done()
    if faults.faults and _is_grave(faults, findings, sample, vocabulary):
        raise InputError([stop_fault(Place(file)), *sorted(set(faults.faults))])
    faults.raise_if_any()
    return Record(findings, tasted_on, sample, preparation, tasters, looked_for, standard, tests, impressions, file)


def _is_grave(faults: FaultList, findings: tuple[Finding, ...], sample: Sample, vocabulary: Vocabulary) -> bool:
    """Must a record that cannot be used still be answered with a warning?"""
    unread = any(fault.rule == "unknown-quality" and is_alarming(fault.message) for fault in faults.faults)
    return unread or any(herb in vocabulary.never_tasted for herb in (sample.herb, *sample.herbs)) or any(f.quality in vocabulary.stops and f.strength for f in findings)


def _day(row: Fields, today: datetime.date) -> str:
    text = row.text("tasted_on") or ""
    if not text:
        return ""
    try:
        day = datetime.date.fromisoformat(text) if _DAY.match(text) else None
    except ValueError:
        day = None
    if day is None:
        row.fault("tasted_on", "bad-date", f"`tasted_on` is `{shorten(text)}`, which is no day.", "Write it as 2026-05-03.")
    elif day > today + datetime.timedelta(days=1):  # a day of grace for other time zones
        row.fault("tasted_on", "future-date", f"`tasted_on` is {text}, which is yet to come.", "Write the day of the tasting.")
    return text


def _sample(row: Fields, vocabulary: Vocabulary) -> Sample:
    sample = row.child("sample", "the sample")
    if sample is None:
        return Sample()
    code = sample.text("code", limit=200) or ""
    herbs = _named_herbs(sample, vocabulary)
    batch: dict[str, str] = {}
    entries = sample.child("batch", "the batch")
    if entries is not None:
        for key in ("supplier", "lot", "harvested", "form"):
            value = entries.text(key, limit=500)
            if value:
                batch[key] = value
        if "harvested" in batch and not _PERIOD.match(batch["harvested"]):
            entries.fault("harvested", "bad-date", f"`harvested` is `{shorten(batch['harvested'])}`.", "Write a year, month or day: 2025, 2025-07 or 2025-07-20.")
        entries.done()
    sample.done()
    return Sample(code, herbs[0] if len(herbs) == 1 else "", batch, herbs if len(herbs) > 1 else ())


def _named_herbs(sample: Fields, vocabulary: Vocabulary) -> tuple[str, ...]:
    """The herb of the label, or those of a blend."""
    named = sample.texts("herb") if isinstance(sample.raw("herb"), Sequence) else tuple(filter(None, [sample.text("herb")]))
    for herb in named:
        if herb not in vocabulary.herbs:
            sample.fault("herb", "unknown-herb", f"no herb is called `{shorten(herb)}`.", did_you_mean(herb, vocabulary.herbs))
    twice = next((herb for number, herb in enumerate(named) if herb in named[:number]), None)
    if twice:
        sample.fault("herb", "stated-twice", f"`{shorten(twice)}` stands twice in the blend.", "Name each ingredient once.")
    if len(named) > _MOST_INGREDIENTS:
        sample.fault("herb", "too-many", f"a blend of {len(named)} herbs; at most {_MOST_INGREDIENTS}.", "Name those that matter most.")
    return named


def _preparation(row: Fields) -> Preparation:
    p = row.child("preparation", "the preparation")
    if p is None:
        return Preparation()
    found = Preparation(
        form=p.word("form", FORMS) or "infusion",
        herb_grams=p.number("herb_grams", 0, 10_000),
        cold_water_ml=p.number("cold_water_ml", 0, 100_000),
        boiling_water_ml=p.number("boiling_water_ml", 0, 100_000),
        steep_minutes=p.number("steep_minutes", 0, 20_160),
        covered=p.flag("covered", _YES_NO),
        ethanol_percent=p.number("ethanol_percent", 0, 100),
        tasted_at_celsius=p.number("tasted_at_celsius", -5, 100),
        stored_months=p.number("stored_months", 0, 1_200),
        added=p.texts("added"),
        water=p.text("water", limit=200) or "",
        vessel=p.text("vessel", limit=200) or "",
    )
    p.done()
    return found


def _taster(entry: Fields, id: str, vocabulary: Vocabulary) -> Taster:
    state = entry.words("state", vocabulary.states)
    after = entry.text("after_sample", limit=200) or ""
    swallowed = entry.flag("swallowed", _YES_NO)
    entry.done()
    return Taster(id, state, after, swallowed)


def _tasters(row: Fields, vocabulary: Vocabulary) -> dict[str, Taster]:
    node = row.raw("tasters")
    found: dict[str, Taster] = {}
    if node is None:
        return {ANONYMOUS: Taster(ANONYMOUS)}
    if isinstance(node, Mapping):
        for id, entry in node.entries.items():
            if isinstance(entry, Mapping):
                found[id] = _taster(Fields(entry, row.faults, f"the taster `{shorten(id)}`"), id, vocabulary)
            elif isinstance(entry, Leaf) and entry.value is None:
                found[id] = Taster(id)
            else:
                row.faults.add(entry.place, "not-a-mapping", f"the taster `{shorten(id)}` is {kind_of(entry)}.", "Write `A: {state: [...]}` or `A: {}`.")
    elif isinstance(node, Sequence):
        for item in node.items:
            if isinstance(item, Leaf) and item.text.strip():
                id = item.text.strip()
                if id in found:
                    row.faults.add(item.place, "stated-twice", f"the taster `{shorten(id)}` is listed twice.", "List each taster once.")
                found[id] = Taster(id)
            else:
                row.faults.add(item.place, "not-text", f"a taster is {kind_of(item)}.", "Write a short name or letter.")
    else:
        row.fault("tasters", "not-a-list", f"`tasters` is {kind_of(node)}.", "Write a list `[A, B]` or a mapping `A: {state: [...]}`.")
    return found or {ANONYMOUS: Taster(ANONYMOUS)}


def _which_taster(entry: Fields, tasters: dict[str, Taster]) -> str | None:
    id = entry.text("taster")
    if not id:
        if len(tasters) == 1:
            return next(iter(tasters))
        entry.fault("taster", "missing", "with several tasters each entry names its `taster`.", f"Add one of {', '.join(tasters)}.")
        return None
    if id not in tasters:
        declared = [t for t in tasters if t != ANONYMOUS]
        remedy = did_you_mean(id, declared) or f"Declare `tasters: [{', '.join([*declared, shorten(id, 20)])}]`."
        entry.fault("taster", "undeclared-taster", f"the taster `{shorten(id)}` is not declared.", remedy)
        return None
    return id


def _known_quality(row: Fields, key: str, id: str, vocabulary: Vocabulary) -> bool:
    if id in vocabulary.qualities:
        return True
    by_name = {name: q for q, names in vocabulary.qualities.items() for name in names}
    remedy = f"Its id is `{by_name[id.lower()]}`." if id.lower() in by_name else did_you_mean(id, [*vocabulary.qualities, *by_name])
    row.fault(key, "unknown-quality", f"no quality is called `{shorten(id)}`.", remedy)
    return False


def _strength(entry: Fields) -> int | None:
    node = entry.raw("strength")
    remedy = "Use absent, weak, moderate or strong, or 0 to 3."
    if node is None:
        entry.fault("strength", "missing", "this finding lacks `strength`.", remedy)
        return None
    if isinstance(node, Leaf):
        if isinstance(node.value, int | float) and not isinstance(node.value, bool) and node.value in (0, 1, 2, 3):
            return int(node.value)
        if isinstance(node.value, str) and node.value.strip() in STRENGTHS:
            return STRENGTHS.index(node.value.strip())
    entry.fault("strength", "bad-strength", f"`strength` is {kind_of(node)}.", remedy)
    return None


def _findings(row: Fields, vocabulary: Vocabulary, tasters: dict[str, Taster]) -> tuple[Finding, ...]:
    found: dict[tuple[str, str, str], Finding] = {}
    count = 0
    for entry in row.rows("findings", "this finding", required=True):
        count += 1
        if count > _MAX_FINDINGS:
            row.fault("findings", "too-many", f"more than {_MAX_FINDINGS:,} findings.", "Split the record.")
            break
        quality = entry.text("quality", required=True)
        taster = _which_taster(entry, tasters)
        strength = _strength(entry)
        when = entry.word("when", WHEN) or ""
        where = entry.text("where", limit=200) or ""
        known = quality is not None and _known_quality(entry, "quality", quality, vocabulary)
        entry.done()
        if quality is None or taster is None or strength is None or not known:
            continue
        if quality in vocabulary.absences and strength == 0:
            entry.fault("strength", "absent-absence", f"`{quality}` is itself an absence; `absent` of it says nothing clear.", "Name what was noticed.")
            continue
        key = (taster, quality, when)
        if key in found:
            at = found[key].place
            moment = f" {when}" if when else ""
            entry.faults.add(entry.place, "stated-twice", f"`{quality}`{moment} stands already for this taster on line {at.line}.", "Keep one, or give each its own `when`.")
            continue
        found[key] = Finding(quality, strength, taster, when, where, entry.place)
    if count == 0 and row.has("findings"):
        row.fault("findings", "no-findings", "there are no findings.", "Write at least one, such as `- {quality: bitter, strength: weak}`.")
    return tuple(found.values())


def _looked_for(row: Fields, vocabulary: Vocabulary, tasters: dict[str, Taster]) -> tuple[dict[str, tuple[str, ...]], bool]:
    node = row.raw("looked_for")
    if node is None:
        return {}, False
    if isinstance(node, Mapping):
        entries = Fields(node, row.faults, "`looked_for`")
        found: dict[str, tuple[str, ...]] = {}
        standard = False
        for id in node.entries:
            if id in tasters:
                one, is_standard = _one_list(entries, id, vocabulary)
                found[id] = one
                standard = standard or is_standard
            else:
                row.faults.add(node.key_places[id], "undeclared-taster", f"the taster `{shorten(id)}` is not declared.", did_you_mean(id, tasters))
        return found, standard
    one, is_standard = _one_list(row, "looked_for", vocabulary)
    return dict.fromkeys(tasters, one), is_standard


def _one_list(row: Fields, key: str, vocabulary: Vocabulary) -> tuple[tuple[str, ...], bool]:
    texts = row.texts(key)
    if texts == ("standard",):
        return vocabulary.standard_list, True
    return tuple(id for id in texts if _known_quality(row, key, id, vocabulary)), False


def _tests(row: Fields, vocabulary: Vocabulary) -> tuple[Outcome, ...]:
    found: dict[str, Outcome] = {}
    for entry in row.rows("tests", "this test"):
        test = entry.text("test", required=True)
        seen = entry.flag("seen", _YES_NO)
        if not entry.has("seen"):
            entry.fault("seen", "missing", "this test lacks `seen`.", "Write `seen: yes` or `seen: no`.")
        entry.done()
        if test is None or seen is None:
            continue
        if test not in vocabulary.tests:
            entry.fault("test", "unknown-test", f"no test is called `{shorten(test)}`.", did_you_mean(test, vocabulary.tests))
        elif test in found:
            entry.fault("test", "stated-twice", f"the test `{test}` stands already on line {found[test].place.line}.", "Keep one result.")
        else:
            found[test] = Outcome(test, seen, entry.place)
    return tuple(found.values())


def _impressions(row: Fields, tasters: dict[str, Taster]) -> tuple[Impression, ...]:
    found: list[Impression] = []
    for entry in row.rows("impressions", "this impression"):
        text = entry.text("text", required=True)
        taster = _which_taster(entry, tasters)
        entry.done()
        if text and taster:
            found.append(Impression(text, taster))
    return tuple(found)


