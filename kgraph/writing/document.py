"""What every HTML file that we write has in common: a strict policy, text that stays text, no request."""

from __future__ import annotations

import base64
import hashlib
import json
from html import escape
from importlib import resources
from typing import Any

from kgraph.writing.plain import visible


def said(text: str) -> str:
    """Text fit for HTML: no markup, no mark that turns a line around."""
    return escape(visible(text))


def fingerprint(text: str) -> str:
    """The hash of a style or script as a content policy names it."""
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def still_page(title: str, style: str, body: str) -> str:
    """A whole file without script: `body` is HTML already, `title` is text."""
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" '
        f"content=\"default-src 'none'; style-src 'sha256-{fingerprint(style)}'; base-uri 'none'; form-action 'none'\">\n"
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>{said(title)}</title>\n<style>{style}</style>\n</head>\n<body>\n<main>\n{body}\n</main>\n</body>\n</html>\n'
    )


def part(name: str) -> str:
    """A file of `parts/`."""
    return resources.files("kgraph.writing").joinpath("parts", name).read_text(encoding="utf-8")


def filled(template: str, style: str, script: str, data: object, **values: Any) -> str:
    """A template of `parts/` with its style, script and data: autoescape is on, the policy names both by hash."""
    import jinja2

    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True)
    html = environment.from_string(part(template)).render(
        style=style, script=script, style_hash=fingerprint(style), script_hash=fingerprint(script), data=embedded(data), **values)
    return visible(html)


def embedded(data: object) -> str:
    """JSON that no label can end early: nothing in it is markup."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    for character, escaped in (("<", "\\u003c"), (">", "\\u003e"), ("&", "\\u0026"), ("\u2028", "\\u2028"), ("\u2029", "\\u2029")):
        text = text.replace(character, escaped)
    return text
