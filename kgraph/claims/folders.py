"""The folders that make up an ontology, as bytes, and their fingerprint. Light: nothing is parsed unless a header must be."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from kgraph.yamlio import FaultList, Fields, InputError, Place

MAX_FILES = 20_000


class Folder(NamedTuple):
    """One folder of an ontology: (name below the folder, bytes) of each YAML file, in order of name."""

    shown: str
    files: tuple[tuple[str, bytes], ...]

    def path(self, name: str) -> str:
        """A file's name as it is shown to people."""
        return os.fsencode(Path(self.shown) / name).decode("utf-8", "replace")


def shipped_folder() -> Path:
    """The ontology that comes with kgraph: inside the installed package, else beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    inside = package / "ontology"
    return inside if inside.is_dir() else package.parent / "ontology"


def gather(path: Path) -> Folder:
    """The bytes of every ``*.yaml`` below a folder. Raises :class:`InputError` when there is none."""
    place = Place(os.fsencode(path).decode("utf-8", "replace"))
    try:
        return _gather(path, place)
    except OSError as error:
        raise InputError.single("unreadable", f"the folder cannot be read ({error.strerror or 'no reason given'}).", "Check its name and its rights.", place) from None


def _gather(path: Path, place: Place) -> Folder:
    from kgraph.yamlio.reader import read_bytes

    if not path.exists():
        raise InputError.single("no-such-folder", "there is no such folder.", "Name a folder with YAML files of an ontology.", place)
    if not path.is_dir():
        raise InputError.single("not-a-folder", "this is no folder.", "Name the folder that holds the ontology's YAML files.", place)
    found = sorted(p for p in path.rglob("*.yaml") if p.is_file())
    if not found:
        raise InputError.single("no-yaml", "there is no `*.yaml` file in this folder.", "See `ontology/README.md` for the format.", place)
    if len(found) > MAX_FILES:
        raise InputError.single("too-many-files", f"more than {MAX_FILES:,} files.", "Name the ontology's own folder.", place)
    return Folder(str(path), tuple((str(p.relative_to(path)), read_bytes(p)) for p in found))


def fingerprint(folders: Sequence[Folder]) -> str:
    """SHA-256 over names and contents of all files: two ontologies with the same text have the same fingerprint."""
    digest = hashlib.sha256()
    for folder in folders:
        digest.update(b"folder\x00")
        for name, data in folder.files:
            digest.update(os.fsencode(name) + f"\x00{len(data)}\x00".encode())
            digest.update(data)
    return digest.hexdigest()


def _extends(folder: Folder) -> bool:
    """True when a folder adds to the shipped ontology (the rule, unless its header says `extends: nothing`)."""
    from kgraph.yamlio.reader import decode, read_text

    for name, data in folder.files:
        if b"extends" in data and b"ontology" in data:
            shown = folder.path(name)
            header = Fields(read_text(decode(data, shown), shown), FaultList(), "this file").child("ontology", "the header")
            if header is not None and header.text("extends"):
                return header.text("extends") != "nothing"
    return True


def select(added: Sequence[Path]) -> list[Folder]:
    """The folders that make up an ontology: the shipped one first, unless the first added folder replaces it."""
    folders = [gather(path) for path in added]
    if folders and not _extends(folders[0]):
        return folders
    return [gather(shipped_folder()), *folders]
