"""How steady a conclusion is, in plain words."""

from __future__ import annotations

from kgraph.reasoning.answer import Sensitivity, Steady
from kgraph.writing.plain import about


def stays(one: Steady, n: int, *, numbers: bool = False, brief: bool = False) -> str:
    """`stays in 183 of 200 (place 1 to 2)`."""
    if brief:
        return f"stays in {one.among}"
    low, high = int(one.place_low), int(one.place_high)
    place = f"place {low}" if low == high else f"place {low} to {high}"
    chances = f", {one.chance_low:.3f} to {one.chance_high:.3f}" if numbers else ""
    return f"stays in {one.among} of {n} ({place}{chances})"


def hinges(found: Sensitivity, *, numbers: bool = False, brief: bool = False) -> str:
    """One sentence: the figures on which the first place hangs; "" where none matters."""
    if not found.hinges:
        return f"No single figure moves {found.leader_label} from the first place."
    if brief:
        return f"First place hangs most on {'; '.join(h.label for h in found.hinges)}."
    parts = []
    for hinge in found.hinges:
        instead = f" (at its worst {hinge.instead} would stand first)" if hinge.instead else ""
        value = ""
        if hinge.value is not None and hinge.edge is not None:
            value = f" [{hinge.value:.3f}, at worst {hinge.edge:.3f}]" if numbers else f", {about(hinge.value)}"
        parts.append(f"{hinge.label}{value}{instead}")
    keeps = "" if any(h.instead for h in found.hinges) else "; with each of them at its worst it is still the first"
    return f"{found.leader_label} as the first hangs most on {'; '.join(parts)}{keeps}."
