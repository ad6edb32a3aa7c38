"""Herb match: chances by hand, poisons first, the claimed herb, and words that never say "is"."""

from __future__ import annotations

import json
import math
from itertools import pairwise
from pathlib import Path

import handmade
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.cli import main
from kgraph.reasoning.circumstances import circumstances_of
from kgraph.reasoning.evidence import cells_of
from kgraph.reasoning.figures import Figures
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.match import APART_DB, FITS_DB, POISON_DB, match
from kgraph.reasoning.shelf import Shelf
from kgraph.session import Knowledge
from kgraph.tasting import Finding, Preparation, Record
from kgraph.yamlio import InputError

RECORDS = Path(__file__).resolve().parents[2] / "demo_graph" / "records"
QUALITIES = ("bitter", "astringent-drying", "sweet", "slippery-mucilaginous", "burning-pungent", "minty", "tingling", "sour")


def tasting(*pairs: tuple[str, int], herb: str = "") -> Record:
    return handmade.record(*pairs, herb=herb)


def test_chances_by_hand(known: Knowledge) -> None:
    """Posterior = prior times likelihood over the sum of all, "none of these" with the generic network's total."""
    record = tasting(("bitter", 3), ("astringent-drying", 0))
    found = match(known.ontology, known.network, record)
    around = circumstances_of(known.ontology, record)
    cells = cells_of(known.ontology, known.network, record, around)
    by_cell = Shelf(known.ontology, known.network).by_cell(Figures(known.ontology, known.network), around, cells)
    generic = Inference(known.network, around, cells).total
    masses = {h: (1 - found.none[0]) / len(known.ontology.herbs) * math.exp(v.sum()) for h, v in zip(known.ontology.herbs, by_cell.T, strict=True)}
    total = sum(masses.values()) + found.none[0] * generic
    for herb in found.herbs:
        assert herb.posterior == pytest.approx(masses[herb.id] / total, rel=1e-9)
        assert 10 ** (herb.weight_db / 10) == pytest.approx(herb.posterior / (1 - herb.posterior) / (herb.prior / (1 - herb.prior)), rel=1e-6)
    assert found.none[1] == pytest.approx(found.none[0] * generic / total)
    assert sum(h.posterior for h in found.herbs) + found.none[1] == pytest.approx(1)


@given(st.lists(st.tuples(st.sampled_from(QUALITIES), st.integers(0, 3)), min_size=1, max_size=5, unique_by=lambda pair: pair[0]))
def test_any_record(known: Knowledge, pairs: list[tuple[str, int]]) -> None:
    """Best first; every do-not-taste herb within 10 dB is named; words are of the list and go with the weights; inseparable goes both ways."""
    found = match(known.ontology, known.network, tasting(*pairs))
    likelihood = [h.below_best_db for h in found.herbs]
    assert all(a >= b - 1e-9 for a, b in pairwise(likelihood)) and likelihood[0] == 0
    near = {h.id for h in found.herbs if h.taste_safety == "do-not-taste" and h.below_best_db >= -POISON_DB}
    assert set(found.poisons_near) == near
    by = {h.id: h for h in found.herbs}
    for h in found.herbs:
        assert h.word in ("fits", "compatible", "does not fit")
        assert (h.word == "does not fit") == (h.weight_db <= -FITS_DB)
        assert h.word != "fits" or (h.weight_db >= FITS_DB and h.described >= 4)
        assert all(abs(by[other].below_best_db - h.below_best_db) < APART_DB for other in h.apart_from)
    assert sum(h.posterior for h in found.herbs) + found.none[1] == pytest.approx(1)
    around = circumstances_of(known.ontology, tasting(*pairs))
    gap = Shelf(known.ontology, known.network).fits(around, cells_of(known.ontology, known.network, tasting(*pairs), around))
    assert {h.id: pytest.approx(h.below_best_db, abs=1e-9) for h in found.herbs} == gap


