"""Two samples side by side, on a terminal."""

from __future__ import annotations

from kgraph.reasoning.comparison import Comparison, Difference
from kgraph.writing.plain import STATE_WORDS, before_after, listing
from kgraph.writing.screen import Screen

_LEVELS = ("not there", "weak", "plain", "strong")
_POISONS = 6
_CHANGED = ("new", "stronger", "weaker", "gone")


def _steps(difference: Difference) -> str:
    by = abs(difference.step)
    if by >= 1.5:
        return "by two steps or more of four"
    return "by about one step of four" if by >= 0.75 else "by less than a step"


def render(found: Comparison, *, full_answer: bool = False, numbers: bool = False, width: int = 88, bold: bool = False) -> str:
    """What changed first; then how the cups were made, what cannot be said, what stayed the same."""
    screen = Screen(width, bold)
    if found.poisons_near:
        more = f" and {len(found.poisons_near) - _POISONS} more" if len(found.poisons_near) > _POISONS else ""
        screen.item(f"WARNING: these findings fit what is never to be tasted too: {'; '.join(found.poisons_near[:_POISONS])}{more}. Taste no more of either until it is named by looking.", 0)
    one, two = found.sides
    screen.heading(f"{one.name} and {two.name}, side by side ({len(one.tasters)} and {len(two.tasters)} tasters)")
    changed = [d for d in found.differences if d.word in _CHANGED]
    for d in changed:
        figures = f" [{d.first_level:.1f} to {d.second_level:.1f}, {d.weight_db:+.1f} dB]" if numbers else ""
        sure = "strongly" if d.weight_db >= 10 else "clearly"
        screen.item(f"{d.label}: {d.word}, {_LEVELS[round(d.first_level)]} → {_LEVELS[round(d.second_level)]}, {_steps(d)}; {sure} more than tasters of one cup differ{figures}")
    if not changed:
        screen.item("No quality differs by more than tasters of one cup may differ.")
    for test, before, now in found.tests:
        if before != now:
            screen.item(f"{test}: {'yes' if before else 'no'} → {'yes' if now else 'no'}")
    same = [d.label for d in found.differences if d.word == "the same"]
    open_ = [f"{d.label} ({STATE_WORDS[d.first]} → {STATE_WORDS[d.second]})" if d.first != d.second else d.label for d in found.differences if d.word == "cannot be said"]
    if same:
        screen.item(f"the same: {listing(same)}")
    if open_:
        screen.item(f"cannot be said with so few tasters: {listing(open_) if full_answer else listing(open_[:6])}{'' if full_answer or len(open_) <= 6 else f' and {len(open_) - 6} more (--full)'}")
    for names, side in ((found.only_first, one), (found.only_second, two)):
        if names and full_answer:
            screen.item(f"asked of {side.name} only: {listing(names)}")
    if found.made_differently:
        screen.heading("Not made alike")
        for what, first, second in found.made_differently:
            screen.item(f"{what}: {first or 'not on record'} → {second or 'not on record'}")
    if found.families:
        screen.heading("What may be in the cup: the first → the second")
        for _, label, a, b in found.families if full_answer else found.families[:3]:
            screen.item(f"{label}: {before_after(a, b)}" + (f" [{a:.3f} to {b:.3f}]" if numbers else ""))
    for side in found.sides:
        if side.fits:
            screen.item(f"{side.name}: {side.fits} what is on file for the herb" if side.fits == "fits" else f"{side.name}: {side.fits} with what is on file for the herb", 0)
        for _, text in side.quality:
            screen.item(f"{side.name}: {text}", 0)
    for remark in found.remarks:
        screen.item(remark, 0)
    count = len(found.differences)
    if count > 5:
        screen.item(f"{count} qualities were compared; with one taster each, up to 8 in 100 seem to differ by chance alone. Taste both again, blind and side by side, before a lot is sent back.", 0)
    screen.item(found.notice, 0)
    return screen.text()
