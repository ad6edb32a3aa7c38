"""What follows: the network built from the claims, exact inference, candidates, paths, cautions."""

from kgraph.reasoning.answer import Answer
from kgraph.reasoning.ask import ask
from kgraph.reasoning.network import Network, build_network
from kgraph.reasoning.vocabulary import vocabulary_of
from kgraph.reasoning.why import Explanation, why

__all__ = ["Answer", "Explanation", "Network", "ask", "build_network", "vocabulary_of", "why"]
