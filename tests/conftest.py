"""Fixtures for all rooms: the shipped knowledge, a private cache folder, a fixed terminal."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile("house", deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
settings.load_profile("house")

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="session", autouse=True)
def private_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the tests out of the user's cache, and the screen at one width."""
    before = dict(os.environ)
    os.environ.update({"XDG_CACHE_HOME": str(tmp_path_factory.mktemp("cache")), "COLUMNS": "88", "TERM": "dumb", "NO_COLOR": "1"})
    os.environ.pop("KGRAPH_TRACE", None)
    yield
    os.environ.clear()
    os.environ.update(before)


@pytest.fixture(scope="session")
def known():
    """The shipped knowledge."""
    import kgraph

    return kgraph.load()
