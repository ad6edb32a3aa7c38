"""The candidates of an answer on a screen: families and actions with their paths, what speaks against, what is odd."""

from __future__ import annotations

from kgraph.reasoning.answer import Candidate, Path
from kgraph.reasoning.weights import firm
from kgraph.writing import steady_text
from kgraph.writing.page import SHOWN, Page
from kgraph.writing.plain import (
    BASIS_WORDS,
    STATE_WORDS,
    about,
    before_after,
    chance,
    listing,
    speaks,
)


def families(page: Page) -> None:
    """The families that the tasting makes likelier, each with the path that speaks most for it."""
    risen = page.answer.risen("families")
    tried = page.answer.sensitivity
    explained = f"; stays first to third in x of {tried.draws} tries" if tried else " the tasting"
    page.screen.heading(f"What may be in the cup: before → after{explained}")
    if not risen:
        page.screen.item("Nothing is much likelier than before.")
    for place, c in enumerate(risen if page.full else risen[:SHOWN]):
        page.screen.item(f"{c.label}: {before_after(c.prior, c.posterior)}; {speaks(c.word, c.weight_db)}{_stays(page, c)}{_figures(page, c)}")
        for path in c.paths if page.full else c.paths[: _paths(page, place)]:
            if path.probability >= 0.005:
                page.screen.item(_finding_link(page, path), 4, 2)
        if c.parted and c.members:
            _members(page, c)


def _paths(page: Page, place: int) -> int:
    """One path a candidate; on the tightest screens the last ones go without."""
    return 0 if page.tight >= 6 and place >= 8 - page.tight else 1


def _members(page: Page, family: Candidate) -> None:
    classes = {c.id: c for c in page.answer.classes}
    ranked = sorted((classes[m] for m in family.members), key=lambda c: (-firm(c.posterior - c.prior), c.id))
    ranked = [c for c in ranked if c.weight_db > 0 and c.posterior >= 0.02]
    if page.full and ranked:
        page.screen.item("in this order: " + ", ".join(f"{c.label} ({chance(c.posterior)})" for c in ranked[:8]), 4, 2)


def _stays(page: Page, c: Candidate) -> str:
    tried = page.answer.sensitivity
    found = next((one for one in (*tried.families, *tried.actions) if one.id == c.id), None) if tried else None
    return f"; {steady_text.stays(found, tried.draws, numbers=page.numbers, brief=page.tight >= 2)}" if found and tried else ""


def _figures(page: Page, c: Candidate) -> str:
    return f" [{c.prior:.3f} → {c.posterior:.3f}, {c.weight_db:+.1f} dB]" if page.numbers else ""


def _finding_link(page: Page, path: Path) -> str:
    quality = page.quality(path.quality)
    cls = page.ontology.label("class", path.cls)
    mechanism = next((t for id in path.claims if (t := page.ontology.claim(id).text("mechanism"))), "")
    because = f", because: {mechanism}" if mechanism and page.full else ""
    if not page.full:
        return f"{quality} ← {cls} {page.cites.mark(path.claims)}; {about(path.probability)}"
    return f"{quality}, given {_strength(page, path.claims[0])} by {cls} {page.cites.mark(path.claims)}; here {about(path.probability)}{because}"


def _strength(page: Page, claim: str) -> str:
    return page.ontology.claim(claim).word.replace("-", " ")


def actions(page: Page) -> None:
    """The actions that the tasting makes likelier, each with the path that speaks most for it."""
    risen = page.answer.risen("actions")
    page.screen.heading("What it belongs with, by practice; no promise that it works")
    if not risen:
        page.screen.item("No action is much likelier than before.")
    for place, c in enumerate(risen if page.full else risen[:SHOWN]):
        herbs, total = c.documented
        share = f"; {herbs} of {total} herbs" if total else ""
        page.screen.item(f"{c.label}: {before_after(c.prior, c.posterior)}; {speaks(c.word, c.weight_db)}{share}{_stays(page, c) if page.tight < 4 else ''}{_figures(page, c)}")
        for path in c.paths if page.full else c.paths[: _paths(page, place)]:
            if path.probability >= 0.005:
                page.screen.item(_action_link(page, path), 4, 2)


