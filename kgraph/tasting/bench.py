"""The sums of the bench: how strong a cup is, how warm, how much spirit is left in it, and the pharmacopoeia's figures.

Each sum names its formula, its inputs with units and limits, and what it rests on: a printed text that was read, a
definition from which the formula follows, or memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import NamedTuple

from kgraph.tasting.quantities import number_in
from kgraph.yamlio import InputError, Place, did_you_mean, shorten


class Input(NamedTuple):
    """An input: unit ("" for a plain number), what it is, limits, and the value taken where none is given (None: it must be given)."""

    unit: str
    what: str
    low: float = 0.0
    high: float = 1e6
    usual: float | None = None
    above_low: bool = False


class Result(NamedTuple):
    """A figure with its unit, and what to think of it."""

    what: str
    value: float
    unit: str
    said: tuple[str, ...] = ()


class Sum(NamedTuple):
    """A sum of the bench."""

    label: str
    formula: str
    inputs: Mapping[str, Input]
    rests_on: str
    work: Callable[[Mapping[str, float]], tuple[Result, ...]]


#: Specific heat in J/(g K): water 4.18 (handbook value, from memory), porcelain about 0.8 to 1.1 (from memory).
WATER_HEAT, CUP_HEAT = 4.18, 0.9
#: A drink above this counts as very hot and is classed as probably carcinogenic (IARC Monographs 116, 2016); the heat-pain channel of the mouth opens at about 43 °C (Foods 2018, 7:83).
VERY_HOT, PAINFUL = 65.0, 43.0
FIT = 45.0
#: Share of added alcohol that stays (USDA Table of Nutrient Retention Factors, release 6, 2007, as quoted on secondary pages).
KEPT = {"stirred into boiling liquid off the heat": 0.85, "stood overnight, no heat": 0.70, "simmered 15 minutes": 0.40, "simmered 30 minutes": 0.35, "simmered 1 hour": 0.25, "simmered 2 hours": 0.10}


def _strength(v: Mapping[str, float]) -> tuple[Result, ...]:
    value = 100 * v["herb"] / v["water"]
    said = ["Tea liquor for sensory tests: 2 g in 100 mL (ISO 3103:2019; made for tea, a model only).", "Teaching pages on herbal teas give 1 to 4 g a cup of about 150 mL, 0.7 to 2.7 g in 100 mL."]
    if value < 0.7:
        said.append("That is weaker than usual: a weak cup and a weak herb taste alike.")
    elif value > 2.7:
        said.append("That is stronger than usual: for a tasting brew it weaker.")
    return (Result("strength", value, "g per 100 mL", tuple(said)),)


def _mix(v: Mapping[str, float]) -> tuple[Result, ...]:
    water = WATER_HEAT * (v["cold"] * v["cold_at"] + v["boiling"] * v["boils_at"])
    cup = CUP_HEAT * v["cup"]
    heat = WATER_HEAT * (v["cold"] + v["boiling"])
    mixed = (water + cup * v["room"]) / (heat + cup)
    said = ["Losses while pouring are left out, and a mL of water is taken as a gram: a real cup ends a little cooler."]
    if mixed > VERY_HOT:
        said.append(f"Above {VERY_HOT:g} °C counts as very hot: let it cool.")
    found = [Result("mixed", mixed, "°C", tuple(said))]
    if v["after"] > 0:
        found.append(_cooling(mixed, v))
    return tuple(found)


def _cooling(mixed: float, v: Mapping[str, float]) -> Result:
    """Newton's law of cooling, its rate from one reading of this very cup (a lid is in the reading)."""
    room, reading = v["room"], v["reading"]
    if not room < reading < mixed:
        raise InputError.single("no-cooling", f"a reading of {reading:g} °C does not lie between the room ({room:g}) and the fresh mixture ({mixed:.1f}).", "Check the reading and the temperatures.", Place("reading"))
    rate = math.log((mixed - room) / (reading - room)) / v["after"]
    if room >= FIT:
        raise InputError.single("no-cooling", f"the room is warmer than {FIT:g} °C.", "Check the temperature of the room.", Place("room"))
    wait = max(0.0, math.log((mixed - room) / (FIT - room)) / rate) if mixed > FIT else 0.0
    return Result(f"fit to taste ({FIT:g} °C) after", wait, "min", (f"Heat pain begins at about {PAINFUL:g} °C, and what burns feels hotter than it is.", "Newton's law of cooling; covered cups cool more slowly, so take the reading as the cup stands."))


