"""Bug: `warm and spicy` was split at `and` into two findings."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize("words", ["warm and spicy", "a little warm and spicy", "bitter, warm and spicy and sweet"])
def test_a_name_with_a_separator_is_one_finding(known, words: str) -> None:
    """The name is put aside before the text is split."""
    qualities = [f.quality for f in known.read(words).findings]
    assert "warm-spicy" in qualities and "warming" not in qualities
