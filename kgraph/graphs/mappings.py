"""Mappings to open vocabularies: `ontology/mappings/*.sssom.tsv`, read as SSSOM (Simple Standard for Sharing Ontological Mappings).

Each row was found by its label in a public copy of the vocabulary, which the row names; none is from memory.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from pyoxigraph import NamedNode, Triple

from kgraph.claims import Ontology
from kgraph.claims.folders import shipped_folder
from kgraph.graphs.iris import SKOS, Names

MATCHES = ("exactMatch", "closeMatch", "broadMatch", "narrowMatch", "relatedMatch")


class Mapping(NamedTuple):
    """One row: ``kind`` and ``id`` of the thing ("" for a name that is no thing, such as a marker compound), and what it is matched to."""

    kind: str
    id: str
    label: str
    match: str
    object: str
    object_iri: str
    object_label: str
    justification: str
    copy: str


def read_mappings(folder: Path | None = None) -> list[Mapping]:
    """All rows of all mapping files, in the order of files and rows."""
    found: list[Mapping] = []
    for file in sorted(((folder or shipped_folder()) / "mappings").glob("*.sssom.tsv")):
        lines = file.read_text(encoding="utf-8").splitlines()
        curies = dict(re.findall(r'^#  (\w+): "([^"]+)"', "\n".join(lines), re.MULTILINE))
        for row in csv.DictReader((line for line in lines if not line.startswith("#")), delimiter="\t"):
            kind, _, id = row["subject_id"].partition(":")
            prefix, _, local = row["object_id"].partition(":")
            found.append(Mapping(
                kind, id, row["subject_label"], row["predicate_id"].removeprefix("skos:"), row["object_id"], curies[prefix] + local, row["object_label"],
                row["mapping_justification"], row["object_source_version"],
            ))
    return found


def mapping_triples(ontology: Ontology, names: Names) -> Iterator[Triple]:
    """The mappings of things that this ontology has, as SKOS matches."""
    for row in read_mappings():
        if row.kind and row.id in ontology.things[row.kind]:
            yield Triple(NamedNode(names.thing(row.kind, row.id)), NamedNode(SKOS + row.match), NamedNode(row.object_iri))
