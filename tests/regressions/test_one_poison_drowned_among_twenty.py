"""Bug: a tingle raised the aconite-type alkaloids twentyfold, yet `do not taste` was not listed: all poisons together had hardly risen."""

from __future__ import annotations

from kgraph.tasting import Finding, Record


def test_a_single_poison_that_rises_is_warned_of(known) -> None:
    """Each carrier of a caution is looked at by itself too."""
    reply = known.ask(Record((Finding("tingling", 3), Finding("numbing", 1), Finding("bitter", 0))))
    (heed,) = [h for h in reply.cautions if h.id == "do-not-taste"]
    assert heed.because == ("diterpenoid-alkaloids",)
    assert reply.text().startswith("WARNING.")
