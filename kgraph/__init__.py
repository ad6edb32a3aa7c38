"""kgraph: from the taste of a medicinal herb to its constituents, actions and cautions, with every step traced."""

__version__ = "0.1.0"
