"""What to look for next, on a terminal."""

from __future__ import annotations

from kgraph.claims import Ontology
from kgraph.reasoning.proposal import Change, Proposal, Step
from kgraph.writing.citing import Citations, full
from kgraph.writing.plain import about, before_after
from kgraph.writing.screen import Screen

SHOWN = 5
_ABOUT = {"families": "what may be in the cup", "herbs": "which herb on file it fits", "lookalikes": "telling it from its lookalikes on file"}
_SEEN = {"kitchen test": ("if it shows", "if not"), "bench test": ("if it shows", "if not")}


def _changes(changes: tuple[Change, ...]) -> str:
    return "; ".join(f"{c.label} {before_after(c.now, c.then)}" for c in changes if abs(c.then - c.now) >= 0.005) or "little changes"


def _step(screen: Screen, step: Step, number: int, *, numbers: bool, steps: bool) -> None:
    figures = f" [{step.bits:.3f} bits]" if numbers else ""
    how = f": {step.steps}" if steps and step.steps else ""
    screen.item(f"{number}. {step.label} ({step.kind}), noticed {about(step.chance)}{figures}{how}")
    yes, no = _SEEN.get(step.kind, ("if it is there", "if not"))
    screen.item(f"{yes}: {_changes(step.if_there)}", 5, 2)
    screen.item(f"{no}: {_changes(step.if_not)}", 5, 2)


def render(found: Proposal, ontology: Ontology, *, full_answer: bool = False, numbers: bool = False, width: int = 88, bold: bool = False) -> str:
    """The looks that would tell most, with what each outcome would change; then how the lookalikes of the herb are told apart."""
    screen, cite = Screen(width, bold), Citations(ontology)
    if found.only_looking:
        screen.item(f"WARNING: taste no more of this for now: {found.only_looking}. Only looking and safe tests stand below.", 0)
    if found.about == "lookalikes":
        _pairs(screen, cite, found, full_answer=full_answer)
    _steps(screen, found, full_answer=full_answer, numbers=numbers)
    if found.about != "lookalikes":
        _pairs(screen, cite, found, full_answer=full_answer)
    if cite.numbers:
        screen.heading("Sources")
        for number_of, source in cite.listing():
            screen.item(f"{number_of} {full(source)}")
    screen.item("Write results into the record and ask again. Taste alone never names a herb. " + found.notice, 0)
    return screen.text()


def _steps(screen: Screen, found: Proposal, *, full_answer: bool, numbers: bool) -> None:
    screen.heading(f"What would tell most about {_ABOUT[found.about]}")
    for number, step in enumerate(found.steps if full_answer else found.steps[:SHOWN], start=1):
        _step(screen, step, number, numbers=numbers, steps=full_answer or step.kind.endswith("test"))
    if not found.steps:
        screen.item("Nothing that may be asked now would tell more.")
    elif not full_answer and len(found.steps) > SHOWN:
        screen.item(f"{len(found.steps) - SHOWN} more tell less (--full).")
    deadly = [pair.label for pair in found.pairs if pair.taste_safety == "do-not-taste"]
    if found.about == "lookalikes" and deadly:
        screen.item(f"No outcome here clears {', '.join(deadly)}: go by what the sources say above.")


def _pairs(screen: Screen, cite: Citations, found: Proposal, *, full_answer: bool) -> None:
    if found.pairs:
        screen.heading(f"{found.claimed_label} is mistaken for")
        for pair in found.pairs:
            deadly = " (NEVER TO BE TASTED)" if pair.taste_safety == "do-not-taste" else ""
            screen.item(f"{pair.kind.replace('-', ' ')}: {pair.label}{deadly}: {pair.how} {cite.mark(pair.claims)}".rstrip())
            if pair.parted_by:
                screen.item(f"described as present in one and missing in the other: {', '.join(pair.parted_by)}", 4, 2)
            if full_answer:
                for test, seen in pair.shows:
                    screen.item(f"{test}: {seen}", 4, 2)
