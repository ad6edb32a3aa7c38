"""The report on a panel: for a terminal, as Markdown, and as a page with a picture that needs no colour."""

from __future__ import annotations

from kgraph.reasoning.agreement import RELIABLE, TENTATIVE, Coefficient
from kgraph.reasoning.panel import Panel, Row
from kgraph.writing.document import said, still_page
from kgraph.writing.note_text import escaped
from kgraph.writing.plain import before_after, listing
from kgraph.writing.screen import Screen

STRENGTHS = ("-", "weak", "plain", "strong")
_SENSES = ("appearance", "aroma", "taste", "mouthfeel", "chemesthesis", "aftertaste", "felt")
STYLE = """
body{font:1rem/1.5 system-ui,"DejaVu Sans",sans-serif;color:#1a1a1a;background:#fff;max-width:60rem;margin:1rem auto;padding:0 1rem;overflow-wrap:anywhere}
h1{font-size:1.5rem}h2{font-size:1.15rem;margin:1.2rem 0 .3rem}.mind{border:2px solid #a40019;padding:.3rem .8rem;margin:.6rem 0}
.wide{overflow-x:auto}table{border-collapse:collapse}th,td{border-bottom:1px solid #666;padding:.15rem .6rem;text-align:left;vertical-align:middle}td.c{text-align:center}
svg{display:block;max-width:100%;height:auto}
@page{size:A4;margin:14mm 12mm 20mm;@bottom-left{content:"For learning only: no diagnosis, no advice to take anything. Swallowed something poisonous? Call a poison centre.";font:7pt sans-serif}}
@media print{body{margin:0;max-width:none;padding:0;font-size:9pt}}
""".strip()


def _cell(report: int | None) -> str:
    return "not asked" if report is None else STRENGTHS[report]


def _in_order(panel: Panel) -> list[Row]:
    return sorted(panel.rows, key=lambda r: (_SENSES.index(r.sense) if r.sense in _SENSES else 99, -r.noticed, r.label))


def coefficient(one: Coefficient, *, numbers: bool = True) -> str:
    """A coefficient as a sentence."""
    if one.value is None:
        return f"{one.name}: not defined, {one.reason}."
    grade = "good" if one.value >= RELIABLE else "fair" if one.value >= TENTATIVE else "some" if one.value > 0 else "no better than chance"
    return f"{one.name}: {grade} agreement, {one.value:.2f} (likely between {one.low:.2f} and {one.high:.2f})."


def sentences(panel: Panel) -> list[str]:
    """What is said of the panel as a whole, one sentence an item."""
    found = [coefficient(c) for c in panel.coefficients]
    odd = [a.taster for a in panel.apart if a.apart]
    if odd:
        found.append(f"{odd[0]} stands apart: without this taster the others agree clearly better. That is no fault: ask what was noticed, and whether a cold, a meal or an earlier sample was in the way.")
    for taster in panel.tasters:
        missed = [quality for who, quality in panel.misses if who == taster]
        if missed:
            found.append(f"{taster} did not notice {listing(missed)} in the reference solution.")
    if panel.triangle:
        t = panel.triangle
        needed = f"{t.needed} right of {t.total} would be needed to be rarer than 1 in 20" if t.needed is not None else f"with {t.total} tries no result is rare enough to tell"
        found.append(f"Triangle test: {t.correct} of {t.total} right; by guessing alone that many or more come up {_share(t.p_value)} ({needed}).")
    found.append(f"{len(panel.tasters)} tasters of one cup count as about {panel.effective:.1f} who are independent.")
    return found


def _share(p: float) -> str:
    return "in fewer than 1 of 1000 tests" if p < 0.001 else f"in about {max(1, round(1000 * p))} of 1000 tests"


def _parted(panel: Panel) -> tuple[str, str]:
    """What all or most of those who were asked noticed, and on what they part."""
    rows = [r for r in _in_order(panel) if r.noticed and r.asked > 1]
    whole = [r.label for r in rows if r.noticed == r.asked and r.word == "all alike"]
    most = [r.label for r in rows if r.word == "most" and r.noticed < r.asked]
    part = [r.label for r in rows if r.word in ("they part", "few", "all, at different strengths")]
    agree = listing(whole) or "nothing that all noticed alike"
    return agree + (f"; most noticed {listing(most)}" if most else ""), listing(part) or "nothing"


def render(panel: Panel, *, width: int = 88, bold: bool = False, full_answer: bool = False) -> str:
    """For a terminal."""
    screen = Screen(width, bold)
    for line in panel.stops:
        screen.item(line, 0)
    screen.item(f"Sample {panel.sample or 'without a code'}{f', labelled {panel.herb}' if panel.herb else ''}: {len(panel.tasters)} tasters ({listing(panel.tasters)}).", 0)
    agree, part = _parted(panel)
    screen.item(f"They agree on: {agree}.")
    screen.item(f"They part on: {part}.")
    screen.heading("Finding by finding")
    for row in _in_order(panel):
        if row.noticed or full_answer:
            said = ", ".join(f"{taster} {_cell(report)}" for taster, report in zip(panel.tasters, row.reports, strict=True))
            screen.item(f"{row.label}: {row.noticed} of {row.asked}, {row.word} ({said})")
    screen.heading("As a panel")
    for line in sentences(panel):
        screen.item(line)
    screen.heading("Together they say: before → after")
    for _, label, before, after in panel.families:
        screen.item(f"{label}: {before_after(before, after)}")
    if not panel.families:
        screen.item("nothing is much likelier than before")
    if panel.avoid:
        screen.item(f"AVOID: {', '.join(panel.avoid)}")
    for remark in panel.remarks:
        screen.item(remark, 0)
    screen.item(panel.notice, 0)
    return screen.text()


