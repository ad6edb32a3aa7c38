"""A YAML document as a tree of nodes that know their place."""

from __future__ import annotations

from dataclasses import dataclass, field

from kgraph.yamlio.faults import Place
from kgraph.yamlio.scalars import Scalar


@dataclass(slots=True)
class Leaf:
    """A scalar: its value and the text as written."""

    place: Place
    value: Scalar
    text: str
    quoted: bool = False


@dataclass(slots=True)
class Sequence:
    """A list."""

    place: Place
    items: list[Node] = field(default_factory=list)


@dataclass(slots=True)
class Mapping:
    """A mapping from text keys; ``key_places`` says where each key stands."""

    place: Place
    entries: dict[str, Node] = field(default_factory=dict)
    key_places: dict[str, Place] = field(default_factory=dict)


Node = Leaf | Sequence | Mapping


def kind_of(node: Node) -> str:
    """What a node is, in a reader's words."""
    if isinstance(node, Mapping):
        return "a mapping (key: value)"
    if isinstance(node, Sequence):
        return "a list"
    if node.value is None:
        return "nothing"
    return f"`{shorten(node.text)}`"


def shorten(text: str, limit: int = 60) -> str:
    """Text fit for a message: one line, no control characters, not too long."""
    clean = "".join(ch if ch.isprintable() else "?" for ch in text)
    return clean if len(clean) <= limit else clean[: limit - 3] + "..."
