"""Reading the rows that state something: each becomes a claim with its word, its sources and its place."""

from __future__ import annotations

import re

from kgraph.claims.draft import Draft
from kgraph.claims.model import Attribution, Claim, Fact
from kgraph.claims.relations import LINKS, OF_HERB, Relation
from kgraph.claims.things import read_herb
from kgraph.claims.words import BASES
from kgraph.yamlio import Fields

_READ = re.compile(r"\d{4}(-(0[1-9]|1[0-2])(-(0[1-9]|[12]\d|3[01]))?)?\Z")


def read_attributions(row: Fields) -> tuple[tuple[Attribution, ...], bool, bool]:
    """Who says it: (attributions, from memory, common practice). Notes a fault when nobody does."""
    found: list[Attribution] = []
    for entry in row.rows("sources", "this source of the claim"):
        id = entry.text("id", required=True)
        where = entry.text("where") or ""
        read = entry.text("read") or ""
        entry.done()
        if read and not _READ.match(read):
            entry.fault("read", "bad-date", f"`read` is `{read}`.", "Write the day it was read, such as 2026-05-03, or the year.")
        if read and not where:
            entry.fault("read", "no-locator", "a source that was read needs `where`.", "Name the section, table or page.")
        if id:
            found.append(Attribution(id, where, read))
    memory = row.flag("from_memory") or False
    practice = row.flag("common_practice") or False
    read_any = any(a.read for a in found)
    if memory and read_any:
        row.fault("from_memory", "memory-and-read", "`from_memory` beside a source that was read.", "Remove one of the two.")
    if not (read_any or memory or practice):
        message = "none of its sources was read." if found else "this statement has no source."
        row.fault("sources", "no-source", message, "Name a source with `where` and `read`, or say `from_memory: true` or `common_practice: true`.")
    return tuple(found), memory, practice


def _facts(row: Fields, relation: Relation) -> dict[str, Fact]:
    facts: dict[str, Fact] = {}
    for key in relation.texts:
        if value := row.text(key, required=key in relation.required):
            facts[key] = value
    for key in relation.lists:
        prefix, _, inner = key.partition("_")
        if prefix == "implies":
            continue
        if values := row.texts(key):
            facts[key] = values
    if "implies_classes" in relation.lists and (implies := row.child("implies", "`implies`")) is not None:
        for inner in ("classes", "qualities"):
            if values := implies.texts(inner):
                facts[f"implies_{inner}"] = values
        implies.done()
    for key in relation.numbers:
        number = row.number(key, low=0, required=key in relation.required)
        if number is not None:
            facts[key] = int(number) if number == int(number) else number
    for key, known in relation.choices:
        if word := row.word(key, known, required=key in relation.required):
            facts[key] = word
    return facts


def _object(row: Fields, relation: Relation, facts: dict[str, Fact]) -> list[str]:
    key = relation.object[0]
    if relation.name == "confused_with":
        if row.has("herb"):
            return [row.text("herb", required=True) or ""]
        name = row.text("name", required=True)
        if name:
            facts["name"] = name
        row.asked.append("herb")
        return [""]
    if relation.name == "dulls" and row.has("sense"):
        sense = row.text("sense") or ""
        row.asked.append(key)
        return [f"sense:{sense}"]
    value = row.text(key, required=True)
    return [value] if value else []


def _read_rows(top: Fields, section: str, relation: Relation, draft: Draft, herb: str | None) -> None:
    what = f"this row of `{section}`"
    for row in top.rows(section, what):
        subject = herb if herb is not None else row.text(relation.subject[0], required=True)
        facts: dict[str, Fact] = {}
        objects = _object(row, relation, facts)
        word = ""
        if relation.word[0]:
            optional = relation.name == "described_as"
            word = row.word(relation.word[0], relation.word[1], required=not optional) or ""
        facts |= _facts(row, relation)
        basis = row.word("basis", BASES, required=True) or "" if relation.basis else ""
        attributions, memory, practice = read_attributions(row)
        row.done()
        if subject is None:
            continue
        for object in objects:
            draft.claims.append(
                Claim("", section, subject, object, word, basis, attributions, memory, practice, facts, row.place)
            )


def read_links(top: Fields, section: str, draft: Draft) -> None:
    """Read one section of general links."""
    _read_rows(top, section, LINKS[section], draft, None)


def read_herb_section(top: Fields, draft: Draft) -> None:
    """Read the section `herb`: the herb and everything said of it."""
    row = top.child("herb", "this herb")
    if row is None:
        return
    id = read_herb(row, draft)
    for section, relation in OF_HERB.items():
        _read_rows(row, section, relation, draft, id if id is not None else "")
    row.done()