def as_markdown(panel: Panel) -> str:
    """As Markdown: the same, with the table of reports."""
    agree, part = _parted(panel)
    out = [f"# Panel on sample {escaped(panel.sample or 'without a code')}{f' ({escaped(panel.herb)})' if panel.herb else ''}", ""]
    out += [f"**{escaped(line)}**\n" for line in panel.stops]
    out += [escaped(panel.notice), "", f"They agree on: {escaped(agree)}. They part on: {escaped(part)}.", "", "| quality | " + " | ".join(map(escaped, panel.tasters)) + " | noticed | |", "|---" * (len(panel.tasters) + 3) + "|"]
    for row in _in_order(panel):
        out.append(f"| {escaped(row.label)} | " + " | ".join(_cell(r) for r in row.reports) + f" | {row.noticed} of {row.asked} | {row.word} |")
    out += ["", *(f"- {escaped(line)}" for line in sentences(panel)), "", "## Together they say: before → after", ""]
    out += [f"- {escaped(label)}: {before_after(before, after)}" for _, label, before, after in panel.families] or ["- nothing is much likelier than before"]
    out += ["", f"**AVOID**: {escaped(', '.join(panel.avoid))}" if panel.avoid else "No caution to avoid is raised here; those of the label stand.", ""]
    out += [f"{escaped(remark)}\n" for remark in panel.remarks]
    return "\n".join(out)


def picture(panel: Panel) -> str:
    """Who noticed what: one circle a report, larger for stronger, a bar for "looked for and not there", nothing for "not asked". Size and shape tell it, not colour."""
    rows = [r for r in _in_order(panel) if r.noticed]
    left, top, step, line = 190, 34, 74, 24
    width, height = left + step * len(panel.tasters) + 20, top + line * len(rows) + 16
    parts = [f'<svg viewBox="0 0 {width} {height}" width="{width}" height="{height}" role="img" aria-label="Reports of {len(panel.tasters)} tasters on {len(rows)} qualities; the table below holds the same." font-size="13" font-family="sans-serif">']
    parts += [f'<text x="{left + step * i + step / 2:g}" y="20" text-anchor="middle">{said(t if len(t) < 10 else t[:9] + "…")}</text>' for i, t in enumerate(panel.tasters)]
    for n, row in enumerate(rows):
        y = top + line * n + line / 2
        parts.append(f'<text x="{left - 10}" y="{y + 4:g}" text-anchor="end">{said(row.label if len(row.label) < 27 else row.label[:26] + "…")}</text>')
        for i, report in enumerate(row.reports):
            x = left + step * i + step / 2
            if report == 0:
                parts.append(f'<path d="M{x - 6:g} {y:g} L{x + 6:g} {y:g}" stroke="#333" stroke-width="2"/>')
            elif report:
                parts.append(f'<circle cx="{x:g}" cy="{y:g}" r="{3 + 2.4 * report:.1f}" fill="#0072b2" stroke="#333"/>')
    return "".join([*parts, "</svg>"])


def as_html(panel: Panel) -> str:
    """As a page: picture, table, sentences, cautions; no script, no request."""
    agree, part = _parted(panel)
    head = "".join(f'<th scope="col">{said(t)}</th>' for t in panel.tasters)
    rows = "".join(
        f'<tr><th scope="row">{said(row.label)}</th>' + "".join(f'<td class="c">{_cell(r)}</td>' for r in row.reports) + f"<td>{row.noticed} of {row.asked}</td><td>{row.word}</td></tr>" for row in _in_order(panel)
    )
    families = "".join(f"<li>{said(label)}: {before_after(before, after)}</li>" for _, label, before, after in panel.families) or "<li>nothing is much likelier than before</li>"
    avoid = f"<p><strong>AVOID</strong>: {said(', '.join(panel.avoid))}</p>" if panel.avoid else ""
    stops = "".join(f"<p><strong>{said(line)}</strong></p>" for line in panel.stops)
    items = "".join(f"<li>{said(line)}</li>" for line in sentences(panel))
    title = f"Panel on sample {panel.sample or 'without a code'}{f' ({panel.herb})' if panel.herb else ''}"
    body = (
        f"<h1>{said(title)}</h1>\n"
        f'<div class="mind">{stops}{avoid}<p>{said(panel.notice)}</p></div>\n'
        f"<p>They agree on: {said(agree)}. They part on: {said(part)}.</p>\n<h2>Who noticed what</h2>\n<p>A larger circle is a stronger report, a bar means looked for and not there, an empty place not asked.</p>\n{picture(panel)}\n"
        f'<div class="wide" tabindex="0" role="region" aria-label="Table of the reports"><table><thead><tr><th scope="col">quality</th>{head}<th scope="col">noticed</th><th scope="col">agreement</th></tr></thead><tbody>{rows}</tbody></table></div>\n'
        f"<h2>As a panel</h2>\n<ul>{items}</ul>\n<h2>Together they say: before → after</h2>\n<ul>{families}</ul>\n"
        + "".join(f"<p>{said(remark)}</p>\n" for remark in panel.remarks)
    )
    return still_page(title, STYLE, body)
