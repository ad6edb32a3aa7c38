"""A picture as SVG: text stays text, every shape has a title, colour is never alone."""

from __future__ import annotations

from html import escape
from typing import NamedTuple

from kgraph.graphs.picture import LAYER_NAMES, LAYERS, Link, Node, Picture
from kgraph.writing.plain import visible

#: Pixels: distance of columns and rows, room for a label, the margin, where the first row stands.
COLUMN, ROW, LABEL, MARGIN, TOP = 290, 28, 234, 24, 84
_LONGEST = 31
#: In a taller picture columns begin at the top, so that each is seen at once; in others they are centred.
TALL = 30
#: How a line is drawn by what it is known from: dashes, and the words of the legend.
DASHES = {
    "laboratory": ("", "the laboratory"), "clinic": ("14 3", "the clinic"), "regulator": ("10 3 2 3", "a regulator"), "tradition": ("6 4", "tradition"),
    "read": ("", "read in a source"), "practice": ("9 4 2 4 2 4", "common practice"), "memory": ("1 5", "from memory"), "structure": ("2 2", "belongs together"),
}
RELATIONS = {
    "evokes": "gives", "in_family": "is one of", "word_for": "is another word for", "kind_of": "is a kind of", "acts_as": "belongs with", "used_for": "is used for",
    "warns_of": "mind", "contains": "contains", "described_as": "is described as",
}
KIND_NAMES = {"quality": "quality", "herb": "herb", "family": "family", "class": "class", "action": "action", "use": "use", "caution": "caution"}
NEVER = "never to be tasted"

STYLE = """
svg{font:13px/1.3 system-ui,"Segoe UI","DejaVu Sans",sans-serif;background:#fff;color:#1a1a1a}
.head{font-weight:700;font-size:15px;fill:currentColor}.n text{fill:currentColor;stroke:#fff;stroke-width:4px;stroke-linejoin:round;paint-order:stroke}.n .shape{stroke:#333;stroke-width:1.5}
.k-quality .shape{fill:#0072b2}.k-herb .shape{fill:#009e73}.k-family .shape{fill:#56b4e9}.k-class .shape{fill:#e69f00}
.k-action .shape{fill:#cc79a7}.k-use .shape{fill:#f0e442}.k-caution .shape{fill:#d55e00}
.cross{stroke:#b00020;stroke-width:3;fill:none}.never text{font-weight:700;fill:#8a0016}.l{fill:none;stroke:#5a5a5a;stroke-opacity:.55}
""".strip()


class Size(NamedTuple):
    """Width and height in pixels."""

    width: int
    height: int


def size_of(picture: Picture) -> Size:
    """How large the picture is."""
    tallest = max((node.place for node in picture.nodes), default=0) + 1
    return Size(2 * MARGIN + max(1, len(picture.layers)) * COLUMN - (COLUMN - LABEL - 22), TOP + tallest * ROW + MARGIN)


def known_from(link: Link) -> str:
    """The key of DASHES for a line."""
    if not link.claims:
        return "structure"
    if link.from_memory:
        return "memory"
    return link.basis if link.basis in DASHES else "read"


def shape_of(kind: str) -> str:
    """The shape of a kind of thing, about 18 pixels wide, around 0, 0."""
    return {
        "quality": '<circle class="shape" r="9"/>',
        "herb": '<path class="shape" d="M-9 9 L-9 -3 Q-9 -9 -3 -9 L9 -9 L9 3 Q9 9 3 9 Z"/>',
        "family": '<path class="shape" d="M-10 0 L-5 -9 L5 -9 L10 0 L5 9 L-5 9 Z"/>',
        "class": '<rect class="shape" x="-9" y="-8" width="18" height="16"/>',
        "action": '<path class="shape" d="M0 -10 L10 0 L0 10 L-10 0 Z"/>',
        "use": '<path class="shape" d="M-9 8 L-5 -8 L5 -8 L9 8 Z"/>',
        "caution": '<path class="shape" d="M0 -10 L10 8 L-10 8 Z"/>',
    }[kind]


def clipped(text: str, limit: int = _LONGEST) -> str:
    """A label that fits its column; the whole of it stands in the title."""
    text = visible(text)
    return text if len(text) <= limit else text[: limit - 1].rstrip() + "…"


def width_of(text: str) -> float:
    """About how many pixels a clipped label takes, shape included."""
    return min(LABEL, 26 + 7.3 * len(text))


def curve(start: tuple[float, float], end: tuple[float, float], label: float = LABEL) -> str:
    """The line between two nodes: from behind the label of the left one to the shape of the right one."""
    (x1, y1), (x2, y2) = start, end
    if x1 == x2:  # within one layer: a bow on the left
        return f"M{x1 - 11:g} {y1:g} C{x1 - 46:g} {y1:g} {x2 - 46:g} {y2:g} {x2 - 11:g} {y2:g}"
    from_x, to_x = x1 + label, x2 - 12
    bend = max(30.0, (to_x - from_x) / 2)
    return f"M{from_x:g} {y1:g} C{from_x + bend:g} {y1:g} {to_x - bend:g} {y2:g} {to_x:g} {y2:g}"


