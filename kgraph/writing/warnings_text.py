"""The warnings of an answer on a screen: emergencies, the label, cautions, what taste cannot show."""

from __future__ import annotations

from collections.abc import Sequence

from kgraph.reasoning.answer import Heed, Hidden
from kgraph.reasoning.weights import firm
from kgraph.writing.page import Page
from kgraph.writing.plain import (
    SAFETY_WORDS,
    SEVERITY_WORDS,
    about,
    listing,
    some,
)


def emergency(page: Page) -> None:
    """Warnings that come before everything."""
    label, understood = page.answer.label, page.answer.understood
    if label.taste_safety == "do-not-taste":
        name = "The labelled herb" if label.sealed else f"{label.label} ({label.name})"
        page.screen.item(
            f"STOP. {name} is never to be tasted: {'its label says so' if label.sealed else label.taste_note}. "
            "If any was swallowed, call a poison centre now; rinse, do not wait for signs.", 0, 4,
        )
    if understood.stop_signs:
        page.screen.item(
            f"STOP. {listing(understood.stop_signs).capitalize()}: taste no more, rinse the mouth, and call a poison centre or an emergency number now.", 0, 4,
        )

    poisons = [f"{e.label} ({about(e.posterior)})" for e in page.answer.emergencies]
    if poisons:
        page.screen.item(
            f"WARNING. These findings fit poisons too that are never to be tasted: {listing(poisons)}. "
            "Taste no more; if any was swallowed, call a poison centre now.", 0, 4,
        )


def label(page: Page) -> None:
    """What the label says, its gravest cautions and poisonous doubles."""
    label, heeds = page.answer.label, page.answer.label_cautions
    if not label.label and not label.sealed:
        return
    avoid = [h for h in heeds if h.severity == "avoid"]
    if label.sealed:
        page.screen.item(f"From the label (sealed): {SAFETY_WORDS[label.taste_safety]}; this label carries {len(heeds)} cautions, {len(avoid)} of them avoid.", 0, 6)
        _compact(page, avoid, "AVOID")
        return
    note = f" ({label.taste_note})" if label.taste_note and label.taste_safety == "small-amount" else ""
    page.screen.item(f"From the label: {', '.join(filter(None, (label.label, label.name, label.part)))}; {SAFETY_WORDS[label.taste_safety]}{note}.", 0, 6)
    if page.full:
        for heed in heeds:
            page.screen.item(_heed_text(page, heed))
    else:
        _compact(page, avoid, "AVOID")
        rest = [h for h in heeds if h.severity != "avoid"]
        if rest and page.tight >= 6:
            page.screen.item(f"mind too: {len(rest)} lesser cautions (--full)")
        elif rest:
            page.screen.item(f"mind too: {some(list(dict.fromkeys(h.label for h in rest)), 7 if page.tight < 3 else 3)}")
    dangerous = [c for c in label.confused_with if c.taste_safety == "do-not-taste"]
    if not page.full and dangerous and page.tight >= 2:
        page.screen.item(f"mistaken for {listing(dict.fromkeys(c.label for c in dangerous))} (never to be tasted): tell apart as --full says")
        return
    for c in label.confused_with if page.full else dangerous:
        danger = " (never to be tasted)" if c.taste_safety == "do-not-taste" else ""
        page.screen.item(f"mistaken for {c.label}{danger}: {c.how} {page.cites.mark(c.claims)}")


def _compact(page: Page, heeds: Sequence[Heed], word: str) -> None:
    """Avoid lines are never shortened away: each is named."""
    names = dict.fromkeys(h.label + (f" (under {h.under_age:g} years)" if h.under_age else "") + (f" ({h.preparation})" if h.preparation != "any" else "") for h in heeds)
    if names:
        page.screen.item(f"{word}: {'; '.join(names)}")


