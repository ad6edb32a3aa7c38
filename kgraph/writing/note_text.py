"""A note as Markdown (with numbers, or with pandoc's citation keys) and as HTML.

The writer's own text stands between `<!-- yours: NAME -->` and `<!-- end of yours: NAME -->`, one such place after each
section; it is kept when the note is made again (see `keeping`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from kgraph.claims import Ontology
from kgraph.writing.citing import Citations, full
from kgraph.writing.document import said, still_page
from kgraph.writing.keeping import statements_text
from kgraph.writing.note import HEADINGS, Note, Said
from kgraph.writing.plain import visible

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>#|~$^@])")
STYLE = """
body{font:1rem/1.5 system-ui,"DejaVu Sans",sans-serif;color:#1a1a1a;background:#fff;max-width:52rem;margin:1rem auto;padding:0 1rem;overflow-wrap:anywhere}
h1{font-size:1.5rem}h2{font-size:1.15rem;margin:1.2rem 0 .3rem}.mind{border:2px solid #a40019;padding:.3rem .8rem;margin:.6rem 0}.grave{color:#a40019;font-weight:700}
.yours{border-left:.3rem solid #00558f;padding-left:.8rem;white-space:pre-wrap}li{margin:.15rem 0}
@page{size:A4;margin:14mm 14mm 20mm;@bottom-left{content:"For learning only: no diagnosis, no advice to take anything. Swallowed something poisonous? Call a poison centre.";font:7pt sans-serif}@bottom-right{content:counter(page);font:7pt sans-serif}}
@media print{body{margin:0;max-width:none;padding:0;font-size:9.5pt}}
""".strip()


def begin(name: str) -> str:
    return f"<!-- yours: {name} -->"


def end(name: str) -> str:
    return f"<!-- end of yours: {name} -->"


def escaped(text: str) -> str:
    """Text that Markdown and pandoc take as text.

    >>> escaped("5*6 [x] <b>")
    '5\\\\*6 \\\\[x\\\\] \\\\<b\\\\>'
    """
    return _SPECIAL.sub(r"\\\1", " ".join(visible(text).split()))


def keys(ontology: Ontology, item: Said) -> str:
    """pandoc's citations of a statement: `[@ema-gent, p. 3; @commission-e-1998]`, or what it rests on if it was not read."""
    parts: list[str] = []
    memory = practice = False
    for id in item.claims:
        claim = ontology.claim(id)
        read = [a for a in claim.attributions if a.read]
        # a locator with a bracket would end the citation
        parts += [f"@{a.source}{f', {_locator(a.where)}' if a.where else ''}" for a in read]
        memory, practice = memory or (not read and not claim.common_practice), practice or (not read and claim.common_practice)
    text = f"[{'; '.join(dict.fromkeys(parts))}]" if parts else ""
    other = [word for word, yes in (("from memory", memory), ("common practice", practice)) if yes]
    return " ".join(filter(None, (text, f"({', '.join(other)})" if other else "")))


def _locator(where: str) -> str:
    return escaped(where.replace("[", "(").replace("]", ")").replace(";", ","))


def as_markdown(note: Note, ontology: Ontology, kept: Mapping[str, str] | None = None, *, citation_keys: bool = False) -> str:
    """The note as Markdown.

    Args:
        note, ontology: what is said, and where its sources stand.
        kept: the writer's own text by place, put back as it was.
        citation_keys: pandoc's keys (for a BibTeX file beside it) instead of numbers and a list of sources.
    """
    kept = dict(kept or {})
    cites = Citations(ontology)

    def cite(item: Said) -> str:
        mark = keys(ontology, item) if citation_keys else escaped(cites.mark(item.claims))
        return f" {mark}" if mark and item.claims else ""

    out = [f"# {escaped(note.title)}", "", f"Made with kgraph from ontology {escaped(note.version)}. {escaped(note.notice)}", ""]
    for line in note.stops:
        out += [f"**{escaped(line)}**", ""]
    for section in note.sections:
        out += [f"## {HEADINGS[section.key]}", ""]
        if section.lead:
            out += [escaped(section.lead), ""]
        for item in section.items:
            text = f"**{escaped(item.text)}**" if item.grave else escaped(item.text)
            out.append(f"- {text}{cite(item)}")
        out += [""] if section.items else []
        out += [begin(section.key), *([kept.pop(section.key)] if section.key in kept else []), end(section.key), ""]
    out += ["## What tasting cannot show", "", *(f"{escaped(line)}\n" for line in note.cannot)]
    if kept:
        out += ["## Kept aside", "", "Text of yours whose place was not found again:", ""]
        for name, text in kept.items():
            out += [begin(name), text, end(name), ""]
    out += ["## Sources", ""]
    out += ["::: {#refs}", ":::", ""] if citation_keys else [*(f"{number}. {escaped(full(source))}" for number, source in cites.listing()), ""]
    out += [statements_text(note.statements), ""]
    return "\n".join(out)


def as_html(note: Note, ontology: Ontology, kept: Mapping[str, str] | None = None) -> str:
    """The note as one HTML file without script or request; the writer's own text is shown as it was typed."""
    kept = dict(kept or {})
    cites = Citations(ontology)
    body = [f"<h1>{said(note.title)}</h1>", f'<div class="mind">{"".join(f"<p class=grave>{said(line)}</p>" for line in note.stops)}<p>Made with kgraph from ontology {said(note.version)}. {said(note.notice)}</p></div>']
    for section in note.sections:
        body.append(f"<h2>{HEADINGS[section.key]}</h2>")
        if section.lead:
            body.append(f"<p>{said(section.lead)}</p>")
        if section.items:
            rows = [f"<li>{f'<span class=grave>{said(item.text)}</span>' if item.grave else said(item.text)} {said(cites.mark(item.claims)) if item.claims else ''}</li>" for item in section.items]
            body.append(f"<ul>{''.join(rows)}</ul>")
        if kept.get(section.key, "").strip():
            body.append(f'<div class="yours">{said(kept.pop(section.key))}</div>')
    body.append("<h2>What tasting cannot show</h2>" + "".join(f"<p>{said(line)}</p>" for line in note.cannot))
    rest = [text for name, text in kept.items() if name not in HEADINGS and text.strip()]
    if rest:
        body.append("<h2>Kept aside</h2>" + "".join(f'<div class="yours">{said(text)}</div>' for text in rest))
    body.append("<h2>Sources</h2><ol>" + "".join(f"<li>{said(full(source))}</li>" for _, source in cites.listing()) + "</ol>")
    return still_page(note.title, STYLE, "\n".join(body))
