"""What was observed: the tasting record, plain words, the vocabulary they may use."""

from kgraph.tasting.reading import read_record, read_record_text
from kgraph.tasting.record import Finding, Impression, Outcome, Preparation, Record, Sample, Taster
from kgraph.tasting.vocabulary import Vocabulary
from kgraph.tasting.words import parse_words
from kgraph.tasting.writing import record_as_data, write_record

__all__ = [
    "Finding",
    "Impression",
    "Outcome",
    "Preparation",
    "Record",
    "Sample",
    "Taster",
    "Vocabulary",
    "parse_words",
    "read_record",
    "read_record_text",
    "record_as_data",
    "write_record",
]
