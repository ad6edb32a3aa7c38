"""How well herbs fit, worked out by hand on herbs of a made-up world."""

from __future__ import annotations

import math
from pathlib import Path

import handmade
import pytest
from handmade import described, record, row

from kgraph.reasoning.circumstances import Circumstances, circumstances_of
from kgraph.reasoning.evidence import Cell, cells_of
from kgraph.reasoning.herbs import documented_intensities, herb_levels, poisons_near
from kgraph.reasoning.shelf import Shelf

DOCUMENTED = {
    "absent": {"strong": 0.02, "moderate": 0.03, "weak": 0.15, "absent": 0.8, "unnoticed": 0.85},
    "weak": {"strong": 0.05, "moderate": 0.15, "weak": 0.5, "absent": 0.3, "unnoticed": 0.6},
    "moderate": {"strong": 0.2, "moderate": 0.5, "weak": 0.2, "absent": 0.1, "unnoticed": 0.4},
    "strong": {"strong": 0.6, "moderate": 0.25, "weak": 0.1, "absent": 0.05, "unnoticed": 0.34},
}
TABLE = {"if_documented": [{"documented": d, "state": s, "value": v, **handmade.WHO} for d, row in DOCUMENTED.items() for s, v in row.items()]}
HERBS = {
    "alba": {"described_as": described(blim="weak", blim_word="strong", void=""), "contains": [row(**{"class": "wug", "level": "major"})]},
    "bruna": {"described_as": described(blim="absent"), "contains": [row(**{"class": "wug", "level": "minor"}), row(**{"class": "plon", "level": "major"})]},
    "cana": {"taste_safety": "do-not-taste", "taste_reason": "deadly", "contains": [row(**{"class": "zork", "level": "major"})]},
    "dura": {"taste_safety": "do-not-taste", "taste_reason": "deadly", "described_as": described(gorp="strong", zemm="weak")},
}


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory):
    return handmade.build(tmp_path_factory.mktemp("fit"), extra=TABLE, plants=HERBS)


def test_the_strongest_word_on_file_counts(world) -> None:
    """Words of one percept give the strongest intensity; an absence denies its group; what is not described has no entry."""
    assert documented_intensities(world.ontology, "alba") == {"blim": "strong", "zemm": "absent"}
    assert documented_intensities(world.ontology, "bruna") == {"blim": "absent"}
    assert documented_intensities(world.ontology, "cana") == {}


def test_an_absence_does_not_deny_what_is_described(tmp_path: Path) -> None:
    """A group that is described at one place and denied at another is there, in whichever order they stand."""
    stop = {"qualities": [{"id": "swell", "label": "swell", "sense": "mouthfeel", "kind": "stop"}]}
    herbs = {
        "one": {"described_as": described(zemm="moderate", void="")}, "two": {"described_as": described(void="", zemm="moderate")},
        "three": {"described_as": described(swell="strong", gorp="weak")},
    }
    known = handmade.build(tmp_path, plants=herbs, extra=stop)
    assert documented_intensities(known.ontology, "one") == documented_intensities(known.ontology, "two") == {"zemm": "moderate"}
    assert documented_intensities(known.ontology, "three") == {"gorp": "weak"}


def test_levels_are_factors(world) -> None:
    """Major counts whole, minor half."""
    assert herb_levels(world.ontology, "bruna") == {"wug": 0.5, "plon": 1.0}
    assert herb_levels(world.ontology, "dura") == {}


def test_fit_by_hand(world) -> None:
    """A described quality goes through the table, any other through the herb's classes, each finding once; the best herb stands at 0."""
    r = record(("blim", 3), ("gorp", 0))
    cells = cells_of(world.ontology, world.network, r, Circumstances())
    found = Shelf(world.ontology, world.network).fits(Circumstances(), cells)

    def mixed(quiet: float, there: float, not_there: float) -> float:
        return (quiet * not_there + (1 - quiet) * there) / max(there, not_there)

    strong, absent = (0.4, 0.01), (0.1, 0.9)
    # in the table the likelihood of a herb described as "absent" is that of the percept not being there
    product = {
        "alba": DOCUMENTED["strong"]["strong"] / DOCUMENTED["absent"]["strong"] * 0.01 / 0.4 * mixed(0.95 * (1 - 0.7), *absent),
        "bruna": 0.01 / 0.4 * mixed(0.95 * (1 - 0.5 * 0.7) * (1 - 0.1), *absent),
        "cana": mixed(0.95 * (1 - 0.9), *strong) * mixed(0.95, *absent),
        "dura": mixed(0.95, *strong) * DOCUMENTED["strong"]["absent"] / DOCUMENTED["absent"]["absent"],
    }
    best = max(product.values())
    assert found == pytest.approx({herb: 10 * math.log10(value / best) for herb, value in product.items()}, abs=1e-9)
    assert max(found.values()) == 0.0