def _ethanol(v: Mapping[str, float]) -> tuple[Result, ...]:
    total = v["tincture"] + v["water"]
    fresh = v["tincture"] * v["strength"] / total
    kept = KEPT["stirred into boiling liquid off the heat"]
    threshold = "Taken for a finding of its own from 4 % on by this program; published panels called 8 and 16 % bitter, 32 and 48 % burning (Nolden and Hayes 2015)."
    return (
        Result("ethanol in the cup", fresh, "% v/v", (threshold, "Volumes are added up; that spirit and water shrink a little is left out.")),
        Result("at least, if the water was hot", fresh * kept, "% v/v", ("Hot water drives off little: 85 % stays after stirring into boiling liquid, 40 % after 15 minutes of simmering (USDA retention factors, release 6, as quoted).",)),
    )


def _bitterness_who(v: Mapping[str, float]) -> tuple[Result, ...]:
    value = 2000 * v["quinine"] / (v["extract"] * v["volume"])
    return (Result("bitterness value", value, "WHO units per g", (f"On the scale of Ph. Eur. (quinine hydrochloride 200 000): {100 * value:g}.",)),)


def _bitterness_ph_eur(v: Mapping[str, float]) -> tuple[Result, ...]:
    k = 5.0 / v["reference"]
    value = v["dilution"] * k / (0.1 * v["volume"])
    return (Result("correction factor of the taster", k, ""), Result("bitterness value", value, "(quinine hydrochloride = 200 000)", ("The mean over the panel, at least six people, is reported.",)))


def _swelling(v: Mapping[str, float]) -> tuple[Result, ...]:
    return (Result("swelling index", v["volume"] / v["mass"], "mL per g", ("The mean of at least three runs is reported.",)),)


def _foaming(v: Mapping[str, float]) -> tuple[Result, ...]:
    return (Result("foaming index", 1000 / v["volume"], "", ("Below 1 cm in every tube: report below 100. Above 1 cm in every tube: dilute and repeat; it is above 1000.",)),)


def _tannins_who(v: Mapping[str, float]) -> tuple[Result, ...]:
    return (Result("tannins", (v["extract"] - (v["unbound"] - v["blank"])) * 500 / v["mass"], "% m/m", ("500 = (250 mL / 50 mL) × 100: what hide powder did not bind, less what it gives off itself, is taken off.",)),)


def _tannins_ph_eur(v: Mapping[str, float]) -> tuple[Result, ...]:
    return (Result("tannins, as pyrogallol", 62.5 * (v["all"] - v["unbound"]) * v["pyrogallol"] / (v["standard"] * v["mass"]), "% m/m", ("62.5 follows from the dilutions: 250 × (25 / 5) × (5 / 100) for the drug against 100 / 100 for the standard, in per cent.",)),)


def _extractable(v: Mapping[str, float]) -> tuple[Result, ...]:
    return (Result("extractable matter", 100 * v["residue"] * v["solvent"] / (v["portion"] * v["mass"]), "% m/m"),)


def _drying(v: Mapping[str, float]) -> tuple[Result, ...]:
    return (Result("loss on drying", 100 * (v["before"] - v["after"]) / v["before"], "% m/m", ("Not for drugs rich in volatile oil: there water is determined by distillation.",)),)


def _oil(v: Mapping[str, float]) -> tuple[Result, ...]:
    value = 1000 * (v["read"] - v["xylene"]) / v["mass"]
    return (Result("volatile oil", value, "mL per kg", (f"WHO reports mL per 100 g: {value / 10:g}.",)),)


def _foreign(v: Mapping[str, float]) -> tuple[Result, ...]:
    value = 100 * v["foreign"] / v["mass"]
    return (Result("foreign matter", value, "% m/m", ("At most 2 % unless the monograph says otherwise (general monograph Herbal drugs).", *(("That is more than 2 %.",) if value > 2 else ()))),)


_G, _ML = Input("g", "", above_low=True), Input("mL", "", above_low=True)


