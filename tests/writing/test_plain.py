"""Numbers in plain words."""

from __future__ import annotations

import pytest

from kgraph.writing.plain import before_after


@pytest.mark.parametrize(("before", "after", "said"), [
    (0.3, 0.8, "about 3 in 10 → 8 in 10"), (0.38, 0.42, "about 4 in 10 → a little more"), (0.42, 0.38, "about 4 in 10 → a little less"), (0.4, 0.4, "about 4 in 10 → 4 in 10"),
])
def test_before_and_after(before: float, after: float, said: str) -> None:
    """What moved but is told alike is said to have moved."""
    assert before_after(before, after) == said
