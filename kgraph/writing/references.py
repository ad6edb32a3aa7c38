"""Sources for reference managers: BibTeX and CSL-JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from typing import Any

from kgraph.claims import Source

_SPECIAL = {"&": r"\&", "%": r"\%", "#": r"\#", "_": r"\_", "$": r"\$", "{": r"\{", "}": r"\}", "~": r"\textasciitilde{}", "^": r"\textasciicircum{}", "\\": r"\textbackslash{}"}
_YEAR = re.compile(r"\b(1[0-9]{3}|20[0-9]{2})\b")
_INSTITUTIONS = re.compile(r"agency|organi[sz]ation|university|committee|department|institute|convention|directorate|laborator|centre|center|ministry|office|society|ema\b|hmpc|council|authority|association|college|service|directory|database|library|commission", re.I)


def _tex(text: str) -> str:
    return "".join(_SPECIAL.get(ch, ch) for ch in text)


def people(author: str) -> list[str]:
    """The authors, one by one; an institution stays whole.

    >>> people("Flückiger FA, Hanbury D"), people("European Medicines Agency, HMPC")
    (['Flückiger FA', 'Hanbury D'], ['European Medicines Agency, HMPC'])
    """
    if not author:
        return []
    if _INSTITUTIONS.search(author):
        return [author]
    return [part.strip() for part in re.split(r",(?! (?:editors?|eds?\b))|;", author) if part.strip()]


def _entry_type(source: Source) -> str:
    if source.journal or source.doi:
        return "article"
    return "techreport" if source.document else "misc" if source.url else "book"


def bibtex(sources: Iterable[Source]) -> str:
    """One entry a source, in order of id; the key is the source's id."""
    entries = []
    for source in sorted(sources, key=lambda s: s.id):
        year = _YEAR.search(source.year)
        fields = {
            "author": " and ".join(f"{{{_tex(p)}}}" for p in people(source.author)),
            "title": f"{{{_tex(source.title)}}}",
            "journal": _tex(source.journal),
            "year": year[0] if year else "",
            "number": _tex(source.document),
            "doi": source.doi,
            "url": source.url,
            "note": _tex(f"grade {source.grade}" + (f"; {source.note}" if source.note else "")),
        }
        body = "".join(f"  {key} = {{{value}}},\n" for key, value in fields.items() if value)
        entries.append(f"@{_entry_type(source)}{{{source.id},\n{body}}}\n")
    return "\n".join(entries)


_CSL_TYPES = {"article": "article-journal", "techreport": "report", "misc": "webpage", "book": "book"}


def csl_items(sources: Iterable[Source]) -> list[dict[str, Any]]:
    """CSL-JSON items (Citation Style Language 1.0 data schema), in order of id."""
    items: list[dict[str, Any]] = []
    for source in sorted(sources, key=lambda s: s.id):
        year = _YEAR.search(source.year)
        item: dict[str, Any] = {"id": source.id, "type": _CSL_TYPES[_entry_type(source)], "title": source.title}
        if names := people(source.author):
            item["author"] = [{"literal": name} for name in names]
        if year:
            item["issued"] = {"date-parts": [[int(year[0])]]}
        for key, value in (("container-title", source.journal), ("number", source.document), ("DOI", source.doi), ("URL", source.url), ("note", f"grade {source.grade}")):
            if value:
                item[key] = value
        items.append(item)
    return items


def csl_json(sources: Iterable[Source]) -> str:
    """The items as JSON text."""
    return json.dumps(csl_items(sources), ensure_ascii=False, indent=1) + "\n"