def test_the_claimed_herb(known: Knowledge) -> None:
    """What books say and was noticed fits; what they call plain and was looked for in vain is missing; the rest nothing accounts for."""
    found = match(known.ontology, known.network, tasting(("bitter", 0), ("sour", 3), ("sweet", 1), herb="gentiana-lutea-root"))
    assert found.claimed is not None and found.claimed.id == "gentiana-lutea-root"
    assert [p.quality for p in found.claimed.missing] == ["bitter"] and found.claimed.missing[0].weight_db < 0
    assert [p.quality for p in found.claimed.unaccounted] == ["sour"]
    assert "sweet" in [p.quality for p in found.claimed.fits]
    given_ = match(known.ontology, known.network, tasting(("bitter", 3), herb="gentiana-lutea-root"), "quercus-robur-bark")
    assert given_.claimed is not None and given_.claimed.id == "quercus-robur-bark"
    assert match(known.ontology, known.network, tasting(("bitter", 3))).claimed is None


def test_lookalikes_and_cautions_are_always_there(known: Knowledge) -> None:
    """Every lookalike and adulterant on file, with how to part it, and every caution to avoid, whatever was tasted."""
    o = known.ontology
    for herb in ("gentiana-lutea-root", "digitalis-purpurea-leaf", "plantago-lanceolata-leaf"):
        claimed = match(o, known.network, tasting(("sour", 1)), herb).claimed
        assert claimed is not None
        assert {c for x in claimed.confusable for c in x.claims} >= {c.id for c in o.said_of("confused_with", herb)}
        assert {c.subject for c in o.pointing_at("confused_with", herb)} <= {x.herb for x in claimed.confusable}
        assert all(x.how for x in claimed.confusable)
        assert {c.id for c in claimed.cautions if c.severity == "avoid"} >= {c.object for c in o.said_of("warns_of", herb) if c.word == "avoid"}


class TestQuality:
    """Rules of the trade, each with what to do next."""

    def test_faded(self, known: Knowledge) -> None:
        """The smell of peppermint gone, its taste there."""
        record = tasting(("minty", 0), ("aromatic", 0), ("bitter", 1), herb="mentha-x-piperita-leaf" if "mentha-x-piperita-leaf" in known.ontology.herbs else "salvia-officinalis-leaf")
        assert "faded" in dict(match(known.ontology, known.network, record).quality)

    def test_off_notes(self, known: Knowledge) -> None:
        """Musty, rancid, sulphurous, gritty, unless the herb is known for it."""
        for quality in ("musty", "rancid", "sulphurous", "gritty"):
            assert quality in dict(match(known.ontology, known.network, tasting((quality, 2), herb="gentiana-lutea-root")).quality)
        assert "gritty" not in dict(match(known.ontology, known.network, tasting(("gritty", 3), herb="rheum-palmatum-root")).quality)
        assert "sulphurous" not in dict(match(known.ontology, known.network, tasting(("sulphurous", 3), herb="allium-sativum-bulb")).quality)

    @pytest.mark.parametrize(("grams", "water", "words"), [(None, None, "not on record"), (1, 200, "less than the usual"), (3, 150, "which is enough")])
    def test_the_strength_of_the_cup_is_asked_first(self, known: Knowledge, grams: float | None, water: float | None, words: str) -> None:
        """A weak taste is blamed on the brew before it is blamed on the herb."""
        record = Record((Finding("bitter", 1),), sample=tasting(("bitter", 1), herb="gentiana-lutea-root").sample, preparation=Preparation(herb_grams=grams, boiling_water_ml=water))
        assert words in dict(match(known.ontology, known.network, record).quality)["weak"]


def test_impressions_alone_are_refused(known: Knowledge) -> None:
    """There is nothing to reason on."""
    with pytest.raises(InputError, match="no finding"):
        match(known.ontology, known.network, Record(()))


def test_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    """Screen and data tell the same; the notice and the steps before tasting stand on it; it never says "is"."""
    file = str(RECORDS / "01-tormentil.yaml")
    assert main(["match", file, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {"id", "label", "posterior", "weight_db", "word"} <= set(data["herbs"][0])
    assert data["answer"] == "match" and data["none"]["prior"] == 0.25
    assert main(["match", file]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert data["herbs"][0]["label"] in out and "none of these" in out and "Before any tasting" in out and "Taste alone never names a herb" in out
    assert "decibans" not in out and "posterior" not in out
    assert main(["match", "bitter", "--claimed", "gentiann"]) == 2
    assert "Did you mean" in capsys.readouterr().err
    assert main(["match", str(RECORDS / "05-foxglove.yaml")]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("WARNING") and any("STOP" in line for line in lines)
