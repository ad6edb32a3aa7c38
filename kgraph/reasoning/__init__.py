"""What follows: the network built from the claims, exact inference, candidates, paths, cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kgraph.reasoning.network import Network, build_network
from kgraph.reasoning.vocabulary import vocabulary_of

if TYPE_CHECKING:
    from kgraph.reasoning.answer import Answer
    from kgraph.reasoning.asking import ask
    from kgraph.reasoning.explanation import Explanation, why

__all__ = ["Answer", "Explanation", "Network", "ask", "build_network", "vocabulary_of", "why"]

_HOME = {"Answer": "answer", "ask": "asking", "Explanation": "explanation", "why": "explanation"}


def __getattr__(name: str) -> Any:
    """Each question brings its own modules; none is loaded for another's sake."""
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f"kgraph.reasoning.{_HOME[name]}"), name)
    raise AttributeError(f"module 'kgraph.reasoning' has no attribute {name!r}")
