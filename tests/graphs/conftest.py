"""The shipped graph, made once."""

from __future__ import annotations

from pathlib import Path

import pytest
from pyoxigraph import Store, Triple

from kgraph.graphs.iris import Names
from kgraph.graphs.querying import store_of
from kgraph.graphs.records import record_triples
from kgraph.graphs.triples import TripleMaker
from kgraph.session import Knowledge

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def names() -> Names:
    return Names()


@pytest.fixture(scope="session")
def parts(known: Knowledge, names: Names) -> dict[str, list[Triple]]:
    """The shipped graph with the demo's records."""
    records = [known.read(file) for file in sorted((ROOT / "demo_graph" / "records").glob("*.yaml"))]
    assert records
    return TripleMaker(known.ontology, names).parts([t for record in records for t in record_triples(record, known.ontology, names)])


@pytest.fixture(scope="session")
def store(known: Knowledge, names: Names) -> Store:
    return store_of(known.ontology, names)