def test_a_group_is_there_if_a_kind_is(world) -> None:
    """Aromatic herbs: the arcs of all kinds and of other causes of all kinds count for the group."""
    cell = Cell("zemm", "strong", 1.0, 0.1, ("zemm",))
    found = Shelf(world.ontology, world.network).fits(Circumstances(), [cell])
    spontaneous = 0.95**3
    product = {"bruna": spontaneous * 0.1 * 0.1 + (1 - spontaneous * 0.1), "cana": spontaneous * 0.1 + 1 - spontaneous}
    assert found["bruna"] - found["cana"] == pytest.approx(10 * math.log10(product["bruna"] / product["cana"]), abs=1e-9)


def test_arcs_of_several_kinds_join_in_a_group(tmp_path: Path) -> None:
    """A class that gives two kinds gives their group unless both arcs stay quiet."""
    evokes = {("plon", "frim"): "almost-always", ("plon", "sneb"): "often"}
    known = handmade.build(tmp_path, evokes=evokes, plants={"one": {"contains": [row(**{"class": "plon", "level": "minor"})]}, "two": {}})
    found = Shelf(known.ontology, known.network).fits(Circumstances(), [Cell("zemm", "strong", 1.0, 0.1, ("zemm",))])
    quiet, less = 0.95**3, 0.95**3 * (1 - 0.5 * (1 - 0.1 * 0.3))
    assert found["one"] == 0
    assert found["two"] == pytest.approx(10 * math.log10((quiet * 0.1 + 1 - quiet) / (less * 0.1 + 1 - less)), abs=1e-9)


def test_two_tasters_weigh_in_the_table_as_in_the_reports(world) -> None:
    """Pooled reports, 4/3 of one report's weight at a correlation of one half, count 4/3 in the table of described intensities."""
    one = Cell("blim", "strong", 1.0, 0.01 / 0.4, ("blim",))
    two = Cell("blim", "strong", 1.0, (0.01 / 0.4) ** (4 / 3), ("blim",), 2, 2, (("strong", 2 / 3),) * 2)
    for cell, scale in ((one, 1.0), (two, 4 / 3)):
        found = Shelf(world.ontology, world.network).fits(Circumstances(), [cell])
        ratio = DOCUMENTED["strong"]["strong"] / DOCUMENTED["absent"]["strong"]
        assert found["alba"] - found["bruna"] == pytest.approx(10 * scale * math.log10(ratio), abs=1e-9)


def test_silence_without_a_table_goes_through_the_classes(tmp_path: Path) -> None:
    """Where the ontology has no table of described intensities, described and undescribed herbs are judged by their classes alone."""
    known = handmade.build(tmp_path, plants=HERBS)
    found = Shelf(known.ontology, known.network).fits(Circumstances(), [Cell("blim", "unnoticed", 0.5, 1.0, ("blim",))])
    quiet = {"alba": 0.95 * 0.6, "bruna": 0.95 * 0.8, "cana": 0.95 * 0.1, "dura": 0.95}
    assert found == pytest.approx({h: 10 * math.log10((q + (1 - q) * 0.5) / (0.95 + 0.05 * 0.5)) for h, q in quiet.items()}, abs=1e-9)


def test_conditions_reach_the_herbs_classes(tmp_path: Path) -> None:
    """What the cup fakes, dulls and draws changes the fit: a fake is one cause more, the factors scale the arc."""
    known = handmade.build(tmp_path, plants=HERBS, fakes={"gorp": "sometimes"}, dulls={"gorp": "less"}, draws={"wug": "slightly-less"})
    r = record(("gorp", 3), steep_minutes=12)
    circumstances = circumstances_of(known.ontology, r)
    found = Shelf(known.ontology, known.network).fits(circumstances, cells_of(known.ontology, known.network, r, circumstances))
    quiet = {"alba": 0.95 * 0.6 * (1 - 0.7 * 0.5 * 0.8), "cana": 0.95 * 0.6}
    share = {h: q * 0.01 + (1 - q) * 0.4 for h, q in quiet.items()}
    assert found["alba"] - found["cana"] == pytest.approx(10 * math.log10(share["alba"] / share["cana"]), abs=1e-9)


def test_poisons_near_the_best(world) -> None:
    """Only herbs never to be tasted, those within the distance (the edge belongs to it), best first and equals by id."""
    assert poisons_near(world.ontology, {"alba": 0.0, "bruna": -1.0, "cana": -10.0, "dura": -3.0}) == ["dura", "cana"]
    assert poisons_near(world.ontology, {"alba": 0.0, "bruna": -1.0, "cana": -10.001, "dura": -3.0}) == ["dura"]
    assert poisons_near(world.ontology, {"dura": -2.0, "cana": -2.0}) == ["cana", "dura"]
    assert poisons_near(world.ontology, {"cana": -2.0, "dura": -1.0}, within_db=1.5) == ["dura"]
    assert poisons_near(world.ontology, {"alba": 0.0}) == [] and Shelf(world.ontology, world.network).fits(Circumstances(), []) == dict.fromkeys(HERBS, 0.0)