def _action_link(page: Page, path: Path) -> str:
    # the action's own claims stand last; its ruling claim is the first of them
    acts = [id for id in path.claims if id.startswith("acts_as/")]
    evokes = [id for id in path.claims if not id.startswith("acts_as/")]
    if not page.full:
        how = page.ontology.claim(acts[0])
        return (
            f"{page.quality(path.quality)} → {page.ontology.label('class', path.cls)}, {_strength(page, acts[0])} ({how.basis}) "
            f"{page.cites.mark([*evokes, *acts])}; {about(path.probability)}"
        )
    claim = page.ontology.claim(acts[0])
    basis = BASIS_WORDS.get(claim.basis, "")
    known = f", known from {basis}" if basis else ""
    return (
        f"{page.quality(path.quality)} → {page.ontology.label('class', path.cls)} {page.cites.mark(evokes)} → "
        f"{page.ontology.label('action', path.action)}, {_strength(page, acts[0])}{known} {page.cites.mark(acts)}; here {about(path.probability)}"
    )


def against(page: Page) -> None:
    """What was absent or not mentioned and weighs against the candidates shown."""
    top = [*page.answer.risen("families")[:SHOWN], *page.answer.risen("actions")[:SHOWN]]
    weights: dict[str, tuple[str, list[str]]] = {}
    for candidate in top:
        for against in candidate.against:
            if against.weight_db <= -0.2:
                weights.setdefault(against.quality, (against.state, []))[1].append(candidate.label)
    lines = [f"{page.quality(q)} was {STATE_WORDS[state]} (against {listing(dict.fromkeys(labels))})" for q, (state, labels) in weights.items()]
    if lines:
        page.screen.item("Speaks against: " + "; ".join(lines if page.full else lines[: 3 if page.tight < 4 else 1]) + ".", 0, 4)
    else:
        page.screen.item("Speaks against: nothing that was looked for weighs against these.", 0, 4)


def odd(page: Page) -> None:
    """Findings that nothing here accounts for, and what the cup may have faked."""
    parts = []
    for u in page.answer.unexplained:
        faked = f"; {about(u.faked)} it comes from how the cup was made or who tasted" if u.faked >= 0.05 else ""
        parts.append(f"{u.label} ({about(u.probability)}{faked})")
    if parts:
        page.screen.item(f"Most likely something not on file gave {listing(parts)}.", 0, 4)
    fakes = [c for c in page.answer.conditions if c.relation == "fakes" and c.explains is not None]
    named = {u.quality for u in page.answer.unexplained}
    for c in fakes:
        if c.target not in named and c.explains is not None and c.explains >= 0.05:
            page.screen.item(f"Mind the cup: {c.label} gives {c.target_label} too; {about(c.explains)} that it alone did so {page.cites.mark([c.claim])}.", 0, 4)


def unchanged(page: Page) -> None:
    """The candidates that did not rise."""
    for group, title in (("families", "constituents"), ("actions", "actions")):
        everything: tuple[Candidate, ...] = getattr(page.answer, group)
        common = [f"{c.label} ({chance(c.posterior)})" for c in everything if c.standing == "unchanged" and c.posterior >= 0.1]
        less = [f"{c.label} ({before_after(c.prior, c.posterior)})" for c in everything if c.standing == "fallen"]
        rare = [f"{c.label} ({before_after(c.prior, c.posterior)})" for c in everything if c.standing == "unlikely"]
        if common:
            page.screen.item(f"Unchanged, common anyway ({title}): {', '.join(common)}.", 0, 4)
        if less:
            page.screen.item(f"Less likely now ({title}): {', '.join(less)}.", 0, 4)
        if rare:
            page.screen.item(f"Likelier than before, yet unlikely ({title}): {', '.join(rare)}.", 0, 4)
