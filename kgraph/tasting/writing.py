"""Writing a tasting record as YAML of format 1. Reading it back gives the same record."""

from __future__ import annotations

from typing import Any

import yaml

from kgraph.tasting.record import ANONYMOUS, FORMAT, Preparation, Record


class _Dumper(yaml.SafeDumper):
    """Quotes every text that any YAML reader could take for a number, a date or a boolean."""


def _text(dumper: yaml.SafeDumper, value: str) -> yaml.ScalarNode:
    plain = value.replace("-", "").replace(" ", "")
    word = plain.isascii() and plain.isalpha() and value.lower() not in _WORDS and value == value.strip() and not value.startswith("-")
    return dumper.represent_scalar("tag:yaml.org,2002:str", value, style=None if word else '"')


_WORDS = {"true", "false", "null", "yes", "no", "on", "off", "y", "n"}
_Dumper.add_representer(str, _text)


def record_as_data(record: Record) -> dict[str, Any]:
    """The record as plain lists and mappings, in the order of the format."""
    data: dict[str, Any] = {"record": FORMAT}
    if record.tasted_on:
        data["tasted_on"] = record.tasted_on
    sample: dict[str, Any] = {}
    if record.sample.code:
        sample["code"] = record.sample.code
    if record.sample.herb:
        sample["herb"] = record.sample.herb
    elif record.sample.herbs:
        sample["herb"] = list(record.sample.herbs)
    if record.sample.batch:
        sample["batch"] = dict(record.sample.batch)
    if sample:
        data["sample"] = sample
    preparation: dict[str, Any] = {}
    for name in Preparation._fields:
        value = getattr(record.preparation, name)
        if value not in (None, "", ()) and not (name == "form" and value == "infusion"):
            preparation[name] = list(value) if isinstance(value, tuple) else value
    if preparation:
        data["preparation"] = preparation
    named = list(record.tasters) != [ANONYMOUS]
    if named or any(t.state or t.after_sample or t.swallowed is not None for t in record.tasters.values()):
        data["tasters"] = {
            id: {k: v for k, v in (("state", list(t.state)), ("after_sample", t.after_sample), ("swallowed", t.swallowed)) if v not in ([], "", None)}
            for id, t in record.tasters.items()
        }
    if record.looked_for:
        lists = list(record.looked_for.values())
        if len(record.looked_for) == len(record.tasters) and all(one == lists[0] for one in lists):
            data["looked_for"] = "standard" if record.standard else list(lists[0])
        else:
            data["looked_for"] = {id: list(one) for id, one in record.looked_for.items()}
    many = len(record.tasters) > 1
    data["findings"] = [
        {k: v for k, v in (("taster", f.taster if many else ""), ("quality", f.quality), ("strength", f.word), ("when", f.when), ("where", f.where)) if v}
        for f in record.findings
    ]
    if record.tests:
        data["tests"] = [{"test": t.test, "seen": t.seen} for t in record.tests]
    if record.impressions:
        data["impressions"] = [{k: v for k, v in (("taster", i.taster if many else ""), ("text", i.text)) if v} for i in record.impressions]
    return data


def write_record(record: Record) -> str:
    """YAML text of format 1."""
    return yaml.dump(record_as_data(record), Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=110, default_flow_style=None)
