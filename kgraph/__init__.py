"""kgraph: from the taste of a medicinal herb to its constituents, actions and cautions, with every step traced.

>>> import kgraph
>>> known = kgraph.load()
>>> known.ask("slimy, no smell").families[0].label
'mucilages and gums'
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"
__all__ = ["Knowledge", "__version__", "load"]

if TYPE_CHECKING:
    from kgraph.session import Knowledge, load


def __getattr__(name: str) -> Any:
    """Import the interface when it is first asked for, so that `kgraph --help` stays quick."""
    if name in ("load", "Knowledge"):
        from kgraph import session

        return getattr(session, name)
    raise AttributeError(f"module 'kgraph' has no attribute {name!r}")
