"""Many records: a brief says what the whole answer says, and records on one sheet are one pass."""

from __future__ import annotations

import random

import foreign
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import kgraph
from kgraph.reasoning.asking import ask
from kgraph.reasoning.batch import AT_ONCE, Clerk
from kgraph.reasoning.draws import DrawnElimination
from kgraph.reasoning.match import match
from kgraph.session import Knowledge
from kgraph.tasting import Finding, Outcome, Preparation, Record, Sample, Taster
from kgraph.yamlio import InputError

HERBS = ("", "gentiana-lutea-root", "digitalis-purpurea-leaf", "althaea-officinalis-root")


def drawn(known: Knowledge, rng: random.Random) -> Record:
    """A record of any kind: several tasters or one, a standard list or none, tests, conditions, groups and kinds together."""
    o = known.ontology
    pool = [q.id for q in o.qualities.values() if q.kind in ("percept", "kind", "group", "word", "colour")]
    tasters = ("A", "B", "C")[: rng.randint(1, 3)]
    findings = {(t, q): Finding(q, rng.randint(0, 3), t) for t in tasters for q in rng.sample(pool, rng.randint(1, 6))}
    return Record(
        tuple(findings.values()), sample=Sample("s", rng.choice(HERBS)), tasters={t: Taster(t, ("blocked-nose",) if rng.random() < 0.2 else ()) for t in tasters},
        preparation=Preparation(steep_minutes=rng.choice([None, 2.0, 30.0]), ethanol_percent=rng.choice([None, 20.0])),
        looked_for=dict.fromkeys(tasters, o.tables.standard_list[:8]) if rng.random() < 0.5 else {},
        tests=tuple(Outcome(t, rng.random() < 0.5) for t in rng.sample(list(o.tests), rng.randint(0, 2))),
    )


@settings(max_examples=20)
@given(st.integers(0, 2**32))
def test_a_brief_is_the_answer_in_short(known: Knowledge, seed: int) -> None:
    """Families, actions, poisons, signs to stop and every caution to avoid are those of the whole answer, in its order and to the last digits."""
    rng = random.Random(seed)
    records = [(str(i), drawn(known, rng)) for i in range(3)]
    for (name, record), brief in zip(records, known.briefs(records), strict=True):
        whole = ask(known.ontology, known.network, record)
        assert brief.record == name
        for group, short in (("families", brief.families), ("actions", brief.actions)):
            assert [c.id for c in whole.risen(group)[:3]] == [s.id for s in short]
            for c, s in zip(whole.risen(group), short, strict=False):
                assert (s.label, s.prior, s.posterior) == (c.label, pytest.approx(c.prior, abs=1e-10), pytest.approx(c.posterior, abs=1e-10))
        assert set(brief.avoid) == {h.label for h in whole.cautions if h.severity == "avoid"}
        assert set(brief.label_avoid) == {h.label for h in whole.label_cautions if h.severity == "avoid"}
        assert list(brief.emergencies) == [e.label for e in whole.emergencies] and brief.stop_signs == whole.understood.stop_signs
        assert brief.taste_safety == whole.label.taste_safety


@settings(max_examples=15)
@given(st.integers(0, 2**32))
def test_on_foreign_worlds(tmp_path_factory: pytest.TempPathFactory, seed: int) -> None:
    """The same on random ontologies with invented words."""
    rng = random.Random(seed)
    folder = tmp_path_factory.mktemp("f")
    spec = foreign.random_spec(seed % 10_000)
    foreign.write(spec, folder)
    known = kgraph.load(folder, cache=False)
    qualities = [q.id for q in known.ontology.qualities.values() if q.kind in ("percept", "kind")]
    records = [(str(i), Record(tuple(Finding(q, rng.randint(0, 3)) for q in rng.sample(qualities, min(len(qualities), 3))))) for i in range(3)]
    for (_, record), brief in zip(records, known.briefs(records), strict=True):
        whole = ask(known.ontology, known.network, record)
        assert [(c.id, pytest.approx(c.posterior, abs=1e-10)) for c in whole.risen("families")[:3]] == [(s.id, s.posterior) for s in brief.families]


@settings(max_examples=10)
@given(st.integers(0, 2**32))
def test_match_in_short(known: Knowledge, seed: int) -> None:
    """Herbs, their chances, the claimed herb's word and the poisons that are near are those of the whole match."""
    rng = random.Random(seed)
    records = [(str(i), drawn(known, rng)) for i in range(2)]
    for (_, record), brief in zip(records, known.match_briefs(records), strict=True):
        whole = match(known.ontology, known.network, record)
        assert not isinstance(brief, InputError)
        assert [h[0] for h in brief.herbs] == [h.id for h in whole.herbs[:5]] and brief.none == pytest.approx(whole.none[1])
        assert [h[3] for h in brief.herbs] == pytest.approx([h.posterior for h in whole.herbs[:5]], rel=1e-6)
        assert list(brief.poisons_near) == [h.label for h in whole.herbs if h.id in whole.poisons_near]
        if record.sample.herb:
            assert (brief.claimed, brief.claimed_word) == (record.sample.herb, next(h.word for h in whole.herbs if h.id == record.sample.herb))
    (empty,) = known.match_briefs([("x", Record(()))])
    assert isinstance(empty, InputError) and "no finding" in str(empty)


def test_one_sheet_is_one_pass(known: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Fifty records on one sheet, whatever was reported: one forward and backward pass, one pass for all questions; two sheets, two."""
    clerk = Clerk(known.ontology, known.network)
    passes: list[int] = []
    monkeypatch.setattr(DrawnElimination, "marginals_of", lambda self, w, plain=DrawnElimination.marginals_of: (passes.append(len(w)), plain(self, w))[1])
    monkeypatch.setattr(DrawnElimination, "totals", lambda self, w, plain=DrawnElimination.totals: (passes.append(len(w)), plain(self, w))[1])
    rng = random.Random(7)
    sheet = ("bitter", "sweet", "sour", "minty", "musty", "warming")
    records = [(str(i), Record(tuple(Finding(q, rng.randint(0, 3)) for q in sheet))) for i in range(50)]
    assert len(records) <= AT_ONCE
    list(clerk.briefs(records))
    assert len(passes) == 2 and passes[0] == 50
    passes.clear()
    list(clerk.briefs([*records, ("other", Record((Finding("salty", 1),)))]))
    assert len(passes) == 4


def test_too_wide_a_sheet_is_narrowed_like_a_single_record(known: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a table would be too wide the same cells are left out as for one record, and named."""
    monkeypatch.setattr("kgraph.reasoning.plan.MAX_WIDTH", 4)
    record = Record(tuple(Finding(q, s) for q, s in zip(known.ontology.tables.standard_list[:14], [3, 0, 2, 1] * 4, strict=False)))
    (brief,) = Clerk(known.ontology, known.network).briefs([("a", record)])
    whole = ask(known.ontology, known.network, record)
    assert brief.left_out and len(brief.left_out) == len(whole.understood.left_out)
    assert [s.id for s in brief.families] == [c.id for c in whole.risen("families")[:3]]
