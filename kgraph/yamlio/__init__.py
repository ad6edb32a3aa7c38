"""YAML with positions: the one strict reader that every file of kgraph goes through.

The reader itself is imported when it is first asked for, so that a command that reads no file loads no YAML library.
"""

from typing import TYPE_CHECKING, Any

from kgraph.yamlio.faults import Fault, FaultList, InputError, KgraphError, Place
from kgraph.yamlio.fields import Fields
from kgraph.yamlio.nodes import Leaf, Mapping, Node, Sequence, kind_of, shorten
from kgraph.yamlio.suggest import did_you_mean, nearest

if TYPE_CHECKING:
    from kgraph.yamlio.reader import LIMITS, Limits, decode, is_folder, read_bytes, read_file, read_text

__all__ = [
    "LIMITS", "Fault", "FaultList", "Fields", "InputError", "KgraphError", "Leaf", "Limits", "Mapping", "Node", "Place",
    "Sequence", "decode", "did_you_mean", "is_folder", "kind_of", "nearest", "read_bytes", "read_file", "read_text", "shorten",
]


def __getattr__(name: str) -> Any:
    if name in ("LIMITS", "Limits", "decode", "is_folder", "read_bytes", "read_file", "read_text"):
        from kgraph.yamlio import reader

        return getattr(reader, name)
    raise AttributeError(f"module 'kgraph.yamlio' has no attribute {name!r}")
