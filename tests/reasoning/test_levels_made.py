"""Classes at major and at minor level, and reports that say a quality is plain: every figure by hand."""

from __future__ import annotations

from pathlib import Path

import handmade
import pytest

from kgraph.reasoning.book import book_cell
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.evidence import Cell, cells_of
from kgraph.reasoning.herbs import herb_levels
from kgraph.reasoning.inference import Inference, evoked_share, evoking
from kgraph.reasoning.shelf import Shelf
from kgraph.session import Knowledge
from kgraph.tasting import Finding, Record, Taster

ZORK = 2.5 / 11  # two of ten herbs hold it
MAJOR = ZORK * 1.5 / 3  # one of the two at major level


@pytest.fixture
def known(tmp_path: Path) -> Knowledge:
    """The small world with levels told apart: minor halves an arc, and hardly ever makes a quality plain."""
    counts = [{"class": c, "herbs": n, "major": m} for c, n, m in (("zork", 2, 1), ("wug", 3, 3), ("plon", 4, 0), ("dax", 1, 1))]
    known = handmade.build(tmp_path, extra={"priors": {"version": 1, "herbs": 10, "counts": counts}})  # type: ignore[dict-item]
    tables = known.ontology.tables
    tables.plain_levels.update({"major": 0.8, "minor": 0.1, "trace": 0.01})
    tables.asks.update({("taster", "strong"): "plain", ("taster", "moderate"): "plain"})
    tables.constants["plain-other-causes"] = 0.2
    return known


def posterior(odds_there: float, arc: float, faint: float, leak: float, there: float, not_there: float) -> tuple[float, float]:
    """(major, major or minor) of zork after one report on blim, which wug may give too, by adding up the six states."""
    wug = (3.5 / 11) * 3.5 / 4, (3.5 / 11) * 0.5 / 4
    total = major = minor = 0.0
    for z, pz in (("", 1 - ZORK), ("major", MAJOR), ("minor", ZORK - MAJOR)):
        for w, pw in (("", 1 - sum(wug)), ("major", wug[0]), ("minor", wug[1])):
            quiet = (1 - leak) * {"": 1, "major": 1 - 0.9 * arc, "minor": 1 - 0.9 * faint}[z] * {"": 1, "major": 1 - 0.4 * arc, "minor": 1 - 0.4 * faint}[w]
            weight = pz * pw * (quiet * not_there + (1 - quiet) * there)
            total += weight
            major += weight * (z == "major")
            minor += weight * (z == "minor")
    return major / total, (major + minor) / total


@pytest.mark.parametrize(("strength", "arc", "faint", "leak", "there", "not_there"), [
    (3, 0.8, 0.1, 0.05 * 0.2, 0.4, 0.01), (2, 0.8, 0.1, 0.05 * 0.2, 0.3, 0.02), (1, 1.0, 0.5, 0.05, 0.2, 0.07), (0, 1.0, 0.5, 0.05, 0.1, 0.9)])
def test_one_report_by_enumeration(known: Knowledge, strength: int, arc: float, faint: float, leak: float, there: float, not_there: float) -> None:
    """Strong and moderate ask whether it is plain, weak and absent whether it is there."""
    cells = cells_of(known.ontology, known.network, handmade.record(("blim", strength)), Circumstances())
    assert [c.plain for c in cells] == [strength >= 2]
    inference = handmade.inference(known, *cells)
    expected = posterior(1.0, arc, faint, leak, there, not_there)
    assert inference.posterior["zork"] == pytest.approx(expected[1], abs=1e-12)
    both = inference.posterior_any([{"zork": (1.0, 0.0)}, {"zork": 1.0}, {"zork": (0.0, 1.0)}])[0]
    assert list(both) == pytest.approx([expected[0], expected[1], expected[1] - expected[0]], abs=1e-12)


