"""The blank tasting sheet: a page that works on a phone with no network and saves a record, and the same on paper; and the plan of a session."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence

from kgraph.claims import Ontology
from kgraph.reasoning import heed
from kgraph.reasoning.answer import NOTICE
from kgraph.tasting.record import WHEN
from kgraph.tasting.session_plan import CLEANSERS, REST_MINUTES, SIP_ML, SOLUTIONS, STRENGTH, Plan
from kgraph.writing.document import filled, part
from kgraph.writing.note_text import escaped
from kgraph.writing.plain import visible
from kgraph.yamlio import InputError, Place

#: Senses in the order of a tasting, with the moments that a finding of each may have.
ORDER = (("appearance", "Look", ()), ("aroma", "Smell", ()), ("taste", "Taste", WHEN), ("mouthfeel", "Feel in the mouth", WHEN), ("chemesthesis", "Heat, cooling, tingle", WHEN), ("aftertaste", "After-taste", WHEN[2:]), ("felt", "Felt afterwards", WHEN[2:]))
PROMPTS = (
    {"at": 0, "text": "First: what is there in the first five seconds?"}, {"at": 5, "text": "Hold it, move it about: tongue, gums, palate. What grows?"}, {"at": 20, "text": "Spit it out (or swallow, if that is safe for you). What stays?"},
    {"at": 60, "text": "One minute: does the mouth draw, burn, water, go numb?"}, {"at": 300, "text": "Five minutes: what is left?"}, {"at": 1200, "text": "Twenty minutes: anything felt? Then the next cup, after a rest."},
)
#: Cautions that are about the sample or its long use; no taster can say whether they hold.
OF_THE_SAMPLE = ("duration-limit", "contamination-or-confusion-with-poison", "heavy-metals")
_PLAIN_CAUTION = "pregnancy, breast-feeding, an age under 18, any allergy to plants, any medicine taken regularly, an illness of liver, kidneys, heart or stomach"


def refuse_poisons(ontology: Ontology, herbs: Sequence[str]) -> None:
    """No session has a cup that is never to be tasted. Raises :class:`InputError`."""
    for herb in herbs:
        thing = ontology.herbs[herb]
        if thing.taste_safety == "do-not-taste":
            raise InputError.single("do-not-taste", f"{thing.label} ({thing.name}) is never to be tasted: {thing.taste_reason}.", "Take it out; show it in a closed glass, if at all.", Place("sheet"))


def sit_out(ontology: Ontology, herbs: Sequence[str]) -> tuple[str, ...]:
    """Whoever these hold for sits out: the cautions of all cups together, without saying of which."""
    ages: dict[str, float] = {}
    for herb in herbs:
        for h in heed.label_of(ontology, herb, sealed=False)[1]:
            if h.severity in ("avoid", "care") and h.id not in OF_THE_SAMPLE:
                ages[h.label] = max(ages.get(h.label, 0.0), h.under_age or 0.0)
    return tuple(f"{label} (under {age:g} years)" if age else label for label, age in sorted(ages.items()))


def page(ontology: Ontology, plan: Plan, herbs: Sequence[str], *, blind: bool = True) -> str:
    """The sheet as one HTML file.

    Args:
        ontology: qualities, states, cautions.
        plan: codes, tasters and their serving orders.
        herbs: the herb of each cup, in the order of the codes; empty for a sheet that knows no herbs.
        blind: whether names are kept until all have finished.
    """
    refuse_poisons(ontology, herbs)
    names = [f"{ontology.herbs[h].label} ({ontology.herbs[h].name}, {ontology.herbs[h].part})" for h in herbs] or [""] * len(plan.codes)
    samples = [{"code": code, "name": base64.b64encode(visible(name).encode()).decode()} for code, name in zip(plan.codes, names, strict=True)]
    standard = [ontology.percept(q) for q in ontology.tables.standard_list]
    shown = [ontology.qualities[q] for q in dict.fromkeys(standard or [q.id for q in ontology.qualities.values() if q.kind in ("percept", "kind")])]
    groups = [{"title": title, "when": list(moments), "qualities": [{"id": q.id, "label": visible(q.label)} for q in shown if q.sense == sense]} for sense, title, moments in ORDER]
    groups = [g for g in groups if g["qualities"]]
    by_state = {c.values[0]: c.label for c in ontology.conditions.values() if c.field == "state"}
    data = {
        "id": hashlib.sha256(repr((plan, herbs)).encode()).hexdigest()[:12], "samples": samples, "tasters": list(plan.tasters), "orders": [list(o) for o in plan.orders], "groups": groups,
        "states": [[value, visible(label)] for value, label in by_state.items()], "prompts": list(PROMPTS),
    }
    style, script = part("sheet.css"), part("sheet.js")
    stops = [q.label for q in ontology.qualities.values() if q.kind == "stop"]
    title = "Tasting sheet" if blind or not herbs else f"Tasting sheet: {', '.join(ontology.herbs[h].label for h in herbs)}"
    return filled(
        "sheet.html.j2", style, script, data, title=title, notice=NOTICE, sit_out="; ".join(sit_out(ontology, herbs)) or _PLAIN_CAUTION, stops="; ".join(stops) or "swelling, numbness that spreads, trouble breathing, faintness",
        samples=samples, groups=groups, moments=", ".join(w.replace("-", " ") for w in WHEN),
    )


def _balance(cups: int, tasters: int) -> str:
    need = cups if cups % 2 == 0 else 2 * cups
    whole = "" if tasters and tasters % need == 0 else f" It is whole with {need} tasters or a multiple; with {tasters} it is as even as they allow."
    return f"In a Williams design each cup follows each other one equally often, so that what one cup leaves behind is spread evenly.{whole}"


def plan_text(ontology: Ontology, plan: Plan, herbs: Sequence[str]) -> str:
    """The plan as Markdown, for the one who brews: it names the herbs, so the tasters do not see it."""
    refuse_poisons(ontology, herbs)
    names = [ontology.herbs[h].label for h in herbs] or ["(not named)"] * len(plan.codes)
    people = max(1, len(plan.tasters))
    out = ["# Plan of a blind tasting", "", f"**For the one who brews only: it names the cups.** Seed {plan.seed}: the same seed gives the same plan.", "", escaped(NOTICE), ""]
    out += ["**Sit out, or smell only, if** (read this aloud, without saying for which cup): " + escaped("; ".join(sit_out(ontology, herbs)) or _PLAIN_CAUTION) + ".", ""]
    out += ["## Cups", "", "| code | herb | dried herb | water |", "|---|---|---|---|"]
    water = SIP_ML * people * 1.25
    for code, name, herb in zip(plan.codes, names, [*herbs] or [""] * len(plan.codes), strict=True):
        limit = f" ({escaped(ontology.herbs[herb].taste_limit)})" if herb and ontology.herbs[herb].taste_safety == "small-amount" else ""
        out.append(f"| {code} | {escaped(name)}{limit} | {STRENGTH * water / 100:.1f} g | {water:.0f} mL |")
    out += ["", f"{STRENGTH:g} g in 100 mL, covered, {SIP_ML:g} mL a taster and a quarter over (common practice). All cups alike: vessel, steeping, warmth.", ""]
    out += ["## Serving orders", "", _balance(len(plan.codes), len(plan.tasters)), ""]
    out += ["| taster | " + " | ".join(f"{i + 1}." for i in range(len(plan.codes))) + " |", "|---" * (len(plan.codes) + 1) + "|"]
    out += [f"| {escaped(t)} | " + " | ".join(plan.codes[i] for i in order) + " |" for t, order in zip(plan.tasters, plan.orders, strict=True)]
    out += ["", f"Rest {REST_MINUTES:g} minutes between cups, longer after what draws, burns or numbs (common practice).", "", *(f"- {escaped(line)}" for line in CLEANSERS), ""]
    out += ["## Solutions that train the tongue", "", "| shows | substance | g in a litre | source |", "|---|---|---|---|"]
    out += [f"| {s.quality} | {escaped(s.substance)} | {s.grams_per_litre:g} | {escaped(s.source)} |" for s in SOLUTIONS]
    out += ["", "Food-grade substances only, weighed; a sip, spat out. Caffeine: not for those who are told to avoid it.", ""]
    return "\n".join(out)
