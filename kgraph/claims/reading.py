"""Reading an ontology from folders of YAML: every file, every fault, then the checks across files."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from kgraph.claims import checking, numbers, statements, things
from kgraph.claims.draft import Draft
from kgraph.claims.ontology import Ontology
from kgraph.claims.relations import LINKS
from kgraph.yamlio import Fault, FaultList, Fields, InputError, Place, decode, read_bytes, read_text

MAX_FILES = 20_000


@dataclass(frozen=True, slots=True)
class Folder:
    """One folder of an ontology: (shown path, bytes) of each YAML file, in order of name."""

    shown: str
    files: tuple[tuple[str, bytes], ...]


def shipped_folder() -> Path:
    """The ontology that comes with kgraph: inside the wheel, else beside the package in a checkout."""
    inside = Path(str(resources.files("kgraph"))) / "ontology"
    if inside.is_dir():
        return inside
    return Path(__file__).resolve().parents[2] / "ontology"


def gather(path: Path) -> Folder:
    """The bytes of every ``*.yaml`` below a folder. Raises :class:`InputError` when there is none."""
    place = Place(str(path))
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
            digest.update(f"{name}\x00{len(data)}\x00".encode())
            digest.update(data)
    return digest.hexdigest()


def _extends(folder: Folder) -> bool:
    """True when a folder adds to the shipped ontology (the rule, unless its header says `extends: nothing`)."""
    for name, data in folder.files:
        if b"extends" in data and b"ontology" in data:
            top = read_text(decode(data, _shown(folder, name)), _shown(folder, name))
            header = Fields(top, FaultList(), "this file").child("ontology", "the header")
            if header is not None and header.text("extends"):
                return header.text("extends") != "nothing"
    return True


def select(added: Sequence[Path]) -> list[Folder]:
    """The folders that make up an ontology: the shipped one first, unless the first added folder replaces it."""
    folders = [gather(path) for path in added]
    if folders and not _extends(folders[0]):
        return folders
    return [gather(shipped_folder()), *folders]


def _shown(folder: Folder, name: str) -> str:
    return str(Path(folder.shown) / name)


def compile_folders(folders: Sequence[Folder]) -> tuple[Ontology, list[Fault]]:
    """Read, check and compile. Returns the ontology and the remarks (faults that do not stop it).

    Raises:
        InputError: with every error of every file.
    """
    faults = FaultList(limit=500)
    draft = Draft(faults)
    for layer, folder in enumerate(folders):
        draft.layer = layer
        for name, data in folder.files:
            shown = _shown(folder, name)
            try:
                top = read_text(decode(data, shown), shown)
            except InputError as error:
                faults.faults.extend(error.faults)
                continue
            _read_sections(Fields(top, faults, "this file"), draft)
    remarks = checking.check(draft)
    faults.raise_if_any()
    ontology = Ontology.build(draft, fingerprint(folders))
    return ontology, remarks


def _read_sections(top: Fields, draft: Draft) -> None:
    header = top.child("ontology", "the header")
    if header is not None:
        draft.header |= {key: header.text(key) or "" for key in ("id", "version", "licence", "title", "extends", "date")}
        header.done()
    things.read_sources(top, draft)
    for section in things.SECTIONS:
        if top.has(section):
            things.read_section(top, section, draft)
    for section in LINKS:
        if top.has(section):
            statements.read_links(top, section, draft)
    if top.has("herb"):
        statements.read_herb_section(top, draft)
    numbers.read_tables(top, draft)
    top.asked += [*things.SECTIONS, *LINKS, "herb"]
    top.done()
