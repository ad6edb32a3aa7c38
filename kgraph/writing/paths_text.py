"""Paths of reasoning on a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from kgraph.claims import Ontology
from kgraph.writing.citing import Citations, full
from kgraph.writing.screen import Screen

if TYPE_CHECKING:
    from kgraph.graphs.paths import Step

WORDS = {
    "evokes": "given {word} by", "word_for": "a word for", "kind_of": "of the kind", "in_family": "among them", "acts_as": "{word} belongs with",
    "warns_of": "mind ({word}):", "used_for": "{word} use:",
}
NOTICE = "Paths show how statements hang together. They say nothing about a sample, and no promise that anything works; for learning only."


def _label(ontology: Ontology, node: str) -> str:
    kind, id = node.split("/", 1)
    return ontology.label(kind, id)


def render(ontology: Ontology, paths: Sequence[tuple[Step, ...]], *, width: int, bold: bool = False, most: int = 0) -> str:
    """Each path as one sentence of steps with numbered sources, then the sources."""
    screen, cite = Screen(width, bold), Citations(ontology)
    shown = paths[:most] if most else paths
    screen.heading(f"{len(paths)} path{'' if len(paths) == 1 else 's'}" + (f", the first {most} shown (--full for all)" if len(shown) < len(paths) else ""))
    for path in shown:
        text = _label(ontology, path[0].start)
        for step in path:
            word = ontology.claim(step.claims[0]).word.replace("-", " ") if step.claims else ""
            says = " ".join(WORDS[step.relation].format(word=word).split()).replace("()", "").replace(" :", ":")
            text += f" → {says} {_label(ontology, step.end)} {cite.mark(step.claims)}".rstrip()
        screen.item(text)
    if cite.numbers:
        screen.heading("Sources")
        for number, source in cite.listing():
            screen.item(f"[{number}] {full(source)}")
    screen.item(NOTICE, indent=0)
    return screen.text()


def as_dict(ontology: Ontology, paths: Sequence[tuple[Step, ...]]) -> dict[str, Any]:
    """The same as data."""
    return {"paths": [
        [{"from": s.start, "from_label": _label(ontology, s.start), "relation": s.relation, "to": s.end, "to_label": _label(ontology, s.end), "claims": list(s.claims)} for s in path]
        for path in paths
    ]}
