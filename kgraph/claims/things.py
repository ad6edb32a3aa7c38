"""Reading the sections that name things: qualities, families, classes, actions, uses, cautions, conditions, tests, sources."""

from __future__ import annotations

import re
from collections.abc import Callable

from kgraph.claims import words
from kgraph.claims.draft import Draft
from kgraph.claims.model import (
    Action,
    Caution,
    Condition,
    ConstituentClass,
    Family,
    Herb,
    Quality,
    Source,
    Test,
    Thing,
    Use,
)
from kgraph.yamlio import Fields, shorten

ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*\Z")
MAX_LABEL = 500


def read_id(row: Fields, key: str = "id") -> str | None:
    """An id: lower-case words joined by hyphens, at most 80 characters."""
    value = row.text(key, required=True, limit=80)
    if value is not None and not ID.match(value):
        row.fault(key, "bad-id", f"`{shorten(value)}` is no id.", "Use lower-case letters, digits and hyphens, such as `lime-flower`.")
        return None
    return value


def _common(row: Fields) -> dict[str, object] | None:
    id = read_id(row)
    label = row.text("label", required=True, limit=MAX_LABEL)
    also = row.texts("also")
    definition = row.text("definition") or ""
    if id is None or label is None:
        return None
    return {"id": id, "label": label, "also": also, "definition": definition}


def _quality(row: Fields) -> dict[str, object]:
    return {
        "sense": row.word("sense", words.SENSES, required=True) or "",
        "kind": row.word("kind", words.QUALITY_KINDS, required=True) or "percept",
        "of": row.text("of") or "",
        "absence_of": row.texts("absence_of"),
    }


def _class(row: Fields) -> dict[str, object]:
    return {
        "family": row.text("family") or "",
        "poison": row.flag("poison") or False,
        "split_from": row.text("split_from") or "",
    }


def _test(row: Fields) -> dict[str, object]:
    return {
        "kind": row.word("kind", ("kitchen", "bench"), required=True) or "kitchen",
        "steps": row.text("steps") or "",
        "safe_without_label": row.flag("safe_without_label") or False,
        "cautions": row.text("cautions") or "",
    }


_PREPARATION_FIELDS = (
    "ethanol_percent", "tasted_at_celsius", "steep_minutes", "stored_months", "covered", "form", "added", "water", "vessel",
)


#: Tests that fit a field of the preparation; all others are numbers.
_FITTING = {"form": ("is",), "covered": ("is",), "water": ("is",), "vessel": ("is",), "added": ("has",)}


def _condition(row: Fields) -> dict[str, object]:
    kind = row.word("kind", ("preparation", "taster"), required=True) or "preparation"
    trigger = row.child("trigger", "the trigger", required=True)
    found: dict[str, object] = {"kind": kind}
    if trigger is None:
        return found
    if trigger.has("state"):
        state = trigger.text("state", required=True) or ""
        found |= {"field": "state", "test": "is", "values": (state,)}
    else:
        known = ["preparation." + name for name in _PREPARATION_FIELDS]
        name = trigger.word("field", known, required=True) or ""
        found["field"] = name.removeprefix("preparation.")
        tests = [t for t in ("at_least", "at_most", "is", "has") if trigger.has(t)]
        if len(tests) != 1:
            trigger.fault("field", "one-test", "a trigger has exactly one test.", "Write one of at_least, at_most, is, has.")
        fitting = _FITTING.get(name.removeprefix("preparation."), ("at_least", "at_most"))
        for test in tests[:1]:
            found["test"] = test
            if name and test not in fitting:
                trigger.fault(test, "unfit-test", f"`{test}` does not fit `{name}`.", f"Use {' or '.join(fitting)}.")
            if test in ("at_least", "at_most"):
                number = trigger.number(test, required=True)
                found["values"] = () if number is None else (f"{number:g}",)
            elif test == "is" and name == "preparation.covered":
                found["values"] = ("true" if trigger.flag("is") else "false",)
            else:
                found["values"] = trigger.texts(test, required=True)
    trigger.done()
    return found


def _plain(_: Fields) -> dict[str, object]:
    return {}


_SECTIONS: dict[str, tuple[str, type[Thing], Callable[[Fields], dict[str, object]]]] = {
    "qualities": ("quality", Quality, _quality),
    "families": ("family", Family, _plain),
    "classes": ("class", ConstituentClass, _class),
    "actions": ("action", Action, _plain),
    "uses": ("use", Use, _plain),
    "cautions": ("caution", Caution, _plain),
    "conditions": ("condition", Condition, _condition),
    "tests": ("test", Test, _test),
}
SECTIONS = tuple(_SECTIONS)


def read_section(top: Fields, section: str, draft: Draft) -> None:
    """Read one section of things into the draft."""
    kind, cls, extra = _SECTIONS[section]
    for row in top.rows(section, f"this {kind}"):
        common = _common(row)
        more = extra(row)
        row.done()
        if common is not None:
            draft.add(kind, cls(**common, **more), row)  # type: ignore[arg-type]


def read_sources(top: Fields, draft: Draft) -> None:
    """Read the section `sources`."""
    for row in top.rows("sources", "this source"):
        id = read_id(row)
        grade = row.word("grade", words.GRADES, required=True)
        title = row.text("title", required=True)
        texts = {key: row.text(key) or "" for key in ("author", "year", "journal", "document", "doi", "url", "note")}
        row.done()
        if id and grade and title:
            draft.add_source(Source(id, grade, title, **texts), row)


def read_herb(row: Fields, draft: Draft) -> str | None:
    """Read what names a herb; its claims are read elsewhere. Returns the id."""
    id = read_id(row)
    name = row.text("name", required=True)
    common = row.texts("common_names", required=True)
    texts = {
        key: row.text(key, required=key in ("family", "part")) or ""
        for key in ("family", "part", "drug_name", "taste_limit", "taste_reason", "no_description", "no_cautions")
    }
    synonyms = row.texts("synonyms")
    safety = row.word("taste_safety", words.TASTE_SAFETIES, required=True)
    definition = row.text("definition") or ""
    if safety == "small-amount" and not texts["taste_limit"]:
        row.fault("taste_safety", "no-limit", "a herb tasted in small amounts only needs `taste_limit`.", "Say how little, and to spit out.")
    if safety == "do-not-taste" and not texts["taste_reason"]:
        row.fault("taste_safety", "no-reason", "a herb never to be tasted needs `taste_reason`.", "Say why.")
    if not (id and name and safety):
        return None
    herb = Herb(
        id=id, label=common[0] if common else name, also=common[1:], definition=definition, name=name, synonyms=synonyms,
        common_names=common, taste_safety=safety, **texts,
    )
    draft.add("herb", herb, row)
    return id
