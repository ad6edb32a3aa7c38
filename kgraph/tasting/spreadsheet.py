"""A class's spreadsheet: CSV with one row for each taster and sample, one column for each quality, read as records.

Columns (in any order; only `sample` and one quality are needed): ``sample``, ``taster``, ``herb`` (several of a blend
with ``;`` between them), ``tasted_on``, ``state`` (several with ``;``), ``after_sample``, ``swallowed``, ``looked_for``
(``standard``), ``supplier``, ``lot``, ``harvested``, the fields of the preparation, ``test:ID`` (yes or no),
``impression``; every other column is a quality, by id or name, with 0 to 3 or a strength word in its cells. An empty cell
says nothing. Rows of one sample make one record. Commas, semicolons or tabs part the cells; quotes as in RFC 4180.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

from kgraph.tasting.reading import read_tree
from kgraph.tasting.record import ANONYMOUS, FORMAT, Preparation, Record
from kgraph.tasting.vocabulary import Vocabulary
from kgraph.yamlio import (
    Fault,
    FaultList,
    InputError,
    Leaf,
    Limits,
    Mapping,
    Node,
    Place,
    Sequence,
    decode,
    did_you_mean,
    read_bytes,
    shorten,
)
from kgraph.yamlio.scalars import plain_value

LIMITS = Limits(bytes=5_000_000)
MOST_COLUMNS, MOST_ROWS, LONGEST_CELL = 400, 20_000, 20_000
_BATCH = ("supplier", "lot", "harvested")
_OF_SAMPLE = ("herb", "tasted_on", *_BATCH, *Preparation._fields)
_OF_TASTER = ("taster", "state", "after_sample", "swallowed", "looked_for", "impression")
_LISTS = ("herb", "state", "added", "looked_for")
_TEST = "test:"
#: A sample's records, or what is wrong with them, by name.
Read = list[tuple[str, Record | InputError]]


def read_spreadsheet(path: Path, vocabulary: Vocabulary) -> Read:
    """Every sample of a CSV file: (file#sample, record or what is wrong with it), in the order of the file.

    Raises:
        InputError: what is wrong with the file as a whole.
    """
    return read_spreadsheet_text(decode(read_bytes(path, LIMITS), str(path)), str(path), vocabulary)


def read_spreadsheet_text(text: str, file: str, vocabulary: Vocabulary) -> Read:
    """The same from text."""
    rows = _rows(text, file)
    if not rows:
        raise InputError.single("empty", "the file is empty.", "The first line names the columns.", Place(file))
    columns = _columns(rows[0], file, vocabulary)
    samples: dict[str, list[tuple[int, list[str]]]] = {}
    stray: list[Fault] = []
    for line, cells in rows[1:]:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns):]):
            stray.append(Fault(Place(file, line, len(columns) + 1), "too-many-cells", f"{len(cells)} cells stand in a table of {len(columns)} columns.", "Quote cells that hold a separator."))
            continue
        row = [cell.strip() for cell in cells[: len(columns)]] + [""] * (len(columns) - len(cells))
        sample = row[columns.index("sample")]
        if not sample:
            stray.append(Fault(Place(file, line, columns.index("sample") + 1), "no-sample", "this row names no sample.", "Write the sample's code."))
            continue
        samples.setdefault(sample, []).append((line, row))
    found: Read = [(f"{file}#{sample}", _record(sample, its, columns, file, vocabulary)) for sample, its in samples.items()]
    if stray:
        found.append((file, InputError(stray)))
    if not found:
        raise InputError.single("empty", "there is no row below the names of the columns.", "Add a row for each taster and sample.", Place(file))
    return found


def _rows(text: str, file: str) -> list[tuple[int, list[str]]]:
    """(line, cells) of every row."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    # quoted names do not hold separators that anybody would choose
    delimiter = max(",;\t", key=lambda mark: first.count(mark))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    csv.field_size_limit(LIMITS.bytes)
    found: list[tuple[int, list[str]]] = []
    line = 1
    try:
        for cells in reader:
            if len(cells) > MOST_COLUMNS:
                raise InputError.single("too-many-columns", f"{len(cells):,} columns, at most {MOST_COLUMNS}.", "One column a quality, one row a taster and sample.", Place(file, line, MOST_COLUMNS + 1))
            long = next((i for i, cell in enumerate(cells) if len(cell) > LONGEST_CELL), -1)
            if long >= 0:
                raise InputError.single("too-long", f"a cell of {len(cells[long]):,} characters; at most {LONGEST_CELL:,}.", "Shorten it, or look for a quotation mark that is not closed.", Place(file, line, long + 1))
            if cells or found:
                found.append((line, cells))
            if len(found) > MOST_ROWS:
                raise InputError.single("too-many-rows", f"more than {MOST_ROWS:,} rows.", "Split the file.", Place(file, line, 1))
            line = reader.line_num + 1
    except csv.Error as error:
        raise InputError.single("bad-csv", f"this is no CSV ({error}).", "Close every quotation mark; double those inside a cell.", Place(file, line, 1)) from None
    return found


def _columns(header: tuple[int, list[str]], file: str, vocabulary: Vocabulary) -> list[str]:
    """What each column is: a known name, `test:ID`, or a quality's id."""
    line, cells = header
    by_name = {name.lower(): id for id, names in vocabulary.qualities.items() for name in (*names, id)}
    known = {"sample", *_OF_SAMPLE, *_OF_TASTER}
    faults = FaultList()
    columns: list[str] = []
    while cells and not cells[-1].strip():
        cells = cells[:-1]
    for number, cell in enumerate(cells, start=1):
        name = cell.strip()
        lower = name.lower().replace(" ", "_")
        place = Place(file, line, number)
        column = lower if lower in known else by_name.get(name.lower()) or by_name.get(name.lower().replace("_", "-")) or ""
        if name.lower().startswith(_TEST):
            column = _TEST + name[len(_TEST):].strip().lower()
            if column[len(_TEST):] not in vocabulary.tests:
                faults.add(place, "unknown-test", f"no test is called `{shorten(name[len(_TEST):].strip())}`.", did_you_mean(column[len(_TEST):], vocabulary.tests))
        elif not column:
            faults.add(place, "unknown-column", f"no column and no quality is called `{shorten(name)}`.", did_you_mean(name, [*known, *by_name]) or "Take it out, or name a quality.")
        if column and column in columns:
            faults.add(place, "stated-twice", f"`{column}` is a column already.", "Keep one.")
        columns.append(column or name)
    if "sample" not in columns:
        others = "" if len(columns) > 1 else " Are the cells parted by commas, semicolons or tabs?"
        faults.add(Place(file, line, 1), "missing-column", f"the column `sample` is missing.{others}", "Its cells hold the code of each sample.")
    elif not any(column in vocabulary.qualities for column in columns):
        faults.add(Place(file, line, 1), "missing-column", "no column is a quality.", "Add columns such as `bitter`, with 0 to 3 or absent, weak, moderate, strong.")
    faults.raise_if_any()
    return columns


def _record(sample: str, rows: list[tuple[int, list[str]]], columns: list[str], file: str, vocabulary: Vocabulary) -> Record | InputError:
    """The record of one sample, by way of the tree that YAML would give, so that every rule of the format holds here too."""
    name = f"{file}#{sample}"
    faults = FaultList()
    top = Mapping(Place(file, rows[0][0], 1))
    at = {column: number for number, column in enumerate(columns, start=1)}

    def leaf(line: int, column: str, text: str) -> Leaf:
        value = plain_value(text)
        return Leaf(Place(file, line, at[column]), value if not isinstance(value, bool) else text, text)

    def put(into: Mapping, key: str, node: Node) -> None:
        into.entries[key] = node
        into.key_places[key] = node.place

    def node_of(line: int, column: str, text: str) -> Node:
        if column not in _LISTS:
            return leaf(line, column, text)
        return Sequence(Place(file, line, at[column]), [leaf(line, column, part.strip()) for part in text.split(";") if part.strip()])

    put(top, "record", Leaf(top.place, FORMAT, str(FORMAT)))
    _shared(top, rows, columns, faults, put, node_of, Leaf(Place(file, rows[0][0], at["sample"]), sample, sample, True))
    tasters, looked_for, findings, tests, impressions = Mapping(top.place), Mapping(top.place), Sequence(top.place), Sequence(top.place), Sequence(top.place)
    seen: dict[str, int] = {}
    for line, row in rows:
        cell = dict(zip(columns, row, strict=True))
        taster = cell.get("taster") or ANONYMOUS
        if taster in seen:
            faults.add(Place(file, line, at.get("taster", at["sample"])), "stated-twice", f"the taster `{shorten(taster)}` stands for this sample already on line {seen[taster]}.", "One row a taster and sample.")
            continue
        seen[taster] = line
        own = Mapping(Place(file, line, 1))
        for key in ("state", "after_sample", "swallowed"):
            if cell.get(key):
                put(own, key, node_of(line, key, cell[key]))
        put(tasters, taster, own)
        if cell.get("looked_for"):
            put(looked_for, taster, node_of(line, "looked_for", cell["looked_for"]))
        who = Leaf(Place(file, line, at.get("taster", 1)), taster, taster, True)
        for column, text in cell.items():
            if not text:
                continue
            entry = Mapping(Place(file, line, at[column]))
            if column in vocabulary.qualities:
                put(entry, "quality", Leaf(entry.place, column, column))
                put(entry, "strength", leaf(line, column, text.lower()))
                put(entry, "taster", who)
                findings.items.append(entry)
            elif column.startswith(_TEST):
                put(entry, "test", Leaf(entry.place, column[len(_TEST):], column[len(_TEST):]))
                put(entry, "seen", leaf(line, column, text.lower()))
                tests.items.append(entry)
            elif column == "impression":
                put(entry, "text", Leaf(entry.place, text, text, True))
                put(entry, "taster", who)
                impressions.items.append(entry)
    put(top, "tasters", tasters)
    if looked_for.entries:
        put(top, "looked_for", looked_for)
    put(top, "findings", findings)
    for key, items in (("tests", _agreed(tests)), ("impressions", impressions)):
        if items.items:
            put(top, key, items)
    try:
        faults.raise_if_any()
        return read_tree(top, name, vocabulary)
    except InputError as error:
        return error


def _agreed(tests: Sequence) -> Sequence:
    """A test that several tasters report alike is one test; where they differ both stay, and the reader says so."""
    found: dict[tuple[str, str], Node] = {}
    for entry in tests.items:
        assert isinstance(entry, Mapping)
        test, seen = entry.entries["test"], entry.entries["seen"]
        assert isinstance(test, Leaf) and isinstance(seen, Leaf)
        found.setdefault((test.text, seen.text), entry)
    return Sequence(tests.place, list(found.values()))


def _shared(
    top: Mapping, rows: list[tuple[int, list[str]]], columns: list[str], faults: FaultList,
    put: Callable[[Mapping, str, Node], None], node_of: Callable[[int, str, str], Node], code: Leaf,
) -> None:
    """What holds for the whole sample: stated in one row, or alike in several."""
    sample, batch, preparation = Mapping(top.place), Mapping(top.place), Mapping(top.place)
    put(sample, "code", code)
    for number, column in enumerate(columns):
        if column not in _OF_SAMPLE:
            continue
        stated = [(line, row[number]) for line, row in rows if row[number]]
        if not stated:
            continue
        line, text = stated[0]
        other = next(((at, value) for at, value in stated if value != text), None)
        if other:
            faults.add(Place(top.place.file, other[0], number + 1), "differs", f"`{column}` is `{shorten(other[1])}` here and `{shorten(text)}` on line {line}, for one sample.", "Make them alike, or give the samples codes of their own.")
        into = batch if column in _BATCH else top if column == "tasted_on" else sample if column == "herb" else preparation
        put(into, column, node_of(line, column, text))
    if batch.entries:
        put(sample, "batch", batch)
    put(top, "sample", sample)
    if preparation.entries:
        put(top, "preparation", preparation)