def _of(pattern: Input, what: str, *, usual: float | None = None, high: float = 1e6, above_low: bool = True) -> Input:
    return Input(pattern.unit, what, 0.0, high, usual, above_low)


_WHO = "WHO, Quality control methods for medicinal plant materials (1998)"
SUMS: dict[str, Sum] = {
    "strength": Sum("strength of the cup", "100 · herb / water", {"herb": _of(_G, "dried herb"), "water": _of(_ML, "water in all")}, "arithmetic; reference strengths as named beside the result", _strength),
    "mixing": Sum("warmth of cold and boiling water together, and when it is fit to taste", "(Σ c·m·T) / (Σ c·m)", {
        "cold": _of(_ML, "cold water", above_low=False), "boiling": _of(_ML, "boiling water"), "cold_at": Input("degC", "of the cold water", 0, 100, 15.0), "boils_at": Input("degC", "at which water boils here", 60, 100, 100.0),
        "cup": Input("g", "of the cup, if it is to count", 0, 1e5, 0.0), "room": Input("degC", "of room and cup", -20, 50, 20.0),
        "after": Input("minute", "after which a reading was taken (0: none)", 0, 600, 0.0), "reading": Input("degC", "of the cup at that time", 0, 100, 0.0),
    }, "heat balance; specific heats from memory; cooling by Newton's law with the rate of one reading", _mix),
    "ethanol": Sum("spirit left in a diluted tincture", "tincture · strength / (tincture + water)", {"tincture": _of(_ML, "tincture"), "strength": Input("percent", "ethanol in it by volume", 0, 100), "water": _of(_ML, "water it is let down with", above_low=False)}, "dilution; USDA retention factors as quoted on secondary pages", _ethanol),
    "bitterness-who": Sum("bitterness value, WHO scale", "2000 · quinine / (extract · volume)", {
        "quinine": Input("mg", "quinine hydrochloride in the taster's own threshold tube of 10 mL", 0, 100, None, True), "extract": Input("mg/mL", "of the stock extract", 0, 1e4, None, True), "volume": _of(_ML, "of stock extract in the threshold tube of 10 mL", high=10.0),
    }, f"follows from the definition of the unit (1 g quinine hydrochloride in 2000 mL), read in {_WHO}; the printed formula was not seen", _bitterness_who),
    "bitterness-ph-eur": Sum("bitterness value, Ph. Eur. 2.8.15", "Y · (5.00 / n) / (0.1 · X)", {
        "dilution": Input("", "Y: mL of tested solution for each g of drug", 0, 1e9, None, True), "volume": _of(_ML, "X: of it that still taste bitter made up to 10 mL", high=10.0), "reference": Input("mL", "n: of quinine stock in the weakest reference that the taster finds bitter", 3.6, 5.8),
    }, "procedure and reference value read in BP 2012, Appendix XI N; the formula follows from them, its printed form was cut off", _bitterness_ph_eur),
    "swelling": Sum("swelling index", "volume / mass", {"volume": _of(_ML, "taken after swelling"), "mass": _of(_G, "drug", usual=1.0)}, _WHO, _swelling),
    "foaming": Sum("foaming index", "1000 / volume", {"volume": _of(_ML, "decoction in the tube of 10 mL with 1 cm of foam", high=10.0)}, _WHO, _foaming),
    "tannins-who": Sum("tannins by hide powder, WHO", "(T1 − (T2 − T0)) · 500 / w", {
        "extract": Input("g", "T1: dry residue of 50.0 mL extract", 0, 50), "unbound": Input("g", "T2: the same after hide powder", 0, 50), "blank": Input("g", "T0: of 50.0 mL water shaken with hide powder", 0, 50), "mass": _of(_G, "w: drug in 250 mL extract"),
    }, f"{_WHO}, the formula from memory; this arrangement of the signs is the one that balances", _tannins_who),
    "tannins-ph-eur": Sum("tannins as pyrogallol, Ph. Eur. 2.8.14", "62.5 · (A1 − A2) · m2 / (A3 · m1)", {
        "all": Input("", "A1: absorbance of all polyphenols", 0, 10), "unbound": Input("", "A2: of those not bound by hide powder", 0, 10), "standard": Input("", "A3: of the pyrogallol standard", 0, 10, None, True), "pyrogallol": _of(_G, "m2: pyrogallol", usual=0.05), "mass": _of(_G, "m1: drug"),
    }, "procedure read in British Pharmacopoeia, Appendix XI M; the factor follows from its dilutions", _tannins_ph_eur),
    "extractable": Sum("extractable matter", "100 · r · V / (v · w)", {"residue": Input("g", "r: dry residue of the portion", 0, 1e4), "solvent": _of(_ML, "V: solvent in all"), "portion": _of(_ML, "v: evaporated"), "mass": _of(_G, "w: drug")}, f"mass balance; {_WHO}, the formula from memory", _extractable),
    "drying": Sum("loss on drying", "100 · (m0 − m1) / m0", {"before": _of(_G, "m0: before drying"), "after": Input("g", "m1: after drying", 0, 1e6)}, "University of Zurich, medicinal plant database, assay paragraphs after Ph. Eur.", _drying),
    "volatile-oil": Sum("volatile oil", "1000 · (v − x) / w", {"read": Input("mL", "v: in the measuring tube after distillation", 0, 100), "xylene": Input("mL", "x: xylene put in", 0, 100, 0.0), "mass": _of(_G, "w: drug")}, f"{_WHO}; unit of Ph. Eur. as in the medicinal plant database, University of Zurich", _oil),
    "foreign": Sum("foreign matter", "100 · f / w", {"foreign": Input("g", "f: parts that do not belong to the drug", 0, 1e6), "mass": _of(_G, "w: examined")}, "British Pharmacopoeia 2010, Herbal drugs (Ph. Eur. 1433)", _foreign),
}
#: Pairs of which the first cannot be the smaller: what was taken off cannot weigh more than the whole.
_AT_LEAST = {"drying": (("before", "after"),), "volatile-oil": (("read", "xylene"),), "foreign": (("mass", "foreign"),), "extractable": (("solvent", "portion"),), "tannins-ph-eur": (("all", "unbound"),)}


