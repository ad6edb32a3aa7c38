"""Bug: five thousand brackets after a key were called a syntax error: the parser's own limit spoke before ours."""

from __future__ import annotations

import pytest

from kgraph.yamlio import InputError, read_text


@pytest.mark.parametrize("text", ["a: " + "[" * 5000, "[" * 5000, "a:\n  - " + "- " * 3000])
def test_too_deep_is_called_too_deep(text: str) -> None:
    """Whoever notices first, the word is the same."""
    with pytest.raises(InputError) as caught:
        read_text(text, "f.yaml")
    assert [f.rule for f in caught.value.faults] == ["too-deep"]
