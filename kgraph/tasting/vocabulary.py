"""The words that a tasting may use. A plain value, so that this room does not depend on what is known about them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Ids and names that may stand in a record.

    Attributes:
        qualities: id to its names, the label first.
        absences: ids that mean "looked for and not there".
        stops: ids of the signs to stop.
        tasted: ids of what the tongue tastes, which cannot be smelled.
        never_tasted: ids of herbs that are never to be tasted.
        herbs, tests: known ids.
        states: taster's state word to its label.
        standard_list: qualities of the standard sheet, and its version.
    """

    qualities: Mapping[str, tuple[str, ...]]
    absences: frozenset[str] = frozenset()
    herbs: frozenset[str] = frozenset()
    stops: frozenset[str] = frozenset()
    tasted: frozenset[str] = frozenset()
    never_tasted: frozenset[str] = frozenset()
    tests: frozenset[str] = frozenset()
    states: Mapping[str, str] = field(default_factory=dict)
    standard_list: tuple[str, ...] = ()
    standard_version: int = 0
