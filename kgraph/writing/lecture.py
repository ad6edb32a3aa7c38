"""The page of a lecture: one file that draws, explains, steps and reasons with no network."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from importlib import metadata
from typing import Any, NamedTuple

from kgraph.claims import Claim, Ontology
from kgraph.graphs.picture import LAYER_NAMES, Picture
from kgraph.reasoning.answer import NOTICE
from kgraph.writing import svg
from kgraph.writing.citing import full
from kgraph.writing.document import filled, part
from kgraph.writing.plain import visible
from kgraph.writing.steps import Step

PARTS = ("engine.js", "map.js", "board.js")


class Caution(NamedTuple):
    """A line of the section *Mind*."""

    avoid: bool
    text: str


class Lecture(NamedTuple):
    """Everything that goes into a page.

    Attributes:
        picture, steps: what is drawn, and the order in which it is revealed.
        subtitle: one sentence under the title.
        stops: lines that come before everything ("STOP ...").
        cautions, cannot: the lines of *Mind*.
        board: what the page reasons with, None for a page that only shows.
        cells, active: the record's cells in the board's numbers, and the conditions that hold.
        present: presenter keys work from the start.
        herbs: whether herbs may be lit.
    """

    picture: Picture
    steps: tuple[Step, ...]
    subtitle: str
    stops: tuple[str, ...]
    cautions: tuple[Caution, ...]
    cannot: tuple[str, ...]
    board: dict[str, Any] | None
    cells: Sequence[dict[str, Any]] = ()
    active: Sequence[int] = ()
    present: bool = False
    herbs: bool = False


class _Claims:
    """Claims by number, their sources numbered in the order in which they are first cited."""

    def __init__(self, ontology: Ontology) -> None:
        self.ontology = ontology
        self.rows: list[dict[str, Any]] = []
        self.sources: dict[str, int] = {}
        self._numbers: dict[str, int] = {}

    def number(self, id: str) -> int:
        if id not in self._numbers:
            self._numbers[id] = len(self.rows)
            self.rows.append(self._row(self.ontology.claim(id)))
        return self._numbers[id]

    def _row(self, claim: Claim) -> dict[str, Any]:
        read = [a for a in claim.attributions if a.read]
        numbers = [self.sources.setdefault(a.source, len(self.sources) + 1) for a in read]
        marks = [f"{n}{f' ({a.where})' if a.where else ''}" for n, a in zip(numbers, read, strict=True)]
        if not read:
            marks.append("common practice" if claim.common_practice else "from memory")
        basis = f", known from {svg.DASHES[claim.basis][1]}" if claim.basis in svg.DASHES else ""
        preparation = claim.text("preparation")
        told = [claim.text(key) for key in ("mechanism", "detail", "note", "status") if claim.text(key)]
        words = [claim.word.replace("-", " ") + basis, *([f"({preparation})"] if preparation not in ("", "any") else []), *told]
        return {"t": visible("; ".join(w for w in words if w)), "n": f"[{', '.join(marks)}]", "s": numbers}


def page(ontology: Ontology, lecture: Lecture, day: date | None = None) -> str:
    """The whole page as one string of HTML."""
    picture, claims = lecture.picture, _Claims(ontology)
    nodes = [_node(node) for node in picture.nodes]
    links = [_link(picture, claims, number) for number in range(len(picture.links))]
    size = svg.size_of(picture)
    herbs = _herbs(ontology, picture) if lecture.herbs else []
    sources = [full(ontology.sources[id]) for id in claims.sources]
    data = {
        "nodes": nodes, "links": links, "claims": claims.rows, "sources": sources, "layers": list(picture.layers),
        "size": {"column": svg.COLUMN, "row": svg.ROW, "margin": svg.MARGIN, "top": svg.TOP, "tall": svg.TALL},
        "steps": [step._asdict() for step in lecture.steps], "herbs": herbs, "board": lecture.board, "cells": list(lecture.cells), "active": list(lecture.active), "present": lecture.present,
    }
    style, script = part("page.css"), "\n".join(part(name) for name in (PARTS if lecture.board else PARTS[1:2]))
    key, _ = svg.legend(picture, 0)
    return filled(
        "page.html.j2", style, script, data, title=visible(picture.title), subtitle=lecture.subtitle, stops=lecture.stops, notice=NOTICE, version=ontology.version, day=(day or date.today()).isoformat(), program=metadata.version("kgraph"),
        ontology=ontology.header.get("title", "") or ontology.header.get("id", ""), licence=ontology.header.get("licence", ""), steps=lecture.steps, herbs=herbs, layers=[{"number": i, "name": LAYER_NAMES[i]} for i in picture.layers],
        senses=list(dict.fromkeys(n.sense for n in picture.nodes if n.sense)), bases=[(k, words) for k, (_, words) in svg.DASHES.items() if any(svg.known_from(link) == k for link in picture.links)],
        width=size.width, height=size.height, picture=svg.parts(picture), key=key, board=lecture.board, preset=bool(lecture.cells), cautions=lecture.cautions, cannot=lecture.cannot,
        nodes=nodes, links=[{**link, "known": svg.DASHES[link["f"]][1], "cited": ", ".join(dict.fromkeys(claims.rows[c]["n"].strip("[]") for c in link["c"]))} for link in links],
        sources=sources,
    )


def _node(node: Any) -> dict[str, Any]:
    return {
        "l": visible(node.label), "k": svg.KIND_NAMES[node.kind], "d": visible(node.definition), "a": visible(node.also.replace(" | ", ", ")), "e": node.sense, "m": node.mark,
        "y": node.layer, "p": node.place, "w": round(svg.width_of(svg.clipped(node.label)), 1),
    }


def _link(picture: Picture, claims: _Claims, number: int) -> dict[str, Any]:
    link = picture.links[number]
    return {"s": link.source, "t": link.target, "r": link.relation, "f": svg.known_from(link), "x": visible(svg.sentence(picture, link)), "c": [claims.number(id) for id in link.claims]}


def _herbs(ontology: Ontology, picture: Picture) -> list[dict[str, Any]]:
    """Every herb with the numbers of the things drawn that are said of it."""
    numbers = {node.id: i for i, node in enumerate(picture.nodes)}
    found = []
    for herb in sorted(ontology.herbs.values(), key=lambda h: h.label.casefold()):
        said = [(kind, c.object) for relation, kind in (("described_as", "quality"), ("contains", "class"), ("acts_as", "action"), ("used_for", "use"), ("warns_of", "caution")) for c in ontology.said_of(relation, herb.id) if c.word != "absent"]
        said += [("family", ontology.classes[id].family) for kind, id in said if kind == "class" and ontology.classes[id].family]
        mine = sorted({numbers[f"{kind}/{id}"] for kind, id in said if f"{kind}/{id}" in numbers})
        avoid = dict.fromkeys(ontology.label("caution", c.object) for c in ontology.said_of("warns_of", herb.id) if c.word == "avoid")
        found.append({"l": visible(herb.label), "b": visible(f"{herb.name}, {herb.part}"), "m": "never" if herb.taste_safety == "do-not-taste" else "", "n": mine, "w": visible(", ".join(avoid))})
    return found


def static(lecture: Lecture) -> str:
    """The picture of a lecture as an SVG file, with what to mind below it."""
    avoid = [c.text.split(":")[0] for c in lecture.cautions if c.avoid]
    mind = f"To avoid: {'; '.join(dict.fromkeys(avoid))}. " if avoid else ""
    return svg.render(lecture.picture, lecture.subtitle, " ".join([*lecture.stops, mind + lecture.cannot[0], NOTICE]))
