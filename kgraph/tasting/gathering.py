"""Records from many places: files, folders of files, spreadsheets. A bad one does not stop the others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from kgraph.tasting.reading import read_record
from kgraph.tasting.record import Record
from kgraph.tasting.spreadsheet import read_spreadsheet
from kgraph.tasting.vocabulary import Vocabulary
from kgraph.yamlio import InputError, Place, is_folder

_YAML, _TABLE = (".yaml", ".yml"), ".csv"


def is_many(name: str) -> bool:
    """Does this name hold several records: a folder or a spreadsheet?"""
    return name.lower().endswith(_TABLE) or is_folder(Path(name))


def files_of(names: Sequence[str]) -> list[Path]:
    """The files behind names, folders opened one level deep; each file once.

    Raises:
        InputError: a folder without records, or nothing at all.
    """
    found: dict[Path, None] = {}
    for name in names:
        path = Path(name)
        if not is_folder(path):
            found[path] = None
            continue
        inside = sorted(p for p in path.iterdir() if p.suffix.lower() in (*_YAML, _TABLE) and not p.name.startswith("."))
        if not inside:
            raise InputError.single("no-records", "there is no record in this folder.", "Put .yaml records or .csv spreadsheets into it.", Place(name))
        found |= dict.fromkeys(inside)
    return list(found)


def read_all(files: Sequence[Path], vocabulary: Vocabulary) -> Iterator[list[tuple[str, Record | InputError]]]:
    """For each file its records by name, or what is wrong with them."""
    for path in files:
        try:
            if path.suffix.lower() == _TABLE:
                yield list(read_spreadsheet(path, vocabulary))
            else:
                yield [(str(path), read_record(path, vocabulary))]
        except InputError as error:
            yield [(str(path), error)]
