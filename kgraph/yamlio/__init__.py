"""YAML with positions: the one strict reader that every file of kgraph goes through."""

from kgraph.yamlio.faults import Fault, FaultList, InputError, KgraphError, Place
from kgraph.yamlio.fields import Fields
from kgraph.yamlio.nodes import Leaf, Mapping, Node, Sequence, kind_of, shorten
from kgraph.yamlio.reader import LIMITS, Limits, decode, read_bytes, read_file, read_text
from kgraph.yamlio.suggest import did_you_mean, nearest

__all__ = [
    "LIMITS", "Fault", "FaultList", "Fields", "InputError", "KgraphError", "Leaf", "Limits", "Mapping", "Node", "Place",
    "Sequence", "decode", "did_you_mean", "kind_of", "nearest", "read_bytes", "read_file", "read_text", "shorten",
]
