"""Typed access to a mapping: each getter takes a key, checks it, and notes a fault instead of raising.

After the last getter, :meth:`Fields.done` reports every key that nobody asked for, with the nearest right one.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator

from kgraph.yamlio.faults import FaultList, Place
from kgraph.yamlio.nodes import Leaf, Mapping, Node, Sequence, kind_of, shorten
from kgraph.yamlio.suggest import did_you_mean

MAX_TEXT = 4000


class Fields:
    """The entries of one mapping."""

    def __init__(self, node: Mapping, faults: FaultList, what: str) -> None:
        self.node = node
        self.faults = faults
        self.what = what
        self.asked: list[str] = []

    @property
    def place(self) -> Place:
        return self.node.place

    def has(self, key: str) -> bool:
        return key in self.node.entries

    def place_of(self, key: str) -> Place:
        """Where the value of `key` stands, or the mapping itself when the key is missing."""
        entry = self.node.entries.get(key)
        return entry.place if entry is not None else self.node.place

    def fault(self, key: str, rule: str, message: str, remedy: str = "") -> None:
        self.faults.add(self.place_of(key), rule, message, remedy)

    def _get(self, key: str, required: bool) -> Node | None:
        self.asked.append(key)
        node = self.node.entries.get(key)
        if node is None or (isinstance(node, Leaf) and node.value is None and not node.quoted):
            if required:
                self.fault(key, "missing", f"{self.what} lacks `{key}`.", f"Add `{key}: ...`.")
            return None
        return node

    def text(self, key: str, required: bool = False, limit: int = MAX_TEXT) -> str | None:
        """Text, trimmed. Numbers are taken as written; booleans are not text."""
        node = self._get(key, required)
        if node is None:
            return None
        if not isinstance(node, Leaf) or isinstance(node.value, bool):
            self.fault(key, "not-text", f"`{key}` is {kind_of(node)}, text was wanted.", "Write text, quoted if need be.")
            return None
        value = node.text.strip()
        if required and not value:
            self.fault(key, "missing", f"`{key}` is empty.", f"Write the {key}.")
            return None
        if len(value) > limit:
            self.fault(key, "too-long", f"`{key}` has {len(value):,} characters; at most {limit:,}.", "Shorten it.")
            return None
        return value

    def word(self, key: str, known: Collection[str], required: bool = False) -> str | None:
        """One word of a closed list."""
        value = self.text(key, required)
        if value is None or value == "":
            return None
        if value not in known:
            remedy = did_you_mean(value, known) or ("Use one of: " + ", ".join(sorted(known)) + "." if len(known) <= 12 else "")
            self.fault(key, "unknown-word", f"`{key}` is `{shorten(value)}`, which is not known here.", remedy)
            return None
        return value

    def number(self, key: str, low: float = -math.inf, high: float = math.inf, required: bool = False) -> float | None:
        """A finite number within bounds (both included)."""
        node = self._get(key, required)
        if node is None:
            return None
        value = node.value if isinstance(node, Leaf) and not node.quoted else None
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.fault(key, "not-a-number", f"`{key}` is {kind_of(node)}, a number was wanted.", "Write a plain number such as 12 or 0.5.")
            return None
        if not math.isfinite(value):
            self.fault(key, "not-finite", f"`{key}` is {kind_of(node)}, which is no finite number.", "Write the number measured, or leave it out.")
            return None
        if not low <= value <= high:
            bound = f"at least {low:g}" if high == math.inf else f"from {low:g} to {high:g}"
            self.fault(key, "out-of-range", f"`{key}` is {value:g}, it must be {bound}.", "Check the number and its unit.")
            return None
        return float(value)

    def integer(self, key: str, low: int, high: int, required: bool = False) -> int | None:
        """A whole number within bounds (both included)."""
        value = self.number(key, low, high, required)
        if value is None:
            return None
        if value != int(value):
            self.fault(key, "not-whole", f"`{key}` is {value:g}, a whole number was wanted.", "Round it.")
            return None
        return int(value)

    def flag(self, key: str, words: dict[str, bool] | None = None) -> bool | None:
        """true or false; `words` names further spellings that this field allows, such as yes and no."""
        node = self._get(key, False)
        if node is None:
            return None
        if isinstance(node, Leaf):
            if isinstance(node.value, bool):
                return node.value
            if words and node.text.strip().lower() in words:
                return words[node.text.strip().lower()]
        wanted = "true or false" if not words else ", ".join([*words, "true", "false"])
        self.fault(key, "not-true-or-false", f"`{key}` is {kind_of(node)}.", f"Write {wanted}.")
        return None

    def texts(self, key: str, required: bool = False) -> tuple[str, ...]:
        """A list of texts; one text alone is taken as a list of one."""
        node = self._get(key, required)
        if node is None:
            return ()
        items = node.items if isinstance(node, Sequence) else [node]
        found: list[str] = []
        for item in items:
            if not isinstance(item, Leaf) or isinstance(item.value, bool) or not item.text.strip() or len(item.text) > MAX_TEXT:
                self.faults.add(item.place, "not-text", f"in `{key}`: {kind_of(item)}, text was wanted.", "Write text, quoted if need be.")
            else:
                found.append(item.text.strip())
        return tuple(found)

    def words(self, key: str, known: Collection[str], required: bool = False) -> tuple[str, ...]:
        """A list of words of a closed list."""
        good: list[str] = []
        for value in self.texts(key, required):
            if value in known:
                good.append(value)
            else:
                self.fault(key, "unknown-word", f"`{key}` holds `{shorten(value)}`, which is not known here.", did_you_mean(value, known))
        return tuple(good)

    def child(self, key: str, what: str, required: bool = False) -> Fields | None:
        """A mapping inside this one."""
        node = self._get(key, required)
        if node is None:
            return None
        if not isinstance(node, Mapping):
            self.fault(key, "not-a-mapping", f"`{key}` is {kind_of(node)}, a mapping was wanted.", "Write `key: value` below it.")
            return None
        return Fields(node, self.faults, what)

    def rows(self, key: str, what: str, required: bool = False) -> Iterator[Fields]:
        """The mappings of a list."""
        node = self._get(key, required)
        if node is None:
            return
        if not isinstance(node, Sequence):
            self.fault(key, "not-a-list", f"`{key}` is {kind_of(node)}, a list was wanted.", "Begin each entry with `- `.")
            return
        for item in node.items:
            if isinstance(item, Mapping):
                yield Fields(item, self.faults, what)
            else:
                self.faults.add(item.place, "not-a-mapping", f"in `{key}`: {kind_of(item)}, a mapping was wanted.", "Write `- {key: value}`.")

    def raw(self, key: str) -> Node | None:
        """The node itself, for a field that may have several forms."""
        return self._get(key, False)

    def done(self) -> None:
        """Report the keys that nobody asked for."""
        for key, place in self.node.key_places.items():
            if key not in self.asked:
                remedy = did_you_mean(key, self.asked) or "Known here: " + ", ".join(self.asked) + "."
                self.faults.add(place, "unknown-key", f"{self.what} has the unknown key `{shorten(key)}`.", remedy)