def test_a_strong_report_parts_the_levels(known: Knowledge) -> None:
    """Strong says major; weak leaves the share of major about where it was."""
    share = {}
    for strength in (1, 3):
        cells = cells_of(known.ontology, known.network, handmade.record(("blim", strength)), Circumstances())
        inference = handmade.inference(known, *cells)
        share[strength] = inference.posterior_any([{"zork": (1.0, 0.0)}])[0][0] / inference.posterior["zork"]
    assert share[3] > 0.75 and share[1] < 0.65


def test_priors_by_level(known: Knowledge) -> None:
    """The prior is the count of both levels, the major part of it (majors + 1/2) / (herbs with it + 1)."""
    net = known.network
    assert (net.prior["zork"], net.major["zork"]) == (pytest.approx(ZORK), pytest.approx(MAJOR))
    assert net.major["plon"] == pytest.approx(4.5 / 11 * 0.5 / 5) and net.faint == (0.5, 0.1)
    inference = handmade.inference(known)
    assert inference.prior_any({"zork": (1.0, 0.0), "plon": (1.0, 0.0)}) == pytest.approx(1 - (1 - MAJOR) * (1 - net.major["plon"]))


def test_a_table_without_majors_is_all_major(tmp_path: Path) -> None:
    """An ontology that does not count levels reasons as if every class were there at major level."""
    net = handmade.build(tmp_path).network
    assert net.major == net.prior


def test_what_evokes(known: Knowledge) -> None:
    """Shares before any report, and the question that asks for them."""
    assert evoked_share(known.network, "zork", "blim") == pytest.approx(MAJOR * 0.9 + (ZORK - MAJOR) * 0.45)
    assert evoked_share(known.network, "zork", "blim", plain=True) == pytest.approx(MAJOR * 0.72 + (ZORK - MAJOR) * 0.09)
    assert evoking(known.network, Circumstances(), "blim")["zork"] == pytest.approx((0.9, 0.45))


def test_outvoted_strength_does_not_ask_for_plain(known: Knowledge) -> None:
    """One strong among deniers speaks against the quality being there at all."""
    findings = (Finding("blim", 3, "A"), *(Finding("blim", 0, name) for name in ("B", "C", "D", "E")))
    record = Record(findings, tasters={name: Taster(name) for name in "ABCDE"}, looked_for={})
    (cell,) = cells_of(known.ontology, known.network, record, Circumstances())
    assert cell.state == "strong" and cell.log_ratio < 0 and not cell.plain


def test_herb_fit_by_level(known: Knowledge, tmp_path: Path) -> None:
    """A herb that holds the class at minor level fits a strong report worse than one that holds it at major level, by the tabled factors."""
    from math import log10

    folder = tmp_path / "w"
    plants = {"one": {"contains": [handmade.row(**{"class": "zork", "level": "major"})]}, "two": {"contains": [handmade.row(**{"class": "zork", "level": "minor"})]}}
    other = handmade.build(folder, plants={id: p | {"no_description": "none found", "no_cautions": "none found"} for id, p in plants.items()})
    other.ontology.tables.plain_levels.update({"major": 0.8, "minor": 0.1, "trace": 0.01})
    other.ontology.tables.constants["plain-other-causes"] = 0.2
    assert herb_levels(other.ontology, "two", plain=True) == {"zork": 0.1} and herb_levels(other.ontology, "two") == {"zork": 0.5}
    net = other.network
    found = Shelf(other.ontology, net).fits(Circumstances(), [Cell("blim", "strong", 1.0, 0.025, ("blim",), plain=True)])

    def likelihood(factor: float) -> float:
        quiet = (1 - 0.05 * 0.2) * (1 - factor * 0.9)
        return quiet * 0.025 + (1 - quiet)

    assert found["two"] - found["one"] == pytest.approx(10 * log10(likelihood(0.1) / likelihood(0.8)), abs=1e-9)


