"""What every part of a screen needs: the answer, the words behind its ids, the lines so far, how tight it must be."""

from __future__ import annotations

from dataclasses import dataclass

from kgraph.claims import Ontology
from kgraph.reasoning.answer import Answer
from kgraph.writing.citing import Citations
from kgraph.writing.screen import Screen

#: Candidates of a kind on the first screen.
SHOWN = 3
_TEST = "test/"


@dataclass(slots=True)
class Page:
    """A screen in the making. ``tight`` grows from 0 until the first screen fits; ``full`` says everything."""

    answer: Answer
    ontology: Ontology
    screen: Screen
    cites: Citations
    full: bool = False
    numbers: bool = False
    tight: int = 0

    def quality(self, percept: str) -> str:
        """The label of a percept: a quality's, or a test's."""
        if is_test(percept):
            return self.ontology.label("test", percept.removeprefix(_TEST))
        return self.ontology.label("quality", percept)


def is_test(percept: str) -> bool:
    """Is this percept the outcome of a test?"""
    return percept.startswith(_TEST)
