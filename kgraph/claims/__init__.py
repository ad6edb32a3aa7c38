"""What is known: the model, reading and checking an ontology, the compiled snapshot."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from kgraph.claims import folders as folder
from kgraph.claims import snapshot
from kgraph.claims.model import Attribution, Claim, Condition, ConstituentClass, Herb, Quality, Source, Test, Thing
from kgraph.claims.ontology import Ontology
from kgraph.claims.tables import Tables

__all__ = [
    "Attribution", "Claim", "Condition", "ConstituentClass", "Herb", "Ontology", "Quality", "Source", "Tables", "Test", "Thing", "load",
]


def load(added: Sequence[str | Path] = (), *, cache: bool = True) -> Ontology:
    """The shipped ontology, with the given folders added to it (or in its place, if the first says `extends: nothing`).

    Raises:
        kgraph.yamlio.InputError: with every error of every file.
    """
    folders = folder.select([Path(path) for path in added])
    sha256 = folder.fingerprint(folders)
    if cache and (found := snapshot.load(sha256)) is not None:
        return found
    from kgraph.claims import reading

    ontology, _ = reading.compile_folders(folders)
    if cache:
        snapshot.save(ontology)
    return ontology
