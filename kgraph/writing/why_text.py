"""The answer to "why" on a terminal."""

from __future__ import annotations

from kgraph.claims import Ontology
from kgraph.reasoning.explanation import Cause, Explanation
from kgraph.writing.citing import Citations, full, short
from kgraph.writing.plain import BASIS_WORDS, SAFETY_WORDS, SEVERITY_WORDS, about, listing
from kgraph.writing.screen import Screen

_CAUSES, _ACTIONS, _FULL = 3, 3, 1_000
_AGAIN = {
    "appearance": "Look again in daylight, in a clear glass against white paper.",
    "aroma": "Breathe clean air for a minute and smell again, from a little further off.",
    "taste": "Only with a herb known for certain, and within its limits: rinse, wait a minute, taste once more, weaker and cooler, and spit it out.",
}


def render(found: Explanation, ontology: Ontology, *, full_answer: bool = False, width: int = 88, bold: bool = False) -> str:
    """The explanation as text: how to make sure, the chain, a test, what else it may be, what would speak against."""
    screen = Screen(width, bold)
    cites = Citations(ontology)
    _opening(found, screen, cites)
    _make_sure(found, screen, cites, full_answer)
    _chains(found, screen, cites, full_answer)
    _otherwise(found, screen, cites, full_answer)
    sources = cites.listing()
    if sources and full_answer:
        screen.heading("Sources")
        for number, source in sources:
            screen.item(f"{number} {full(source)}", 2, 4)
    elif sources:
        screen.item("Sources: " + "; ".join(f"{n} {short(s)}" for n, s in sources) + " (--full).", 0, 4)
    screen.item(found.notice, 0, 0)
    return screen.text()


def _poisons(found: Explanation) -> list[str]:
    """Constituents that give the quality and are never to be tasted."""
    return [c.label for c in found.causes if c.never_tasted]


def _opening(found: Explanation, screen: Screen, cites: Citations) -> None:
    if found.taste_safety == "do-not-taste":
        screen.item(f"STOP. {found.herb_label} is never to be tasted: {found.taste_note}. If any was swallowed, call a poison centre now.", 0, 0)
    if found.kind == "stop":
        screen.item(f"{found.label.capitalize()} is a sign to stop: taste no more, rinse, and call a poison centre or an emergency number now.", 0, 0)
    if found.unsafe and (poisons := _poisons(found)) and found.kind != "stop":
        screen.item(f"WARNING. Poisons give it too (never taste an unknown plant): {', '.join(poisons)}.", 0, 4)
    where = f" in {found.herb_label}" if found.herb else ""
    definition = f": {found.definition}" if found.definition else ""
    another = f" (another word for {found.percept_label})" if found.percept != found.quality else ""
    screen.heading(f"Why {found.label}{where}?")
    screen.item(f"{found.label}{another}{definition}.".replace("..", "."))
    if found.taste_safety in ("ok", "small-amount"):
        note = f" ({found.taste_note})" if found.taste_note else ""
        screen.item(f"{found.herb_label}: {SAFETY_WORDS[found.taste_safety]}{note}.")
    if found.herb and found.documented:
        said = [f"{d.label}{f', {d.word}' if d.word else ''}{f' ({d.note})' if d.note else ''} {cites.mark(d.claims)}" for d in found.documented]
        screen.item(f"Documented for {found.herb_label}: {listing(said)}.")
    elif found.herb:
        screen.item(f"No source here describes {found.herb_label} so.")


def _make_sure(found: Explanation, screen: Screen, cites: Citations, full_answer: bool) -> None:
    if found.kind in ("stop", "absence") or found.taste_safety == "do-not-taste":
        if found.kind == "absence":
            screen.item("This is an absence: no constituent gives it. It says only that what was looked for was not found.")
        return
    screen.heading("First make sure")
    if found.unsafe:
        screen.item("Do not taste it again to make sure: poisons give it too. Taste no more, rinse, and go by the name on the label and any tests below. [common practice]")
    else:
        verb = "shows" if len(found.compare_with) == 1 else "show"
        compare = f" Compare with {listing((label for _, label in found.compare_with), 'or')}, which {verb} it plainly." if found.compare_with else ""
        screen.item(f"{_AGAIN.get(found.sense, _AGAIN['taste'])}{compare} [common practice]")
    if found.fakes:
        shown = found.fakes if full_answer else found.fakes[:4]
        more = f" and {len(found.fakes) - len(shown)} more (--full)" if len(found.fakes) > len(shown) else ""
        text = "; ".join(f"{f.label}{f' ({f.note})' if full_answer and f.note else ''} {cites.mark(f.claims) if full_answer else ''}".strip() for f in shown)
        screen.item(f"It may be the cup or the mouth, not the herb: {text}{more}.")


