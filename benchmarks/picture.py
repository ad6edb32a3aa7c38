"""A line chart as SVG: text as text, a title and a description inside, marks told apart by shape as well as by shade."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

WIDTH, HEIGHT, EDGE = 520, 380, 60
_SHADES = ("#1b1b1b", "#0072b2", "#d55e00", "#007a5a", "#8a4b8f")
_DASHES = ("", "7 4", "2 3", "9 3 2 3", "1 4")


def _mark(shape: int, x: float, y: float, shade: str) -> str:
    if shape == 0:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{shade}"/>'
    if shape == 1:
        return f'<rect x="{x - 4:.1f}" y="{y - 4:.1f}" width="8" height="8" fill="{shade}"/>'
    if shape == 2:
        return f'<path d="M{x:.1f} {y - 5:.1f} L{x + 5:.1f} {y + 4:.1f} L{x - 5:.1f} {y + 4:.1f} Z" fill="{shade}"/>'
    return f'<path d="M{x - 4:.1f} {y - 4:.1f} L{x + 4:.1f} {y + 4:.1f} M{x - 4:.1f} {y + 4:.1f} L{x + 4:.1f} {y - 4:.1f}" stroke="{shade}" stroke-width="2"/>'


def line_chart(title: str, across: str, up: str, lines: dict[str, Sequence[tuple[float, float]]], *, highest: float = 1.0, furthest: float | None = None) -> str:
    """An SVG document; every line is a list of (x, y) with y from 0 to `highest`."""
    far = furthest or max(x for points in lines.values() for x, _ in points)

    def at(x: float, y: float) -> tuple[float, float]:
        return EDGE + x / far * (WIDTH - 2 * EDGE), HEIGHT - EDGE - y / highest * (HEIGHT - 2 * EDGE)

    said = "; ".join(f"{name}: " + ", ".join(f"{y:.2f} at {x:g}" if x >= 1 else f"{y:.2f} at {x:.2f}" for x, y in points) for name, points in lines.items())
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-labelledby="t d" font-family="sans-serif" font-size="13">',
        f'<title id="t">{escape(title)}</title><desc id="d">{escape(said)}</desc>',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
        f'<text x="{WIDTH / 2}" y="24" text-anchor="middle" font-size="15">{escape(title)}</text>',
        f'<text x="{WIDTH / 2}" y="{HEIGHT - 16}" text-anchor="middle">{escape(across)}</text>',
        f'<text x="18" y="{HEIGHT / 2}" text-anchor="middle" transform="rotate(-90 18 {HEIGHT / 2})">{escape(up)}</text>',
    ]
    for step in range(6):
        x, y = at(far * step / 5, highest * step / 5)
        parts.append(f'<path d="M{EDGE} {y:.1f} H{WIDTH - EDGE}" stroke="#d9d9d9"/><text x="{EDGE - 6}" y="{y + 4:.1f}" text-anchor="end">{highest * step / 5:.1f}</text>')
        parts.append(f'<text x="{x:.1f}" y="{HEIGHT - EDGE + 18}" text-anchor="middle">{far * step / 5:.3g}</text>')
    for number, (name, points) in enumerate(lines.items()):
        shade, dash = _SHADES[number % len(_SHADES)], _DASHES[number % len(_DASHES)]
        path = " L".join(f"{x:.1f} {y:.1f}" for x, y in (at(*p) for p in points))
        parts.append(f'<path d="M{path}" fill="none" stroke="{shade}" stroke-width="2" stroke-dasharray="{dash}"/>')
        parts += [_mark(number % 4, *at(*p), shade) for p in points]
        y = 50 + 18 * number
        parts.append(f'{_mark(number % 4, EDGE + 14, y, shade)}<text x="{EDGE + 26}" y="{y + 4}">{escape(name)}</text>')
    return "\n".join([*parts, "</svg>"]) + "\n"