def _heed_text(page: Page, heed: Heed) -> str:
    limits = [f"under {heed.under_age:g} years"] if heed.under_age else []
    limits += [f"at most {heed.max_days:g} days"] if heed.max_days else []
    limits += [heed.preparation] if heed.preparation != "any" else []
    tail = f" ({', '.join(limits)})" if limits else ""
    why = ""
    if heed.origin == "tasting" and heed.probability is not None:
        posterior = {c.id: c.posterior for c in page.answer.classes}
        named = [f"{page.ontology.label('class', c)} ({about(posterior[c])})" for c in heed.because[:3]]
        why = f" Because of {listing(named)}; any of the constituents that call for it: {about(heed.probability)}."
    detail = heed.detail[:1].upper() + heed.detail[1:].rstrip(".")
    return f"{SEVERITY_WORDS[heed.severity]}: {heed.label}{tail}. {detail}.{why} {page.cites.mark(heed.claims)}"


def cautions(page: Page) -> None:
    """Cautions that this tasting raises; no `avoid` is left out."""
    heeds = page.answer.cautions
    page.screen.heading("Mind, from this tasting")
    if not heeds:
        page.screen.item("No caution is raised by these findings; that is no sign of safety." if not page.answer.understood.stop_signs else "Heed the sign to stop; no constituent is read from it.")
    elif page.full:
        for heed in heeds:
            page.screen.item(_heed_text(page, heed))
    else:
        avoid = [h for h in heeds if h.severity == "avoid"]
        _by_class(page, avoid, "AVOID", 1_000)
        care = [h for h in heeds if h.severity == "care"]
        if page.tight >= 6:
            page.screen.item(f"care: {len(care)} lesser cautions (--full).")
        else:
            _by_class(page, care, "care", 3 - page.tight // 2, 6 - page.tight)


def _by_class(page: Page, heeds: Sequence[Heed], word: str, most: int, names: int = 1_000) -> None:
    """Cautions under the class that matters most for each: `AVOID if aconite-type alkaloids are there (1 in 10): ...`."""
    posterior = {c.id: c.posterior for c in page.answer.classes}
    by_class: dict[str, list[str]] = {}
    for heed in heeds:
        by_class.setdefault(heed.because[0], []).append(heed.label)
    groups = [
        f"for {page.ontology.label('class', c)} ({about(posterior[c])}): {some(list(dict.fromkeys(labels)), names)}"
        for c, labels in sorted(by_class.items(), key=lambda pair: (-firm(posterior[pair[0]]), pair[0]))
    ]
    if groups:
        more = f" and for {len(groups) - most} more (--full)" if len(groups) > most else ""
        page.screen.item(f"{word} {'; '.join(groups[:most])}{more}.")


def cannot_show(page: Page) -> None:
    """What taste cannot show."""
    hidden = page.answer.cannot_show
    if not hidden:
        return
    page.screen.heading("What taste cannot show")
    if page.full:
        for h in hidden:
            page.screen.item(_hidden_text(page, h))
        return
    silent = [h.label for h in hidden if not h.by]
    tasted = [h for h in hidden if h.by]
    doubles = [h for h in tasted if h.harmless][:2]
    if silent and page.tight >= 5 and tasted:
        page.screen.item(f"{silent[0]} and {len(silent) - 1} more poisons have no taste; {tasted[0].label} and {len(tasted) - 1} more taste like harmless herbs (--full).")
        return
    if silent:
        page.screen.item(f"Poisons with nothing to taste: {some(silent, 6 - page.tight)}.")
    if tasted:
        example = "; ".join(f"{h.poison_label} shares {listing(page.quality(q) for q in h.shared)} with {h.harmless_label}" for h in doubles[: 2 if page.tight < 1 else 1 if page.tight < 4 else 0])
        page.screen.item(f"Poisons that taste like harmless herbs: {some([h.label for h in tasted], 4 - page.tight // 2)}" + (f" ({example})." if example else "."))


def _hidden_text(page: Page, h: Hidden) -> str:
    if not h.by:
        start = f"{h.label}: nothing to taste gives it away"
    else:
        start = f"{h.label}: {page.quality(h.by)} is its plainest sign, and harmless herbs have it too"
    if h.poison and h.harmless:
        return f"{start}; {h.poison_label} shares {listing(page.quality(q) for q in h.shared)} with {h.harmless_label}."
    return f"{start}{f' ({h.poison_label})' if h.poison else ''}."
