"""What was observed: the tasting record, plain words, the vocabulary they may use."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kgraph.tasting.record import Finding, Impression, Outcome, Preparation, Record, Sample, Taster
from kgraph.tasting.vocabulary import Vocabulary

if TYPE_CHECKING:
    from kgraph.tasting.reading import read_record, read_record_text
    from kgraph.tasting.words import parse_words
    from kgraph.tasting.writing import record_as_data, write_record

__all__ = [
    "Finding", "Impression", "Outcome", "Preparation", "Record", "Sample", "Taster", "Vocabulary", "parse_words",
    "read_record", "read_record_text", "record_as_data", "write_record",
]

_HOME = {"read_record": "reading", "read_record_text": "reading", "parse_words": "words", "record_as_data": "writing", "write_record": "writing"}


def __getattr__(name: str) -> Any:
    """Readers and writers are imported when they are first asked for."""
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f"kgraph.tasting.{_HOME[name]}"), name)
    raise AttributeError(f"module 'kgraph.tasting' has no attribute {name!r}")
