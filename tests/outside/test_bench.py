"""The sums of the bench against published figures, against what a definition says, and against the rules that any such sum must keep."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.cli import main
from kgraph.tasting.bench import KEPT, SUMS, work_out
from kgraph.tasting.quantities import number_in
from kgraph.yamlio import InputError

positive = st.floats(1e-3, 1e3)


def first(name: str, **given_: object) -> float:
    return work_out(name, {k: str(v) for k, v in given_.items()})[2][0].value


class TestPublished:
    """Values that stand in print, with the place."""

    def test_tea_liquor(self) -> None:
        """ISO 3103:2019, the two pots: 5.6 g in 285 mL and 2.8 g in 140 mL make 2 g per 100 mL within 2 %."""
        assert first("strength", herb="5.6 g", water="285 ml") == pytest.approx(2, rel=0.02)
        assert first("strength", herb="2.8 g", water="140 ml") == pytest.approx(2, rel=1e-9)

    def test_quinine_has_its_own_value(self) -> None:
        """BP 2012, Appendix XI N: 0.100 g in 100.0 mL, 1.0 mL of it in 100.0 mL, and 5.0 mL of that in 10 mL is the threshold of quinine hydrochloride, whose value is set at 200 000; WHO 1998 sets it at 2000 units per g."""
        dilution = 100.0 / 0.100 * 100
        assert work_out("bitterness-ph-eur", {"dilution": str(dilution), "volume": "5 ml", "reference": "5 ml"})[2][1].value == pytest.approx(200_000)
        assert first("bitterness-who", quinine="0.05 mg", extract="0.01 mg/mL", volume="5 ml") == pytest.approx(2000)

    def test_one_in_a_thousand(self) -> None:
        """Schoepke, Bitterwert: a value of 1000 means that 1 g in 1000 mL is just bitter: 100 mL per g, of which 1 mL in 10 mL."""
        assert work_out("bitterness-ph-eur", {"dilution": "100", "volume": "1 ml", "reference": "5 ml"})[2][1].value == pytest.approx(1000)

    def test_the_factor_of_the_tannin_assay(self) -> None:
        """BP Appendix XI M: drug to 250.0 mL, 5.0 mL of the filtrate to 25.0 mL; pyrogallol 50.0 mg to 100.0 mL, 5.0 mL of it to 100.0 mL. A drug that is all pyrogallol, weighed so that both solutions are alike, holds 100 %."""
        standard = 0.050 / 100 * 5 / 100  # g per mL
        mass = standard * (25 / 5) * 250
        assert first("tannins-ph-eur", all=0.4, unbound=0, standard=0.4, pyrogallol="0.05 g", mass=f"{mass} g") == pytest.approx(100)

    def test_hide_powder_balance(self) -> None:
        """WHO 1998, hide powder: an extract of which nothing is bound holds none, one of which all is bound holds what 50 mL of 250 mL left, times five."""
        assert first("tannins-who", extract="0.21 g", unbound="0.22 g", blank="0.01 g", mass="2 g") == pytest.approx(0)
        assert first("tannins-who", extract="0.20 g", unbound="0.01 g", blank="0.01 g", mass="2 g") == pytest.approx(100 * 0.20 * 5 / 2)

    def test_alcohol_that_stays(self) -> None:
        """USDA Table of Nutrient Retention Factors, release 6 (as quoted on secondary pages): 85 % after stirring into boiling liquid, 40 % after a quarter of an hour of simmering."""
        assert (KEPT["stirred into boiling liquid off the heat"], KEPT["simmered 15 minutes"]) == (0.85, 0.40)
        fresh, hot = (r.value for r in work_out("ethanol", {"tincture": "1 ml", "strength": "45%", "water": "150 ml"})[2])
        assert fresh == pytest.approx(0.298, abs=5e-4) and hot == pytest.approx(0.85 * fresh)

    @pytest.mark.parametrize(("cold", "mixed"), [(5, 68.3), (10, 70.0), (15, 71.7), (20, 73.3)])
    def test_a_third_cold(self, cold: float, mixed: float) -> None:
        """Heat balance by hand, losses left out: (T + 2 · 100) / 3."""
        assert first("mixing", cold="70 ml", boiling="140 ml", cold_at=f"{cold} °C") == pytest.approx(mixed, abs=0.05)

    @pytest.mark.parametrize(("name", "given_", "value"), [
        ("swelling", {"volume": "12 ml", "mass": "1 g"}, 12), ("foaming", {"volume": "4 ml"}, 250), ("extractable", {"residue": "0.35 g", "solvent": "100 ml", "portion": "25 ml", "mass": "4 g"}, 35),
        ("drying", {"before": "1 g", "after": "0.89 g"}, 11), ("volatile-oil", {"read": "0.78 ml", "xylene": "0.5 ml", "mass": "20 g"}, 14), ("foreign", {"foreign": "1.5 g", "mass": "100 g"}, 1.5),
        ("tannins-ph-eur", {"all": "0.62", "unbound": "0.20", "standard": "0.35", "mass": "0.75 g"}, 5.0), ("tannins-who", {"extract": "0.21 g", "unbound": "0.15 g", "blank": "0.01 g", "mass": "2 g"}, 17.5),
        ("bitterness-who", {"quinine": "0.05 mg", "extract": "0.1 mg/mL", "volume": "5 ml"}, 200),
    ])
    def test_worked_by_hand(self, name: str, given_: dict[str, str], value: float) -> None:
        """One example a formula (WHO 1998, Ph. Eur. by way of BP and the Zurich database), the arithmetic done by hand."""
        assert work_out(name, given_)[2][-1].value == pytest.approx(value)


class TestRules:
    """What must hold whatever is weighed."""

    @given(positive, positive)
    def test_units_do_not_matter(self, herb: float, water: float) -> None:
        """Kilograms and litres, or a comma, give the same strength."""
        one = first("strength", herb=f"{herb} g", water=f"{water} ml")
        assert first("strength", herb=f"{herb / 1000} kg", water=f"{water / 1000} l") == pytest.approx(one)
        assert first("strength", herb=str(herb).replace(".", ","), water=water) == pytest.approx(one)

    @given(st.floats(0, 500), st.floats(1, 500), st.floats(0, 99), st.floats(0, 1000), st.floats(-10, 40))
    def test_a_mixture_lies_between_its_parts(self, cold: float, boiling: float, at: float, cup: float, room: float) -> None:
        """Never colder than the coldest part nor warmer than boiling; a cup of the mixture's own warmth changes nothing."""
        values = {"cold": f"{cold}", "boiling": f"{boiling}", "cold_at": f"{at}", "cup": f"{cup}", "room": f"{room}"}
        mixed = first("mixing", **values)
        assert min(at, room, 100) - 1e-9 <= mixed <= 100 + 1e-9
        alone = first("mixing", **{**values, "cup": "0"})
        if alone <= 50:
            assert first("mixing", **{**values, "cup": "500", "room": str(alone)}) == pytest.approx(alone)

    @given(st.floats(0.1, 100), st.floats(0, 100), st.floats(0, 1000))
    def test_spirit_is_diluted(self, tincture: float, strength: float, water: float) -> None:
        """Never stronger than the tincture; taking the water away again gives the tincture back."""
        fresh = first("ethanol", tincture=tincture, strength=strength, water=water)
        assert 0 <= fresh <= strength + 1e-9 and fresh * (tincture + water) / tincture == pytest.approx(strength, abs=1e-6)

    @given(st.floats(50, 95), st.floats(1, 30))
    def test_cooling_runs_through_its_reading(self, reading: float, minutes: float) -> None:
        """Newton's law: the wait is right when the law is run forward with it; a cup that cooled slowly waits longer."""
        given_ = {"cold": "0", "boiling": "200 ml", "after": f"{minutes}", "reading": f"{reading}"}
        wait = work_out("mixing", given_)[2][1].value
        rate = math.log(80 / (reading - 20)) / minutes
        assert 20 + 80 * math.exp(-rate * wait) == pytest.approx(45, abs=1e-6)
        slower = work_out("mixing", {**given_, "reading": f"{reading + 1}"})[2][1].value
        assert slower > wait

    @given(st.sampled_from(sorted(SUMS)), st.dictionaries(st.sampled_from(["herb", "water", "mass", "volume", "before", "after", "x"]), st.text(max_size=12), max_size=4))
    def test_anything_typed_is_answered_or_refused(self, name: str, given_: dict[str, str]) -> None:
        """Never anything but a result or a fault."""
        try:
            found = work_out(name, given_)[2]
        except InputError:
            return
        assert all(math.isfinite(r.value) for r in found)

    def test_every_sum_says_what_it_rests_on(self) -> None:
        """A formula, inputs with words, and a source or the word memory."""
        for one in SUMS.values():
            assert one.formula and one.rests_on and one.label and all(i.what for i in one.inputs.values())


