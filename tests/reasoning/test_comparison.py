"""Two samples side by side: the evidence by adding up all pairs of intensities, and what tasters of one cup would show."""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.claims.words import INTENSITIES
from kgraph.cli import main
from kgraph.reasoning.comparison import TOLD_DB, compare, difference_db
from kgraph.session import Knowledge
from kgraph.tasting import Finding, Outcome, Preparation, Record, Sample, Taster
from kgraph.yamlio import InputError

MINT = "mentha-x-piperita-leaf"


def cup(minty: int, bitter: int, tasters: int = 3, herb: str = MINT, **fields: object) -> Record:
    ids = tuple("ABCDEFGH"[:tasters])
    return Record(
        tuple(Finding(q, s, t) for t in ids for q, s in (("minty", minty), ("bitter", bitter))), sample=Sample("s", herb), tasters={t: Taster(t) for t in ids},
        preparation=Preparation(herb_grams=2, boiling_water_ml=150), **fields,  # type: ignore[arg-type]
    )


@given(st.lists(st.floats(-20, 0), min_size=4, max_size=4), st.lists(st.floats(-20, 0), min_size=4, max_size=4))
def test_the_evidence_pair_by_pair(one: list[float], two: list[float]) -> None:
    """Average over the twelve pairs that differ against the average over the four that are alike; both ways round the same."""
    differ = sum(math.exp(a + b) for (i, a), (j, b) in itertools.product(enumerate(one), enumerate(two)) if i != j) / 12
    alike = sum(math.exp(a + b) for a, b in zip(one, two, strict=True)) / 4
    assert difference_db(np.array(one), np.array(two)) == pytest.approx(10 * math.log10(differ / alike), abs=1e-6)
    assert difference_db(np.array(two), np.array(one)) == pytest.approx(difference_db(np.array(one), np.array(two)), abs=1e-9)


def test_tasters_of_one_cup_seldom_seem_to_differ(known: Knowledge) -> None:
    """Whatever is in the cup, two single reports of it are told as different in at most 8 of 100 pairs, and never one step apart."""
    table = known.ontology.tables.documented
    for truth in INTENSITIES:
        wrong = 0.0
        for a, b in itertools.product(range(4), repeat=2):
            found = compare(known.ontology, known.network, cup(a, 0, 1), cup(b, 0, 1))
            (mint,) = [d for d in found.differences if d.quality == "minty"]
            told = mint.weight_db >= TOLD_DB
            assert not told or abs(a - b) >= 2
            wrong += told * table[(truth, INTENSITIES[a])] * table[(truth, INTENSITIES[b])]
        assert wrong <= 0.08, truth


def test_last_year_and_this(known: Knowledge) -> None:
    """Mint gone, bitterness as it was: told, with the step and the remark of the trade; more tasters make it surer."""
    weights = []
    for tasters in (1, 3, 8):
        found = compare(known.ontology, known.network, cup(3, 2, tasters), cup(0, 2, tasters))
        mint = next(d for d in found.differences if d.quality == "minty")
        weights.append(mint.weight_db)
        assert mint.word == "gone" and mint.step < -1.4 and found.differences[0] == mint
    assert weights == sorted(weights)
    assert any("volatile" in remark for remark in found.remarks) and found.sides[1].fits in ("does not fit", "compatible")
    back = compare(known.ontology, known.network, cup(0, 2), cup(3, 2))
    assert next(d for d in back.differences if d.quality == "minty").word == "new"
    assert {d.word for d in compare(known.ontology, known.network, cup(3, 0, 8), cup(3, 0, 8)).differences} == {"the same"}


def test_how_the_cups_were_made_comes_in(known: Knowledge) -> None:
    """Strength in g per 100 mL, every other field, tasters, tests, and what was asked of one only."""
    one = cup(3, 2, tests=(Outcome("foam-on-shaking", True),))
    two = Record((*cup(1, 1, 2).findings, Finding("sour", 1, "A")), sample=Sample("t"), tasters={t: Taster(t) for t in "AB"}, preparation=Preparation(steep_minutes=5), tests=(Outcome("foam-on-shaking", False),))
    found = compare(known.ontology, known.network, one, two)
    assert ("strength in g per 100 mL", "1.3", "") in found.made_differently and ("steep minutes", "", "5") in found.made_differently
    assert found.tasters_differ and found.only_second == ("sour",) and found.tests[0][1:] == (True, False)
    assert any("not on record" in remark for remark in found.remarks)
    with pytest.raises(InputError, match="no quality"):
        compare(known.ontology, known.network, Record((Finding("bitter", 1),)), Record((Finding("sour", 1),)))


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two records stand side by side; screen and data agree; a poison that is near comes first."""
    from kgraph.tasting import write_record

    files = []
    for name, record in (("a", cup(3, 2)), ("b", cup(0, 2))):
        (tmp_path / f"{name}.yaml").write_text(write_record(record))
        files.append(str(tmp_path / f"{name}.yaml"))
    assert main(["match", *files, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["answer"] == "comparison" and data["differences"][0]["word"] == "gone"
    assert main(["match", *files]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "gone, strong → not there" in out and "dB" not in out and "For learning only" in out
    assert data["poisons_near"] and out.startswith("WARNING")
    assert main(["match", "bitter", "sour"]) == 2
