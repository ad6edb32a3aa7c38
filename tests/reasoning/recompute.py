"""An independent program: works out every figure of `kgraph ask --json --strengths` again, from that output alone.

It knows nothing of kgraph. Method: condition on the hidden state of every percept with a report, one term for each
"ignored / all arcs off" choice of Heckerman's identity, in exact fractions: slow, and with no code in common.
"""

from __future__ import annotations

import itertools
import json
import sys
from fractions import Fraction as F


def work_out(answer: dict) -> dict:
    s = answer["strengths"]
    bits = {b["percept"]: b for b in s["bits"]}
    arcs: dict[str, dict[str, tuple[F, F]]] = {}  # (at major level, at minor level)
    for a in s["arcs"]:
        arcs.setdefault(a["class"], {})[a["percept"]] = (F(a["strength"]), F(a["at_minor_level"]))
    prior = {c: F(p) for c, p in s["priors"].items()}
    major = {c: F(p) for c, p in s["priors_major"].items()}
    names = list(bits)
    kids = {g: [p for p in names if bits[p]["group"] == g] for g in names}

    # P(no class or other cause makes any percept of `quiet` true) multiplies over classes; every report is
    # there + (not_there - there) * [percept is not there], and a group is not there only if its kinds are not.
    terms: list[tuple[F, frozenset[str]]] = []
    for choice in itertools.product((0, 1), repeat=len(names)):
        weight, quiet = F(1), set()
        for off, name in zip(choice, names, strict=True):
            there, not_there = F(bits[name]["there"]), F(bits[name]["not_there"])
            weight *= (not_there - there) if off else there
            if off:
                quiet |= {name, *kids[name]}
        if weight:
            for name in quiet:
                weight *= 1 - F(bits[name]["other_cause"])
            terms.append((weight, frozenset(quiet)))

    def total(part: dict[str, F]) -> F:
        """P(reports and no class of `part` takes part), a class taking part with the given probability."""
        value = F(0)
        for weight, quiet in terms:
            for c, p in prior.items():
                plainly = faintly = 1 - part.get(c, F(0))
                for percept, (strength, faint) in arcs.get(c, {}).items():
                    if percept in quiet:
                        plainly *= 1 - strength
                        faintly *= 1 - faint
                weight *= 1 - p + major[c] * plainly + (p - major[c]) * faintly
            value += weight
        return value

    everything = total({})
    acts: dict[str, dict[str, F]] = {}
    for a in s["acts_as"]:
        acts.setdefault(a["action"], {})[a["class"]] = F(a["strength"])
    return {
        "classes": {c: float(1 - total({c: F(1)}) / everything) for c in prior},
        "families": {f: float(1 - total(dict.fromkeys(m, F(1))) / everything) for f, m in s["families"].items()},
        "actions": {a: float(1 - total(m) / everything) for a, m in acts.items()},
        "cautions": {f"{k['caution']}/{k['severity']}": float(1 - total(dict.fromkeys(k["classes"], F(1))) / everything) for k in s["carriers"]},
    }


if __name__ == "__main__":
    json.dump(work_out(json.load(sys.stdin)), sys.stdout)
