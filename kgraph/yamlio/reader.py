"""The one strict YAML reader: text in, a tree of placed nodes out, or every fault with its place.

Untrusted input: size, depth and node count are bounded; anchors, aliases, tags, merge keys, several documents and
repeated keys are refused; nothing is ever constructed but text, numbers, booleans, lists and mappings.
"""

from __future__ import annotations

import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from kgraph.yamlio.faults import FaultList, InputError, Place
from kgraph.yamlio.nodes import Leaf, Mapping, Node, Sequence, kind_of, shorten
from kgraph.yamlio.scalars import plain_value

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True, slots=True)
class Limits:
    """Bounds on one file: bytes, levels of nesting, nodes."""

    bytes: int = 5_000_000
    depth: int = 30
    nodes: int = 400_000


LIMITS = Limits()


def is_folder(path: Path) -> bool:
    """Is it a folder? Raises :class:`InputError` where that cannot be told, as for a name that is too long."""
    try:
        return path.is_dir()
    except OSError as error:
        raise InputError.single("unreadable", f"this cannot be read ({error.strerror or 'no reason given'}).", "Check the name and its rights.", Place(shorten(str(path)))) from None


def read_bytes(path: Path, limits: Limits = LIMITS) -> bytes:
    """The bytes of a regular file within the size limit.

    Raises:
        InputError: missing, a folder, unreadable or too large.
    """
    shown = Place(str(path))
    try:
        if path.is_dir():
            raise InputError.single("is-a-folder", "this is a folder, a file was wanted.", "Name the file itself.", shown)
        if not (stat.S_ISREG(path.stat().st_mode) or str(path).startswith(("/dev/stdin", "/dev/fd/", "/proc/self/fd/"))):
            raise InputError.single("not-a-file", "this is no regular file.", "Name a text file.", shown)
        with path.open("rb") as stream:
            data = stream.read(limits.bytes + 1)
    except FileNotFoundError:
        raise InputError.single("no-such-file", "there is no such file.", "Check the name and the folder.", shown) from None
    except OSError as error:
        reason = error.strerror or "unreadable"
        raise InputError.single("unreadable", f"the file cannot be read ({reason}).", "Check its rights.", shown) from None
    if len(data) > limits.bytes:
        raise InputError.single(
            "too-large", f"the file is larger than {limits.bytes:,} bytes.", "Split it, or check that it is the right file.", shown
        )
    return data


def decode(data: bytes, file: str) -> str:
    """UTF-8 text; a byte order mark is dropped.

    Raises:
        InputError: binary data or another encoding.
    """
    if b"\x00" in data:
        line = data[: data.index(b"\x00")].count(b"\n") + 1
        raise InputError.single("binary", "this is binary data, not YAML text.", "Name a text file.", Place(file, line, 1))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = error.start - (before.rfind(b"\n") + 1) + 1
        raise InputError.single(
            "not-utf-8",
            f"byte 0x{data[error.start]:02x} is not UTF-8 (Latin-1 or another old encoding?).",
            "Save the file as UTF-8.",
            Place(file, line, column),
        ) from None


def read_file(path: Path, limits: Limits = LIMITS, shown_as: str | None = None) -> Mapping:
    """The mapping at the top of a YAML file. Raises :class:`InputError` with all faults of form."""
    name = shown_as or str(path)
    return read_text(decode(read_bytes(path, limits), name), name, limits)


def read_text(text: str, file: str, limits: Limits = LIMITS) -> Mapping:
    """The mapping at the top of a YAML text. Raises :class:`InputError` with all faults of form."""
    faults = FaultList()
    builder = _Builder(file, faults, limits)
    try:
        root = builder.build(text)
    except yaml.MarkedYAMLError as error:
        faults.add(*_syntax_fault(error, file, text))
        root = None
    except yaml.YAMLError as error:
        line = text.count("\n", 0, getattr(error, "position", 0) or 0) + 1
        faults.add(Place(file, line, 1), "syntax", f"this is not valid YAML: {shorten(str(error), 120)}.", "Mend the text there.")
        root = None
    faults.raise_if_any()
    if root is None:
        raise InputError.single("empty", "the file is empty.", "Write the mapping that belongs here.", Place(file, 1, 1))
    if not isinstance(root, Mapping):
        raise InputError.single(
            "not-a-mapping", f"the file begins with {kind_of(root)}, a mapping was wanted.", "Begin with `key: value` lines.", root.place
        )
    return root


