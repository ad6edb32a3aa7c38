"""Blends: what accounts for which note, the cautions of all, and no word about a single herb."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.cli import main
from kgraph.reasoning.asking import ask
from kgraph.reasoning.match import match
from kgraph.reasoning.proposal import propose
from kgraph.session import Knowledge
from kgraph.tasting import Finding, Record, Sample, read_record_text, write_record
from kgraph.yamlio import InputError

BLEND = ("mentha-x-piperita-leaf", "gentiana-lutea-root", "althaea-officinalis-root")


def tasted(*pairs: tuple[str, int], herbs: tuple[str, ...] = BLEND) -> Record:
    return Record(tuple(Finding(q, s) for q, s in pairs), sample=Sample("b", "", {}, herbs))


def test_what_accounts_for_what(known: Knowledge) -> None:
    """Mint for the mint, nothing for the sour; bitter is missing though gentian should give it."""
    blend = ask(known.ontology, known.network, tasted(("minty", 3), ("sour", 2), ("bitter", 0), ("slippery-mucilaginous", 1))).blend
    assert blend is not None
    notes = {n.quality: [s.herb for s in n.sources] for n in blend.notes}
    assert notes["minty"][0] == BLEND[0] and notes["sour"] == [] and BLEND[2] in notes["slippery-mucilaginous"]
    assert [(n.quality, [s.herb for s in n.sources]) for n in blend.missing] == [("bitter", [BLEND[1]])]


@given(st.lists(st.sampled_from(["mentha-x-piperita-leaf", "gentiana-lutea-root", "althaea-officinalis-root", "digitalis-purpurea-leaf", "salvia-officinalis-leaf"]), min_size=2, max_size=4, unique=True))
def test_cautions_are_united(known: Knowledge, herbs: list[str]) -> None:
    """Every caution of every ingredient stands there, and the strictest word on tasting rules."""
    o = known.ontology
    record = tasted(("bitter", 2), herbs=tuple(herbs))
    answer = ask(o, known.network, record)
    assert {c for h in answer.label_cautions for c in h.claims} >= {c.id for h in herbs for c in o.said_of("warns_of", h)}
    worst = "do-not-taste" if any(o.herbs[h].taste_safety == "do-not-taste" for h in herbs) else "small-amount" if any(o.herbs[h].taste_safety == "small-amount" for h in herbs) else "ok"
    assert answer.label.taste_safety == worst
    assert set(match(o, known.network, record).blend_cautions) == set(answer.label_cautions)
    if worst == "do-not-taste":
        assert propose(o, known.network, record).only_looking
    sealed = ask(o, known.network, record, sealed=True)
    assert sealed.blend is None and not sealed.label.label and len(sealed.label_cautions) >= 1
    (brief,) = known.briefs([("r", record)])
    assert brief.taste_safety == worst and set(brief.label_avoid) == {h.label for h in answer.label_cautions if h.severity == "avoid"}


def test_order_does_not_matter(known: Knowledge) -> None:
    """The same ingredients in another order give the same account."""
    accounts = []
    for herbs in itertools.permutations(BLEND):
        blend = ask(known.ontology, known.network, tasted(("minty", 3), ("bitter", 2), herbs=herbs)).blend
        assert blend is not None
        accounts.append((blend.notes, blend.missing))
    assert all(a == accounts[0] for a in accounts)


def test_the_format(known: Knowledge) -> None:
    """A list of herbs is a blend, a list of one is that herb; it is written back as it was."""
    text = "record: 1\nsample: {herb: [%s]}\nfindings: [{quality: bitter, strength: weak}]\n"
    blend = read_record_text(text % ", ".join(BLEND), known.vocabulary)
    assert (blend.sample.herb, blend.sample.herbs) == ("", BLEND)
    assert read_record_text(write_record(blend), known.vocabulary).sample == blend.sample
    assert read_record_text(text % BLEND[0], known.vocabulary).sample == Sample("", BLEND[0])
    for herbs, words in (("gentiana-lutea-rot, " + BLEND[0], "Did you mean"), (f"{BLEND[0]}, {BLEND[0]}", "twice"), ("{a: b}", "not-text")):
        with pytest.raises(InputError, match=words):
            read_record_text(text % herbs, known.vocabulary)


def test_the_screens(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Both commands say that a single herb's reasoning does not hold; a poison in the blend stops everything."""
    file = tmp_path / "b.yaml"
    file.write_text(write_record(tasted(("minty", 3), ("sour", 2))))
    for verb in ("ask", "match"):
        assert main([verb, str(file)]) == 0
        out = " ".join(capsys.readouterr().out.split())
        assert "reasoning about a single herb does not hold" in out and "Nothing in the blend accounts for sour" in out
    file.write_text(write_record(tasted(("minty", 3), herbs=(BLEND[0], "digitalis-purpurea-leaf"))))
    assert main(["ask", str(file)]) == 0
    assert capsys.readouterr().out.startswith("STOP. ")
    assert main(["match", str(file)]) == 0
    assert "STOP. foxglove" in capsys.readouterr().out