def work_out(name: str, given: Mapping[str, str]) -> tuple[Sum, dict[str, float], tuple[Result, ...]]:
    """A sum with its inputs as written.

    Returns:
        The sum, its inputs in their units, and the results.

    Raises:
        InputError: no such sum, an unknown or missing input, a wrong unit, a value out of its limits.
    """
    if name not in SUMS:
        raise InputError.single("unknown-sum", f"no sum is called `{shorten(name)}`.", did_you_mean(name, SUMS) or "Run `kgraph prepare` for the list.", Place("prepare"))
    found = SUMS[name]
    for key in given:
        if key not in found.inputs:
            raise InputError.single("unknown-input", f"`{shorten(key)}` is no input of {name}.", did_you_mean(key, found.inputs) or f"Inputs: {', '.join(found.inputs)}.", Place(name))
    values: dict[str, float] = {}
    for key, one in found.inputs.items():
        if key not in given:
            if one.usual is None:
                raise InputError.single("missing", f"`{key}` is missing ({one.what}{f', in {one.unit}' if one.unit else ''}).", f"Write {key}=...", Place(name))
            values[key] = one.usual
            continue
        value = number_in(given[key], one.unit, key)
        if not one.low <= value <= one.high or (one.above_low and value == one.low):
            bound = f"more than {one.low:g}" if one.above_low else f"{one.low:g}"
            raise InputError.single("out-of-range", f"`{key}` is {value:g} {one.unit}; it lies between {bound} and {one.high:g}.".replace("  ", " "), f"Check it: {one.what}.", Place(key))
        values[key] = value
    for larger, smaller in _AT_LEAST.get(name, ()):
        if values[smaller] > values[larger]:
            raise InputError.single("order", f"`{smaller}` ({values[smaller]:g}) is more than `{larger}` ({values[larger]:g}).", "Check which is which.", Place(name))
    if name == "mixing" and values["after"] > 0 and "reading" not in given:
        raise InputError.single("missing", "`reading` is missing: what was it after that time?", "Write reading=60C.", Place(name))
    results = found.work(values)
    if any(not math.isfinite(r.value) for r in results):
        raise InputError.single("out-of-range", "these figures give no finite result.", "Check them.", Place(name))
    return found, values, results