@pytest.mark.parametrize(("text", "unit", "rule"), [
    ("two g", "g", "no-number"), ("2 blorp", "g", "unknown-unit"), ("2 ml", "g", "other-dimension"), ("2 g", "", "no-unit"), ("1e999", "g", "no-number"), ("2 g; rm", "g", "unknown-unit"), ("", "g", "no-number"), ("2 __class__", "g", "unknown-unit"),
])
def test_bad_quantities(text: str, unit: str, rule: str) -> None:
    """The rule that was broken, and what to write."""
    with pytest.raises(InputError) as caught:
        number_in(text, unit, "herb")
    assert caught.value.faults[0].rule == rule and caught.value.faults[0].remedy


@pytest.mark.parametrize(("args", "words"), [
    (["strenght"], "Did you mean"), (["strength", "herb=2g"], "`water` is missing"), (["strength", "herb=-2g", "water=1l"], "lies between"), (["strength", "herbs=2g", "water=1l"], "Did you mean"),
    (["ethanol", "tincture=1ml", "strength=145%", "water=1l"], "between 0 and 100"), (["mixing", "cold=1", "boiling=1", "cold_at=120C"], "between 0 and 100"), (["drying", "before=1g", "after=2g"], "more than"),
    (["strength", "herb"], "no setting"), (["mixing", "cold=1", "boiling=1", "after=5"], "`reading` is missing"), (["mixing", "cold=1", "boiling=1", "after=5", "reading=90"], "does not lie"), (["foaming", "volume=0"], "more than 0"),
])
def test_bad_input(args: list[str], words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2 and what is wrong."""
    assert main(["prepare", *args]) == 2
    assert words in capsys.readouterr().err


def test_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    """A list without arguments, a screen, and the same figures as data."""
    assert main(["prepare"]) == 0
    out = capsys.readouterr().out
    assert all(name in out for name in SUMS)
    assert main(["prepare", "strength", "herb=2g", "water=150ml"]) == 0
    assert "1.333 g per 100 mL" in capsys.readouterr().out
    assert main(["prepare", "strength", "herb=2g", "water=150ml", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["results"][0]["value"] == pytest.approx(4 / 3)
