"""The compiled snapshot: equal to what was read, unused when stale or damaged, harmless when it cannot be written."""

from __future__ import annotations

import json
from pathlib import Path

import foreign
import pytest

from kgraph.claims import load, snapshot
from kgraph.claims.ontology import Ontology


def same(a: Ontology, b: Ontology) -> bool:
    return (a.header, a.sha256, a.things, a.sources, a.claims) == (b.header, b.sha256, b.things, b.sources, b.claims) and all(
        getattr(a.tables, name) == getattr(b.tables, name) for name in ("strengths", "effects", "levels", "reports", "documented", "constants", "other_causes", "false_reports", "book_silences", "standard_list", "evidence_words", "prior_counts", "prior_herbs", "basis")
    )


def test_the_shipped_ontology_round_trips(known) -> None:
    """Dumped and parsed, nothing is lost."""
    fresh = load(cache=False)
    again = snapshot.parse(snapshot.dump(fresh), fresh.sha256)
    assert again is not None and same(fresh, again)


@pytest.fixture
def world(tmp_path: Path) -> Ontology:
    return load([foreign.write(foreign.random_spec(5), tmp_path / "w")], cache=False)


def test_saved_and_loaded(world: Ontology, tmp_path: Path) -> None:
    """A saved snapshot is found by its fingerprint only."""
    folder = tmp_path / "cache"
    assert snapshot.save(world, folder)
    found = snapshot.load(world.sha256, folder)
    assert found is not None and same(found, world)
    assert snapshot.load("0" * 64, folder) is None


@pytest.mark.parametrize("damage", ["cut", "flip", "empty", "json", "other-format", "other-ontology"])
def test_a_damaged_snapshot_is_not_used(damage: str, world: Ontology, tmp_path: Path) -> None:
    """Cut, changed, empty, foreign or of another format: not used, and no error."""
    import hashlib

    folder = tmp_path / "cache"
    snapshot.save(world, folder)
    path = folder / f"{world.sha256}.json"
    data = path.read_bytes()

    def sealed(body: dict) -> bytes:
        text = json.dumps(body).encode() + b"\n" + chunks
        return hashlib.sha256(text).hexdigest().encode() + b"\n" + text

    head, _, chunks = data.partition(b"\n")[2].partition(b"\n")
    body = json.loads(head)
    new = {
        "cut": data[: len(data) // 2], "flip": data[:-20] + b"x" + data[-19:], "empty": b"", "json": sealed({"format": snapshot.FORMAT, "sha256": world.sha256}),
        "other-format": sealed({**body, "format": 0}), "other-ontology": sealed({**body, "sha256": "1" * 64}),
    }[damage]
    path.write_bytes(new)
    assert snapshot.load(world.sha256, folder) is None


def test_a_changed_file_is_read_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The snapshot is keyed by content: one changed letter, another snapshot."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    folder = foreign.write(foreign.random_spec(5), tmp_path / "w")
    first = load([folder])
    assert load([folder]).sha256 == first.sha256
    text = (folder / "world.yaml").read_text().replace("label of zork", "label of Zork")
    (folder / "world.yaml").write_text(text)
    second = load([folder])
    assert second.sha256 != first.sha256
    assert second.classes["zork"].label == "label of Zork"


def test_a_cache_folder_that_cannot_be_written_does_no_harm(world: Ontology, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file where the folder should be, as when it is read-only: no snapshot, no error."""
    blocked = tmp_path / "blocked"
    blocked.write_text("a file, not a folder")
    assert snapshot.save(world, blocked) is False
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    assert load([tmp_path / "w"]).sha256 == world.sha256


def test_an_interrupted_write_leaves_nothing(world: Ontology, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The old state stays when writing fails half way."""

    def broken(_: object) -> bytes:
        raise KeyboardInterrupt

    monkeypatch.setattr(snapshot, "dump", broken)
    with pytest.raises(KeyboardInterrupt):
        snapshot.save(world, tmp_path / "cache")
    assert list((tmp_path / "cache").iterdir()) == []


@pytest.mark.parametrize("value", ["", "relative/path"])
def test_an_empty_or_relative_xdg_path_is_ignored(value: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """As the XDG base directory specification asks."""
    monkeypatch.setenv("XDG_CACHE_HOME", value)
    monkeypatch.setenv("HOME", "/somewhere")
    assert snapshot.cache_folder() == Path("/somewhere/.cache/kgraph")
