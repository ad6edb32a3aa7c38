"""Bug: `dry mouth` is a finding and the label of a taster's state; the state won, and the finding was lost."""

from __future__ import annotations


def test_dry_mouth_is_a_finding(known) -> None:
    """A quality's word comes before a state's."""
    record = known.read("dry mouth, bitter")
    assert [f.quality for f in record.findings] == ["astringent-drying", "bitter"]
    assert record.tasters["taster"].state == ()