def label_of(node: Node) -> str:
    """The label with what must be said beside it."""
    return f"{node.label} ({NEVER})" if node.mark == "never" else node.label


def sentence(picture: Picture, link: Link) -> str:
    """A link as a sentence of few words."""
    left, right = picture.nodes[link.source], picture.nodes[link.target]
    if link.relation in ("evokes", "in_family", "word_for", "kind_of") and LAYERS.index(left.kind) < LAYERS.index(right.kind):
        left, right = right, left
    if link.relation == "in_family":
        left, right = (left, right) if left.kind == "class" else (right, left)
    word = f" ({link.word.replace('-', ' ')})" if link.word else ""
    return f"{left.label} {RELATIONS[link.relation]} {right.label}{word}"


def parts(picture: Picture) -> str:
    """Heads, lines and nodes, without the svg element around them."""
    places = _places(picture)
    lines = [
        f'<text class="head" x="{MARGIN + i * COLUMN}" y="{TOP - 28}">{escape(LAYER_NAMES[layer])}</text>' for i, layer in enumerate(picture.layers)
    ]
    lines.append('<g class="links">')
    for number, link in enumerate(picture.links):
        dashes = DASHES[known_from(link)][0]
        dash = f' stroke-dasharray="{dashes}"' if dashes else ""
        lines.append(
            f'<path class="l" data-l="{number}" d="{curve(places[link.source], places[link.target], width_of(clipped(picture.nodes[link.source].label)))}" stroke-width="{1 + 4 * link.strength:.1f}"{dash}>'
            f"<title>{escape(visible(sentence(picture, link)))}</title></path>"
        )
    lines.append('</g><g class="nodes">')
    for number, node in enumerate(picture.nodes):
        x, y = places[number]
        never = " never" if node.mark == "never" else ""
        cross = '<path class="cross" d="M-11 -11 L11 11 M-11 11 L11 -11"/>' if node.mark == "never" else ""
        lines.append(
            f'<g class="n k-{node.kind}{never}" data-n="{number}" transform="translate({x:g} {y:g})"><title>{escape(visible(label_of(node)))}</title>'
            f'{shape_of(node.kind)}{cross}<text x="16" y="4">{escape(clipped(node.label))}</text></g>'
        )
    lines.append("</g>")
    return "\n".join(lines)


def _places(picture: Picture) -> list[tuple[float, float]]:
    tallest: dict[int, int] = {}
    for node in picture.nodes:
        tallest[node.layer] = max(tallest.get(node.layer, 0), node.place + 1)
    most = max(tallest.values(), default=1)
    column = {layer: i for i, layer in enumerate(picture.layers)}
    return [(MARGIN + 10 + column[n.layer] * COLUMN, TOP + (n.place + (0 if most > TALL else (most - tallest[n.layer]) / 2)) * ROW + ROW / 2) for n in picture.nodes]


def legend(picture: Picture, top: int) -> tuple[str, int]:
    """The key to shapes and lines, and its height."""
    kinds = [LAYERS[layer] for layer in picture.layers]
    used = [key for key in DASHES if any(known_from(link) == key for link in picture.links)]
    lines = [f'<g class="legend" transform="translate({MARGIN} {top})"><text class="head" x="0" y="14">Key</text>']
    x = 60
    for kind in kinds:
        lines.append(f'<g class="n k-{kind}" transform="translate({x} 10)">{shape_of(kind)}<text x="16" y="4">{KIND_NAMES[kind]}</text></g>')
        x += 110
    x = 60
    for key in used:
        dashes, words = DASHES[key]
        dash = f' stroke-dasharray="{dashes}"' if dashes else ""
        lines.append(f'<path class="l" d="M{x} 40 L{x + 44} 40" stroke-width="3"{dash}/><g class="n"><text x="{x + 52}" y="44">{escape(words)}</text></g>')
        x += 190
    lines.append('<g class="n"><text x="60" y="70">A wider line is a stronger link. A crossed shape is never to be tasted.</text></g></g>')
    return "\n".join(lines), 84


def render(picture: Picture, description: str, small_print: str) -> str:
    """A whole SVG file: title and description inside, a key and the notice below."""
    size = size_of(picture)
    key, height = legend(picture, size.height)
    notice = []
    for number, line in enumerate(_wrapped(small_print, max(60, size.width // 8))):
        notice.append(f'<text x="{MARGIN}" y="{size.height + height + 18 + 18 * number}" fill="currentColor">{escape(line)}</text>')
    total = size.height + height + 18 * (len(notice) + 2)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size.width} {total}" width="{size.width}" height="{total}" role="img" aria-labelledby="title desc" lang="en">\n'
        f'<title id="title">{escape(visible(picture.title))}</title>\n<desc id="desc">{escape(visible(description))}</desc>\n<style>{STYLE}</style>\n'
        f'<rect width="100%" height="100%" fill="#fff"/>\n<text class="head" x="{MARGIN}" y="26">{escape(clipped(picture.title, 120))}</text>\n'
        f"{parts(picture)}\n{key}\n" + "\n".join(notice) + "\n</svg>\n"
    )


def _wrapped(text: str, width: int) -> list[str]:
    import textwrap

    return textwrap.wrap(visible(text), width)
