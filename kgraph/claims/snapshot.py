"""The compiled snapshot: one JSON file in the user's cache folder, keyed by the content of the ontology.

Never pickle: a cache file is input like any other. A snapshot that is stale, damaged or of another format is
simply not used; a cache folder that cannot be written does no harm.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from dataclasses import fields
from pathlib import Path
from typing import Any

from kgraph.claims.model import (
    KINDS,
    Action,
    Caution,
    Claim,
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
from kgraph.claims.ontology import Ontology
from kgraph.claims.store import ClaimStore
from kgraph.claims.tables import Tables

FORMAT = 10
KEEP = 12
_CLASSES: dict[str, type[Thing]] = {
    "quality": Quality, "family": Family, "class": ConstituentClass, "action": Action, "use": Use, "caution": Caution,
    "condition": Condition, "test": Test, "herb": Herb,
}


def cache_folder() -> Path | None:
    """``$XDG_CACHE_HOME/kgraph`` (an empty or relative value is ignored, as the XDG specification asks), else ``~/.cache/kgraph``.

    None where there is no home, as for a nameless user in a container.
    """
    base = os.environ.get("XDG_CACHE_HOME", "")
    if base and Path(base).is_absolute():
        return Path(base) / "kgraph"
    try:
        home = Path("~").expanduser()
    except RuntimeError:
        return None
    return home / ".cache" / "kgraph" if home.is_absolute() else None


def _plain(thing: Any) -> list[Any]:
    return [getattr(thing, f.name) for f in fields(thing)]


def dump(ontology: Ontology) -> bytes:
    """The snapshot as bytes: the checksum of what follows, then a line of JSON, then the chunks of claims that it lists."""
    tables = ontology.tables
    chunks = {name: ontology.store.packed(name) for name in ontology.store.names()}
    body = {
        "format": FORMAT,
        "sha256": ontology.sha256,
        "header": dict(ontology.header),
        "things": {kind: [_plain(thing) for thing in ontology.things[kind].values()] for kind in KINDS},
        "sources": [list(source) for source in ontology.sources.values()],
        "chunks": {name: len(data) for name, data in chunks.items()},
        "tables": {
            f.name: [[list(k) if isinstance(k, tuple) else k, v] for k, v in value.items()] if isinstance(value := getattr(tables, f.name), dict) else value
            for f in fields(tables)
            if f.name != "places"
        },
    }
    text = json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode() + b"\n" + b"".join(chunks.values())
    return hashlib.sha256(text).hexdigest().encode() + b"\n" + text


def _tuples(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def _tables(raw: dict[str, Any]) -> Tables:
    tables = Tables()
    for f in fields(tables):
        if f.name not in raw:
            continue
        value = raw[f.name]
        if isinstance(getattr(tables, f.name), dict):
            setattr(tables, f.name, {_tuples(k): _tuples(v) for k, v in value})
        elif f.name == "evidence_words":
            tables.evidence_words = tuple((float(a), str(b)) for a, b in value)
        else:
            setattr(tables, f.name, _tuples(value))
    return tables


def parse(data: bytes, sha256: str) -> Ontology | None:
    """The ontology in a snapshot, or None when it is damaged, of another format, or of another ontology."""
    checksum, _, text = data.partition(b"\n")
    if hashlib.sha256(text).hexdigest().encode() != checksum:
        return None
    head, _, rest = text.partition(b"\n")
    body = json.loads(head)
    if body.get("format") != FORMAT or body.get("sha256") != sha256:
        return None
    things: dict[str, dict[str, Thing]] = {}
    for kind in KINDS:
        cls = _CLASSES[kind]
        things[kind] = {row[0]: cls(*map(_tuples, row)) for row in body["things"][kind]}
    sources = {row[0]: Source(*row) for row in body["sources"]}
    chunks: dict[str, bytes | list[Claim]] = {}
    start = 0
    for name, length in body["chunks"].items():
        chunks[name] = rest[start : start + length]
        start += length
    if start != len(rest):
        return None
    return Ontology(body["header"], sha256, things, sources, ClaimStore(chunks), _tables(body["tables"]))


def load(sha256: str, folder: Path | None = None) -> Ontology | None:
    """The snapshot of the ontology with this fingerprint, or None."""
    target = folder or cache_folder()
    if target is None:
        return None
    path = target / f"{sha256}.json"
    try:
        data = path.read_bytes()
    except OSError:
        return None
    try:
        return parse(data, sha256)
    except (ValueError, KeyError, TypeError, RecursionError, AttributeError):
        return None


def save(ontology: Ontology, folder: Path | None = None) -> bool:
    """Write the snapshot atomically. False when the folder cannot be written; nothing is lost then."""
    target = folder or cache_folder()
    if target is None:
        return False
    try:
        target.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=target, prefix=".new-")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(dump(ontology))
            Path(name).replace(target / f"{ontology.sha256}.json")
        except BaseException:
            with contextlib.suppress(OSError):
                Path(name).unlink()
            raise
        _prune(target)
    except OSError:
        return False
    return True


def _prune(folder: Path) -> None:
    with contextlib.suppress(OSError):
        found = sorted(folder.glob("*.json"), key=lambda p: p.stat().st_mtime, reverse=True)
        for old in found[KEEP:]:
            old.unlink()
