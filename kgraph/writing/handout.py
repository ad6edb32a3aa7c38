"""The key for the hand: from what the tongue notices to families, actions and cautions, on one or two sheets.

Each line is what the program says of that one finding, strongly noticed, and nothing else; so the sheet cannot say what
the program would not.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import NamedTuple

from kgraph.claims import Ontology
from kgraph.reasoning.answer import NOTICE, Answer
from kgraph.tasting import Finding, Record
from kgraph.writing.citing import Citations, short
from kgraph.writing.document import said, still_page
from kgraph.writing.plain import chance, listing, visible

FAMILIES, ACTIONS, CARE = 3, 3, 4
#: The senses of the key, in the order of a tasting.
SENSES = ("taste", "mouthfeel", "chemesthesis", "aftertaste")
STYLE = """
body{font:7.7pt/1.24 system-ui,"DejaVu Sans",sans-serif;color:#000;background:#fff;max-width:190mm;margin:6mm auto;padding:0 4mm}
h1{font-size:14pt;margin:0 0 1mm}h2{font-size:10pt;margin:2mm 0 1mm}p{margin:1mm 0}
table{border-collapse:collapse;width:100%;table-layout:fixed}.a{width:12%}.b{width:30%}.c{width:19%}.d{width:39%}th,td{border-bottom:.3pt solid #666;text-align:left;vertical-align:top;padding:.5mm 1.2mm;overflow-wrap:anywhere}
thead th{border-bottom:1pt solid #000}.mind{border:1.2pt solid #a40019;padding:1.2mm 2mm;margin:1.5mm 0}.mind strong,.avoid{color:#a40019}
.small{font-size:7pt;line-height:1.2}tr{break-inside:avoid}
@page{size:A4;margin:8mm 9mm 13mm;@bottom-left{content:"For learning only: no diagnosis, no advice to take anything. Tasting unknown plants can poison. Swallowed something poisonous? Call a poison centre.";font:6.5pt sans-serif}@bottom-right{content:counter(page);font:7pt sans-serif}}
@media print{body{margin:0;max-width:none;padding:0}}
@media screen{body{font-size:1rem;line-height:1.45;max-width:75rem}.small{font-size:.9rem}.wide{overflow-x:auto}}
""".strip()


class Line(NamedTuple):
    """One quality: families and actions with their chances after it alone, cautions, and the marks of the sources."""

    quality: str
    definition: str
    families: tuple[tuple[str, str], ...]
    actions: tuple[str, ...]
    avoid: tuple[str, ...]
    care: tuple[str, ...]
    sources: str


class Handout(NamedTuple):
    """The sheet."""

    title: str
    version: str
    lines: tuple[Line, ...]
    stops: tuple[str, ...]
    cannot: tuple[str, ...]
    sources: tuple[str, ...]


def handout_of(ontology: Ontology, ask: Callable[[Record], Answer]) -> Handout:
    """The sheet of an ontology: one line for each percept of tongue and mouth that anything gives.

    Args:
        ontology: what is known.
        ask: a record to its answer.
    """
    cites = Citations(ontology)
    lines: list[Line] = []
    answer: Answer | None = None
    for sense in SENSES:
        for quality in ontology.qualities.values():
            if quality.sense != sense or quality.kind not in ("percept", "kind") or not ontology.pointing_at("evokes", quality.id):
                continue
            answer = ask(Record((Finding(quality.id, 3),)))
            families, actions = answer.risen("families")[:FAMILIES], answer.risen("actions")[:ACTIONS]
            if not families:
                continue
            claims = [path.claims[0] for c in families for path in c.paths[:1]]
            avoid = dict.fromkeys(h.label for h in answer.cautions if h.severity == "avoid")
            care = list(dict.fromkeys(h.label for h in answer.cautions if h.severity == "care" and h.label not in avoid))
            lines.append(Line(
                quality.label, quality.definition, tuple((c.label, chance(c.posterior)) for c in families), tuple(c.label for c in actions),
                tuple(avoid), (*care[:CARE], *([f"{len(care) - CARE} more"] if len(care) > CARE else [])), cites.mark(claims),
            ))
    stops = tuple(q.label for q in ontology.qualities.values() if q.kind == "stop")
    hidden = answer.cannot_show if answer else ()
    silent, masked = [h.label for h in hidden if not h.by], [h.label for h in hidden if h.by]
    cannot = [f"Poisons with nothing to taste: {listing(silent)}."] if silent else []
    cannot += [f"Poisons that taste like harmless herbs: {listing(masked)}."] if masked else []
    numbered = tuple(f"{number} {short(source)}" for number, source in cites.listing())
    return Handout("From mouthfeel and taste to constituents, actions and cautions", ontology.version, tuple(lines), stops, (*cannot, "No taste rules them out, and no taste names a herb."), numbered)


def _families(line: Line) -> str:
    return "; ".join(f"{label} ({share})" for label, share in line.families)


BEFORE = (
    "Only a herb known for certain: weak (1 g in 100 mL), covered, warm, a sip held and spat out. Nothing while pregnant or breast-feeding, with an allergy to its kin, or with medicines that it may meet.",
    "A line tells what one finding, plainly noticed, makes likelier, as “about 8 in 10”; several findings together tell more, and the program works that out. An action is what practice calls such a herb: no promise that it works.",
)


def as_markdown(sheet: Handout, day: date | None = None) -> str:
    """The sheet as Markdown with one table."""
    def cell(text: str) -> str:
        return "".join("\\" + ch if ch in "\\|*_`<>[]" else ch for ch in visible(text).replace("\n", " "))

    out = [f"# {cell(sheet.title)}", "", f"Ontology {cell(sheet.version)}, made on {(day or date.today()).isoformat()}.", "", f"**{cell(NOTICE)}**", "", *(f"{cell(t)}\n" for t in BEFORE)]
    if sheet.stops:
        out += [f"**Stop, rinse and get help at once** if any of these comes: {cell(listing(sheet.stops))}.", ""]
    out += ["| you notice | may come from | belongs with | mind |", "|---|---|---|---|"]
    for line in sheet.lines:
        mind = "; ".join(filter(None, (f"**AVOID**: {cell(', '.join(line.avoid))}" if line.avoid else "", f"care: {cell(', '.join(line.care))}" if line.care else "")))
        out.append(f"| {cell(line.quality)} | {cell(_families(line))} {cell(line.sources)} | {cell(', '.join(line.actions))} | {mind} |")
    out += ["", "## What tasting cannot show", "", *(f"{cell(t)}\n" for t in sheet.cannot), "## Sources", "", cell("; ".join(sheet.sources)) + ".", ""]
    return "\n".join(out)


def as_html(sheet: Handout, day: date | None = None) -> str:
    """The sheet as one HTML file for two A4 pages, without script and without a request."""
    rows = []
    for line in sheet.lines:
        mind = "; ".join(filter(None, (f'<strong class="avoid">AVOID</strong>: {said(", ".join(line.avoid))}' if line.avoid else "", f"care: {said(', '.join(line.care))}" if line.care else "")))
        rows.append(f"<tr><th scope=\"row\">{said(line.quality)}</th><td>{said(_families(line))} {said(line.sources)}</td><td>{said(', '.join(line.actions))}</td><td>{mind}</td></tr>")
    stops = f"<p><strong>Stop, rinse and get help at once</strong> if any of these comes: {said(listing(sheet.stops))}.</p>" if sheet.stops else ""
    body = (
        f"<h1>{said(sheet.title)}</h1>\n"
        f'<p>Ontology {said(sheet.version)}, made on {(day or date.today()).isoformat()}.</p>\n<div class="mind"><p><strong>{said(NOTICE)}</strong></p>{stops}</div>\n'
        + "".join(f"<p>{said(t)}</p>\n" for t in BEFORE)
        + '<div class="wide" tabindex="0" role="region" aria-label="The key">\n<table>\n<thead><tr><th scope="col" class="a">you notice</th><th scope="col" class="b">may come from (after this alone) [sources]</th><th scope="col" class="c">belongs with</th><th scope="col" class="d">mind</th></tr></thead>\n<tbody>\n'
        + "\n".join(rows)
        + "\n</tbody>\n</table>\n</div>\n<h2>What tasting cannot show</h2>\n<div class=\"mind\">"
        + "".join(f"<p>{said(t)}</p>" for t in sheet.cannot)
        + f'</div>\n<h2>Sources</h2>\n<p class="small">{said("; ".join(sheet.sources))}. Code MIT, ontology CC BY 4.0.</p>'
    )
    return still_page(sheet.title, STYLE, body)