def _syntax_fault(error: yaml.MarkedYAMLError, file: str, text: str) -> tuple[Place, str, str, str]:
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    lines = text.splitlines()
    here = lines[line - 1] if line <= len(lines) else ""
    if "\t" in here[: len(here) - len(here.lstrip())] or here[column - 1 : column] == "\t":
        return Place(file, line, column), "tab", "a tab stands where YAML wants spaces.", "Use spaces to indent."
    if "nesting depth" in (error.problem or ""):
        return Place(file, line, column), "too-deep", "nested far too deep.", "Flatten the file."
    problem = shorten(error.problem or "not valid YAML", 120)
    return Place(file, line, column), "syntax", f"this is not valid YAML: {problem}.", "Mend the line; quote text that holds `: ` or ` #`."


class _Stop(Exception):
    """A limit was passed: nothing more of this file is read."""


class _Builder:
    """Builds nodes from parser events, without recursion."""

    def __init__(self, file: str, faults: FaultList, limits: Limits) -> None:
        self.file = file
        self.faults = faults
        self.limits = limits
        self.count = 0
        self.stack: list[Sequence | Mapping] = []
        self.pending_keys: list[tuple[str | None, Place] | None] = []
        self.root: Node | None = None
        self.ignore_depth = 0

    def build(self, text: str) -> Node | None:
        loader = _Loader(text)
        documents = 0
        try:
            while True:
                event = loader.get_event()
                if event is None or isinstance(event, yaml.StreamEndEvent):
                    break
                if isinstance(event, yaml.DocumentStartEvent):
                    documents += 1
                    if documents > 1:
                        self._fault(event, "two-documents", "a second YAML document begins here.", "Keep one document a file; remove the `---`.")
                        break
                self._take(event)
        except _Stop:
            pass
        finally:
            loader.dispose()
        return self.root

    def _place(self, event: Any) -> Place:
        mark = event.start_mark
        return Place(self.file, mark.line + 1, mark.column + 1)

    def _fault(self, event: Any, rule: str, message: str, remedy: str) -> None:
        self.faults.add(self._place(event), rule, message, remedy)

    def _take(self, event: Any) -> None:
        if isinstance(event, yaml.AliasEvent):
            self._fault(event, "alias", f"the alias `*{shorten(str(event.anchor))}` is not allowed.", "Write the text out.")
            self._put(Leaf(self._place(event), None, "", True))
        elif isinstance(event, yaml.ScalarEvent):
            self._check_tag(event)
            quoted = event.style in ("'", '"', "|", ">")
            value = event.value if quoted else plain_value(event.value)
            self._put(Leaf(self._place(event), value, event.value, quoted))
        elif isinstance(event, yaml.SequenceStartEvent | yaml.MappingStartEvent):
            self._check_tag(event)
            node: Sequence | Mapping = (
                Sequence(self._place(event)) if isinstance(event, yaml.SequenceStartEvent) else Mapping(self._place(event))
            )
            self._put(node)
            self.stack.append(node)
            self.pending_keys.append(None)
            if len(self.stack) > self.limits.depth:
                self._fault(event, "too-deep", f"nested deeper than {self.limits.depth} levels.", "Flatten the file.")
                raise _Stop
        elif isinstance(event, yaml.SequenceEndEvent | yaml.MappingEndEvent):
            self.stack.pop()
            self.pending_keys.pop()

    def _check_tag(self, event: Any) -> None:
        if event.anchor:
            self._fault(event, "anchor", f"the anchor `&{shorten(event.anchor)}` is not allowed.", "Remove it.")
        if event.tag and event.tag != "!":
            self._fault(event, "tag", f"the tag `{shorten(event.tag)}` is not allowed.", "Write plain text or numbers.")

    def _put(self, node: Node) -> None:
        self.count += 1
        if self.count > self.limits.nodes:
            self.faults.add(node.place, "too-many-nodes", f"more than {self.limits.nodes:,} values.", "Split the file.")
            raise _Stop
        if not self.stack:
            self.root = node
            return
        parent = self.stack[-1]
        if isinstance(parent, Sequence):
            parent.items.append(node)
            return
        pending = self.pending_keys[-1]
        if pending is None:
            self.pending_keys[-1] = (self._key(node), node.place)
            return
        self.pending_keys[-1] = None
        key, place = pending
        if key is None:
            return
        if key in parent.entries:
            first = parent.key_places[key]
            self.faults.add(place, "duplicate-key", f"the key `{shorten(key)}` stands here again (first on line {first.line}).", "Keep one.")
            return
        parent.entries[key] = node
        parent.key_places[key] = place

    def _key(self, node: Node) -> str | None:
        if isinstance(node, Leaf) and node.text and node.text != "<<":
            return node.text
        what = "a merge key `<<`" if isinstance(node, Leaf) and node.text == "<<" else kind_of(node)
        self.faults.add(node.place, "bad-key", f"{what} cannot be a key.", "Use a plain word.")
        return None