def test_muted_cells_and_levels(known: Knowledge) -> None:
    """Leaving a cell out gives what was known before it."""
    cells = cells_of(known.ontology, known.network, handmade.record(("blim", 3)), Circumstances())
    inference = Inference(known.network, Circumstances(), cells)
    rows = inference.posterior_any([{"zork": (1.0, 0.0)}], [[0]])
    assert rows[1][0] == pytest.approx(MAJOR)


def panel(*findings: tuple[str, str, int]) -> Record:
    names = dict.fromkeys(name for name, _, _ in findings)
    return Record(tuple(Finding(q, s, name) for name, q, s in findings), tasters={name: Taster(name) for name in names}, looked_for={})


def test_one_moderate_among_weak_ones_does_not_make_it_plain(known: Knowledge) -> None:
    """Those who call it plain must carry most of what speaks for it."""
    for moderate, plain in ((1, False), (6, True)):
        record = panel(*((f"T{n}", "blim", 2 if n < moderate else 1) for n in range(8)))
        (cell,) = cells_of(known.ontology, known.network, record, Circumstances())
        assert cell.plain is plain


def test_a_group_and_its_kinds_share_a_threshold(known: Knowledge) -> None:
    """Strong "zemm" beside a weak kind of it: both are asked whether they are there, and the sum equals enumeration over the states."""
    cells = cells_of(known.ontology, known.network, panel(("A", "zemm", 3), ("B", "frim", 1)), Circumstances())
    assert {c.percept: c.plain for c in cells} == {"zemm": False, "frim": False}
    alone = cells_of(known.ontology, known.network, panel(("A", "zemm", 3)), Circumstances())
    assert [c.plain for c in alone] == [True]
    inference = handmade.inference(known, *cells)
    plon, dax = known.network.prior["plon"], known.network.prior["dax"]
    major = {c: known.network.major[c] for c in ("plon", "dax")}
    by = {c.percept: c for c in cells}
    total = found = 0.0
    for p, weight_p in ((0.0, 1 - plon), (0.9, major["plon"]), (0.45, plon - major["plon"])):
        for d, weight_d in ((0.0, 1 - dax), (0.7, major["dax"]), (0.35, dax - major["dax"])):
            no_frim, no_other = (1 - 0.05) * (1 - p), (1 - 0.05) ** 2 * (1 - d)  # sneb and zemm's own other causes
            report = no_frim * by["frim"].not_there * (no_other * by["zemm"].not_there + (1 - no_other) * by["zemm"].there)
            report += (1 - no_frim) * by["frim"].there * by["zemm"].there
            total += weight_p * weight_d * report
            found += (weight_p if p else 0.0) * weight_d * report
    assert inference.posterior["plon"] == pytest.approx(found / total, abs=1e-12)


def test_what_a_book_hardly_leaves_out_denies_the_ruling_level(known: Knowledge) -> None:
    """Silence about a word of taste asks whether it is plain; silence about the rest whether it is there."""
    tables = known.ontology.tables
    tables.reports.update({("book", "unnoticed"): (0.6, 0.98), ("book", "absent"): (0.05, 0.95)})
    tables.book_silences["blim"] = 0.2
    telling, other = (book_cell(known.ontology, percept, "unnoticed") for percept in ("blim", "sneb"))
    assert telling.plain and not other.plain
    assert telling.there / telling.not_there == pytest.approx(0.2 / 0.98) and other.there / other.not_there == pytest.approx(0.6 / 0.98)
    assert not book_cell(known.ontology, "blim", "absent").plain
    assert tables.report("taster", "unnoticed", "blim") != tables.report("book", "unnoticed", "blim")
    inference = handmade.inference(known, telling)
    expected = posterior(1.0, 0.8, 0.1, 0.05 * 0.2, 0.2, 0.98)
    both = inference.posterior_any([{"zork": (1.0, 0.0)}, {"zork": 1.0}])[0]
    assert list(both) == pytest.approx(expected, abs=1e-12)
    assert both[0] / MAJOR < (both[1] - both[0]) / (ZORK - MAJOR), "the faint level is left open"
