"""The answer on a terminal: at most forty lines on the first screen, everything with `full`."""

from __future__ import annotations

from kgraph.claims import Ontology
from kgraph.reasoning.answer import Answer
from kgraph.writing import blend_text, candidates_text, steady_text, warnings_text
from kgraph.writing.citing import Citations, full, short
from kgraph.writing.page import Page, is_test
from kgraph.writing.plain import (
    STATE_WORDS,
    STATUS_WORDS,
    listing,
    some,
)
from kgraph.writing.screen import Screen

FIRST_SCREEN = 40
#: How far the first screen may be tightened to fit: examples, then sources, then lesser cautions go; `avoid` never does.
_TIGHTEST, _KEEPS_PATHS = 7, 5


def render(answer: Answer, ontology: Ontology, *, full_answer: bool = False, numbers: bool = False, width: int = 88, bold: bool = False) -> str:
    """The answer as text.

    Args:
        full_answer: everything, with the full list of sources; else the first screen.
        numbers: add the figures (probabilities before and after, weights in decibans).
    """
    text = ""
    for tight in range(1 if full_answer else _TIGHTEST + 1):
        page = Page(answer, ontology, Screen(width, bold), Citations(ontology), full_answer, numbers, tight)
        _write(page)
        text = page.screen.text()
        # whole paths are given up only where the screen would be too long even without its warnings
        counted = len(page.screen.lines) - (page.screen.warning_lines if tight >= _KEEPS_PATHS else 0)
        if counted <= FIRST_SCREEN:
            break
    return text


def _write(page: Page) -> None:
    """The parts, in order: warnings first."""
    warnings_text.emergency(page)
    _read(page)
    warnings_text.label(page)
    for line in blend_text.lines(page.answer.blend):
        page.screen.item(line, 0, 6)
    candidates_text.families(page)
    candidates_text.actions(page)
    candidates_text.against(page)
    candidates_text.odd(page)
    _steady(page)
    warnings_text.cautions(page)
    warnings_text.cannot_show(page)
    _next(page)
    if page.full:
        candidates_text.unchanged(page)
        _uses(page)
        _conditions(page)
        _impressions(page)
    _sources(page)
    page.screen.item(page.answer.notice, 0, 0)


def _read(page: Page) -> None:
    u = page.answer.understood
    there = [f"{c.label} ({STATE_WORDS[c.state]}{_of_tasters(page, c.reporting, c.tasters)})" for c in u.cells if c.state != "absent" and not is_test(c.quality)]
    absent = [c.label for c in u.cells if c.state == "absent" and not is_test(c.quality)]
    parts = [listing(there)] if there else []
    if absent:
        parts.append(f"not there: {listing(absent)}")
    tests = [f"{page.ontology.label('test', test)}: {'yes' if seen else 'no'}" for test, seen in u.tests]
    parts += tests
    parts = parts or ["a sign to stop, nothing else"]
    sample = f"sample {u.code}, " if u.code else ""
    count = f"{len(u.tasters)} tasters, " if len(u.tasters) > 1 else ""
    page.screen.item(f"Read: {sample}{count}{'; '.join(parts)}.", 0, 6)
    if u.states:
        page.screen.item(f"Who tasted: {listing(u.states)}.", 0, 6)
    if u.silent:
        names = [c.label for c in u.silent]
        page.screen.item(f"Looked for and not mentioned: {listing(names) if page.full else some(names, 6 if page.tight < 4 else 3)}.", 0, 6)
    if u.left_out:
        page.screen.item(f"Left out of the sums, too many findings at once: {listing(u.left_out)}.", 0, 6)


def _of_tasters(page: Page, reporting: int, tasters: int) -> str:
    return f", {reporting} of {tasters}" if tasters > 1 else ""


def _steady(page: Page) -> None:
    found = page.answer.sensitivity
    if found is not None:
        page.screen.item(steady_text.hinges(found, numbers=page.numbers, brief=page.tight >= 2), 0, 2)


def _next(page: Page) -> None:
    looks = page.answer.next
    if not looks:
        return
    why = f" (looking and bench tests only: {page.answer.only_looking})" if page.answer.only_looking else ""
    if page.full:
        page.screen.heading(f"What would tell most next{why}")
        for look in looks:
            steps = f": {look.steps}" if look.steps else ""
            page.screen.item(f"{look.label} ({look.kind}){steps}{f' [{look.bits:.2f} bits]' if page.numbers else ''}")
    else:
        shown = looks[: 3 if page.tight < 4 else 2]
        page.screen.item(f"Would tell most next: {listing(look.label for look in shown)}{why}.", 0, 4)


def _uses(page: Page) -> None:
    if not page.answer.uses:
        return
    page.screen.heading("Uses that go with these actions (this says nothing about this sample)")
    for action in dict.fromkeys(u.action for u in page.answer.uses):
        uses = [f"{u.label} ({STATUS_WORDS[u.status]}) {page.cites.mark(u.claims)}" for u in page.answer.uses if u.action == action]
        page.screen.item(f"{page.ontology.label('action', action)}: {'; '.join(uses)}")


def _conditions(page: Page) -> None:
    if not page.answer.conditions:
        return
    page.screen.heading("How the cup was made, and who tasted")
    words = {"fakes": "gives of itself", "dulls": "changes", "draws": "changes how much passes over of"}
    for id in dict.fromkeys(c.id for c in page.answer.conditions):
        mine = [c for c in page.answer.conditions if c.id == id]
        parts = []
        for relation, word in words.items():
            targets = [f"{c.target_label} (×{c.value:g})" if relation != "fakes" else c.target_label for c in mine if c.relation == relation]
            if targets:
                parts.append(f"{word} {listing(targets)}")
        page.screen.item(f"{mine[0].label}: {'; '.join(parts)} {page.cites.mark(c.claim for c in mine)}")


def _impressions(page: Page) -> None:
    if page.answer.understood.impressions:
        page.screen.heading("What it reminded the tasters of (personal; not reasoned on)")
        for taster, text in page.answer.understood.impressions:
            page.screen.item(f"{taster}: {text}")


def _sources(page: Page) -> None:
    found = page.cites.listing()
    if not found:
        return
    if page.full:
        page.screen.heading("Sources")
        for number, source in found:
            page.screen.item(f"{number} {full(source)}", 2, 4)
    else:
        shown = found if page.tight < 2 else found[: max(3, 12 - 2 * page.tight)]
        rest = f"; {len(found) - len(shown)} more" if len(found) > len(shown) else ""
        page.screen.item("Sources: " + "; ".join(f"{number} {short(source)}" for number, source in shown) + f"{rest} (--full).", 0, 4)