def _chains(found: Explanation, screen: Screen, cites: Citations, full_answer: bool) -> None:
    causes = found.causes
    if not causes:
        if found.kind not in ("stop", "absence"):
            screen.item("No statement here says which constituents give it; it is described, not explained.")
        return
    mine = [c for c in causes if c.level] if found.herb else []
    screen.heading(f"What gives it{f' in {found.herb_label}' if mine else ''}, and what that belongs with")
    if found.herb and not mine:
        screen.item(f"None of the constituents on file for {found.herb_label} is known to give it; in general it may be:")
    shown = (mine or list(causes)) if full_answer else (mine or list(causes))[:_CAUSES]
    for cause in shown:
        _chain(found, cause, screen, cites, full_answer)
    poisons = _poisons(found)
    rest = [c.label for c in causes if c not in shown and c.label not in poisons]
    if rest:
        screen.item(f"Others that can give it: {', '.join(rest) if full_answer else listing(rest[:8])}{'' if full_answer or len(rest) <= 8 else f' and {len(rest) - 8} more (--full)'}.", 2, 4)


def _learnt(cause: Cause) -> str:
    """What documented herbs make of the word, as in: documented herbs say 0.58 (7 herbs, 0.35 to 0.78)."""
    if cause.learnt is None:
        return ""
    value, low, high, herbs = cause.learnt
    return f"; documented herbs say {value:.2f} ({herbs} herbs, {low:.2f} to {high:.2f})"


def _chain(found: Explanation, cause: Cause, screen: Screen, cites: Citations, full_answer: bool) -> None:
    level = f", {cause.level} in {found.herb_label}" if cause.level else ""
    likely = "" if found.herb else f"; {about(cause.probability)}, from this one finding"
    because = f" {cause.mechanism[:1].upper()}{cause.mechanism[1:].rstrip('.')}." if cause.mechanism else ""
    screen.item(f"{cause.label}{level}: {cause.word.replace('-', ' ')} {cites.mark(cause.claims)}{_learnt(cause)}{likely}.{because}")
    most = _FULL if full_answer else _ACTIONS
    if cause.actions:
        parts = [f"{a.label} ({a.word.replace('-', ' ')}, known from {BASIS_WORDS.get(a.basis, a.basis)} {cites.mark(a.claims)}{': ' + a.note if a.note and full_answer else ''})" for a in cause.actions[:most]]
        screen.item(f"belongs with: {'; '.join(parts)}", 4, 2)
    if cause.tests:
        parts = [f"{t.label}: {t.note} ({t.word.replace('-', ' ')} {cites.mark(t.claims)})" for t in cause.tests[: _FULL if full_answer else 1]]
        screen.item(f"test: {'; '.join(parts)}", 4, 2)
    heeds = [h for h in cause.heeds if full_answer or h.severity != "information"]
    if heeds:
        names = list(dict.fromkeys(f"{SEVERITY_WORDS[h.severity]}: {h.label}" + (f" ({h.detail}) {cites.mark(h.claims)}" if full_answer else "") for h in heeds))
        avoid = [n for n in names if n.startswith("AVOID")]
        rest = [n for n in names if not n.startswith("AVOID")]
        screen.item(f"mind: {'; '.join([*avoid, *(rest if full_answer else rest[:3])])}", 4, 2)
    if cause.never_tasted:
        return  # nobody is to look for a missing taste in a poison
    if cause.expected:
        expected = listing(e.label for e in cause.expected[: _FULL if full_answer else 3])
        screen.item(f"would speak against it: no sign of {expected.replace(' and ', ' or ')}{', or a negative test' if cause.tests else ''}", 4, 2)
    elif cause.tests:
        screen.item("would speak against it: a negative test", 4, 2)


def _otherwise(found: Explanation, screen: Screen, cites: Citations, full_answer: bool) -> None:
    if found.dulls and full_answer:
        screen.item("Harder or easier to notice with: " + "; ".join(f"{d.label} ({d.word.replace('-', ' ')}) {cites.mark(d.claims)}" for d in found.dulls) + ".", 0, 4)
    if found.readings and full_answer:
        screen.heading("How tradition read it (never used in the reasoning)")
        for r in found.readings:
            screen.item(f"{r.label}: {r.note} {cites.mark(r.claims)}")
