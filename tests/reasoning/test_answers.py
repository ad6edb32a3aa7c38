"""What an answer says and never leaves out: conditions, cautions, the label, what taste cannot show, what to look for next."""

from __future__ import annotations

import dataclasses
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.reasoning.doubles import LIFTED_DB, lift
from kgraph.tasting import Finding, Preparation, Record, Sample, Taster


def record(*findings: tuple[str, int], herb: str = "", states: tuple[str, ...] = (), looked_for: tuple[str, ...] = (), **preparation: object) -> Record:
    return Record(
        tuple(Finding(q, s) for q, s in findings), sample=Sample("", herb), preparation=Preparation(**preparation),  # type: ignore[arg-type]
        tasters={"taster": Taster("taster", states)}, looked_for={"taster": looked_for} if looked_for else {},
    )


def posterior(reply, id: str, group: str = "classes") -> float:
    return next(c.posterior for c in getattr(reply, group) if c.id == id)


class TestConditions:
    """fakes explain away, dulls and draws scale arcs (DESIGN 4)."""

    def test_ethanol_explains_the_heat_away(self, known) -> None:
        """With a spirit in the cup, burning says less about hot pungents; the answer says so."""
        plain = known.ask(record(("burning-pungent", 3)))
        spirit = known.ask(record(("burning-pungent", 3), ethanol_percent=40))
        assert posterior(spirit, "hot-pungents", "families") < posterior(plain, "hot-pungents", "families") - 0.05
        faked = [c for c in spirit.conditions if c.relation == "fakes" and c.target == "burning-pungent"]
        assert faked and faked[0].explains > 0.3
        assert any(u.quality == "burning-pungent" and u.faked > 0.3 for u in spirit.unexplained)

    def test_below_the_threshold_nothing_is_faked(self, known) -> None:
        """A quarter of a percent of ethanol does not burn."""
        weak = known.ask(record(("burning-pungent", 3), ethanol_percent=0.25))
        assert not [c for c in weak.conditions if c.relation == "fakes"]

    def test_a_blocked_nose_makes_the_absence_of_smell_say_less(self, known) -> None:
        """No mint noticed by a blocked nose speaks less against mint than by a free one."""
        free = known.ask(record(("minty", 0)))
        blocked = known.ask(record(("minty", 0), states=("blocked-nose",)))
        before = known.network.prior["menthol-type-oils"]
        assert posterior(free, "menthol-type-oils") < posterior(blocked, "menthol-type-oils") < before

    def test_long_steeping_draws_tannins(self, known) -> None:
        """An absence of drying after a long steep speaks more against tannins than after a short one."""
        short = known.ask(record(("astringent-drying", 0), steep_minutes=2))
        long = known.ask(record(("astringent-drying", 0), steep_minutes=30))
        assert posterior(long, "tannins", "families") < posterior(short, "tannins", "families")

    def test_a_state_of_one_taster_reaches_only_that_taster(self, known) -> None:
        """Of two tasters who miss the mint, the one with a blocked nose counts less; shared states count for all."""
        def two(first: tuple[str, ...], second: tuple[str, ...]) -> float:
            r = Record((Finding("minty", 0, "A"), Finding("minty", 0, "B")), tasters={"A": Taster("A", first), "B": Taster("B", second)})
            return posterior(known.ask(r), "menthol-type-oils")

        assert two((), ()) < two(("blocked-nose",), ()) < two(("blocked-nose",), ("blocked-nose",))


class TestReports:
    """Reports order as they should."""

    @pytest.mark.parametrize(("quality", "family"), [("bitter", "bitter-principles"), ("astringent-drying", "tannins"), ("slippery-mucilaginous", "mucilages"), ("minty", "cooling-oils")])
    def test_stronger_reports_say_more(self, known, quality: str, family: str) -> None:
        """absent < unnoticed < not asked < weak < moderate < strong."""
        unnoticed = known.ask(record(("salty", 0), looked_for=(quality,)))
        not_asked = known.ask(record(("salty", 0)))
        values = [posterior(known.ask(record(("salty", 0), (quality, s))), family, "families") for s in range(4)]
        values.insert(1, posterior(unnoticed, family, "families"))
        values.insert(2, posterior(not_asked, family, "families"))
        assert values == sorted(values) and len(set(values)) == 6

    def test_not_puckering_is_no_denial_of_drying(self, known) -> None:
        """The absence of another word of a percept says no more than silence on it."""
        word = known.ask(record(("puckering", 0)))
        silence = known.ask(record(("bitter", 2), looked_for=("astringent-drying",)))
        assert word.understood.silent[0].quality == "astringent-drying" and silence.understood.silent[0].quality == "astringent-drying"

    def test_one_colour_is_one_finding(self, known) -> None:
        """Reporting red leaves the other colours unasked."""
        reply = known.ask(record(("red", 2), looked_for=("red", "golden-yellow", "brown")))
        assert [c.quality for c in reply.understood.cells] == ["red"] and not reply.understood.silent


class TestLabel:
    """The label comes first and never enters the inference."""

    @pytest.mark.parametrize("herb", ["quercus-robur-bark", "digitalis-purpurea-leaf", "glycyrrhiza-glabra-root"])
    def test_the_label_moves_no_figure(self, known, herb: str) -> None:
        """With and without a label the candidates are the same."""
        with_label, without = known.ask(record(("bitter", 2), herb=herb)), known.ask(record(("bitter", 2)))
        assert with_label.families == without.families and with_label.actions == without.actions and with_label.classes == without.classes

    def test_every_caution_of_the_herb_stands(self, known) -> None:
        """The label block holds each warning of the herb, the gravest first."""
        for herb in known.ontology.herbs:
            reply = known.ask(record(("bitter", 1), herb=herb))
            assert {h.claims[0] for h in reply.label_cautions} == {c.id for c in known.ontology.said_of("warns_of", herb)}
            ranks = [("avoid", "care", "information").index(h.severity) for h in reply.label_cautions if h.id != "do-not-taste"]
            assert ranks == sorted(ranks)

    def test_sealed_counts_and_hides(self, known) -> None:
        """A sealed label is counted, and its name is nowhere on the screen."""
        reply = known.ask(record(("bitter", 1), herb="quercus-robur-bark"), sealed=True)
        text = reply.text()
        avoid = sum(h.severity == "avoid" for h in reply.label_cautions)
        assert f"this label carries {len(reply.label_cautions)} cautions, {avoid} of them avoid" in text.replace("\n      ", " ")
        assert "oak" not in text.lower() and "quercus" not in text.lower()

    @pytest.mark.parametrize("herb", ["mentha-x-piperita-leaf", "acmella-oleracea-flower", "digitalis-purpurea-leaf", "artemisia-absinthium-herb"])
    def test_sealed_tells_no_name_in_json(self, known, herb: str) -> None:
        """Neither id nor botanical name stands in the data; how far it may be tasted does."""
        plant = known.ontology.herbs[herb]
        reply = known.ask(record(("salty", 1), herb=herb), sealed=True)
        data = reply.as_dict()
        del data["cannot_show"], data["only_looking"]  # of all herbs on file, whatever the label
        text = json.dumps(data, ensure_ascii=False).lower()
        assert herb not in text and plant.name.lower() not in text
        assert data["label"]["taste_safety"] == plant.taste_safety
        shown = " ".join(reply.text().split())
        assert {"ok": "weak infusion", "small-amount": "small amounts only", "do-not-taste": "never to be tasted"}[plant.taste_safety] in shown


class TestCautions:
    """No `avoid` is hidden."""

    @pytest.mark.parametrize("herb", ["angelica-archangelica-root", "petroselinum-crispum-root"])
    @pytest.mark.parametrize("findings", [[("fishy", 1)], [("bitter", 3), ("aromatic", 3), ("sweet", 2), ("celery-like", 3), ("warming", 2)]])
    def test_every_deadly_double_is_named(self, known, herb: str, findings: list[tuple[str, int]]) -> None:
        """However full the screen, no poison that the label is mistaken for is left out."""
        shown = " ".join(known.ask(record(*findings, herb=herb)).text().split())
        deadly = [c.label for c in known.ask(record(*findings, herb=herb)).label.confused_with if c.taste_safety == "do-not-taste"]
        assert len(deadly) >= 3 and all(name in shown for name in deadly)

    @pytest.mark.parametrize("stop", ["stop-swelling", "stop-palpitation", "stop-breath"])
    def test_after_a_stop_sign_nothing_is_tasted(self, known, stop: str) -> None:
        """A stop sign ends the tasting: only looking and safe tests are offered, and the screen does not contradict itself."""
        reply = known.ask(record(("astringent-drying", 3), (stop, 2), herb="potentilla-erecta-rhizome"))
        assert reply.only_looking == "a sign to stop was noticed"
        assert all(look.kind == "appearance" or known.ontology.tests[look.id].safe_without_label for look in reply.next)
        assert reply.text().startswith("STOP.")

    def test_a_fitting_poison_ends_the_tasting_too(self, known) -> None:
        """The warning is a part of the answer, and only looking is offered with it."""
        reply = known.ask(record(("tingling", 3), ("numbing", 3), herb="echinacea-angustifolia-root"))
        assert [e.id for e in reply.emergencies] == ["diterpenoid-alkaloids"]
        assert reply.as_dict()["emergencies"][0]["posterior"] >= 0.02
        assert reply.only_looking == "these findings fit a poison too"

    def test_an_aconite_tingle_is_warned_of(self, known) -> None:
        """Tingling and numbness raise the deadly rival of the tingling herbs, and the first line says so."""
        reply = known.ask("tingling, numbing")
        assert any(h.id == "do-not-taste" and "diterpenoid-alkaloids" in h.because and h.severity == "avoid" for h in reply.cautions)
        assert reply.text().startswith("WARNING.")
        assert "aconite" in reply.text().splitlines()[0]

    @given(st.lists(st.tuples(st.sampled_from(["bitter", "astringent-drying", "minty", "sweet", "tingling", "acrid", "camphoraceous", "slippery-mucilaginous", "golden-yellow"]), st.integers(0, 3)), min_size=1, max_size=5, unique_by=lambda t: t[0]))
    def test_risen_carriers_are_always_listed(self, known, findings: list[tuple[str, int]]) -> None:
        """Whatever was found: a class on a shown path, or a caution risen by 2 dB and 0.02, brings its cautions; and every avoid is on the screen."""
        reply = known.ask(record(*findings))
        listed = {(h.id, h.severity) for h in reply.cautions}
        top = [*reply.risen("families")[:3], *reply.risen("actions")[:3]]
        for candidate in top:
            for path in candidate.paths[:1]:
                for claim in known.ontology.said_of("warns_of", path.cls):
                    assert (claim.object, claim.word) in listed
        for cls in reply.classes:
            if cls.weight_db >= 2 and cls.posterior - cls.prior >= 0.02:
                for claim in known.ontology.said_of("warns_of", cls.id):
                    assert (claim.object, claim.word) in listed
        screen = " ".join(reply.text(width=88).split())
        for heed in reply.cautions:
            if heed.severity == "avoid":
                assert heed.label in screen


class TestHidden:
    """What tasting cannot show is worked out from the graph."""

    def test_the_known_deceivers_are_named(self, known) -> None:
        """Pyrrolizidine alkaloids and aristolochic acids have nothing to taste; foxglove's glycosides taste like any bitter."""
        hidden = {h.id: h for h in known.ask("bitter").cannot_show}
        assert hidden["pyrrolizidine-alkaloids"].by == "" and hidden["aristolochic-acids"].by == ""
        assert hidden["cardiac-glycosides"].by == "bitter" and hidden["cardiac-glycosides"].harmless

    def test_no_single_finding_lifts_them(self, known) -> None:
        """Each hidden poison stays below ten decibans for every strong finding; each other poison does not."""
        hidden = {h.id for h in known.ask("bitter").cannot_show}
        for id, thing in known.ontology.classes.items():
            if thing.poison:
                best = max((lift(known.ontology, known.network, id, p) for p in known.network.arcs[id] if not p.startswith("test/")), default=0.0)
                assert (id in hidden) == (best < LIFTED_DB)

    def test_lift_is_what_ask_gives(self, known) -> None:
        """The closed form for one finding equals the engine."""
        from kgraph.reasoning.circumstances import Circumstances
        from kgraph.reasoning.evidence import Cell
        from kgraph.reasoning.inference import Inference
        from kgraph.reasoning.weights import decibans

        for id, percept in (("diterpenoid-alkaloids", "tingling"), ("cardiac-glycosides", "bitter")):
            there, not_there = known.ontology.tables.report("taster", "strong", percept)
            plain = known.ontology.tables.asks_plain("taster", "strong", percept)
            inference = Inference(known.network, Circumstances(), [Cell(percept, "strong", 1.0, not_there / there, (percept,), plain=plain)])
            found = decibans(known.network.prior[id], inference.posterior[id])
            assert lift(known.ontology, known.network, id, percept) == pytest.approx(found, abs=1e-9)


class TestNext:
    """What to look for next is safe."""

    @given(st.lists(st.tuples(st.sampled_from(["bitter", "astringent-drying", "minty", "sweet", "tingling", "acrid"]), st.integers(0, 3)), min_size=1, max_size=4, unique_by=lambda t: t[0]), st.sampled_from(["", "tilia-cordata-flower", "echinacea-angustifolia-root", "aconitum-napellus-root", "quercus-robur-bark"]))
    def test_never_a_proposal_to_taste_the_unknown(self, known, findings: list[tuple[str, int]], herb: str) -> None:
        """Without a label, with a poison's label, or while a poison fits as well, only looking and bench tests are offered."""
        from kgraph.reasoning.circumstances import circumstances_of
        from kgraph.reasoning.evidence import cells_of
        from kgraph.reasoning.herbs import poisons_near
        from kgraph.reasoning.shelf import Shelf

        r = record(*findings, herb=herb)
        reply = known.ask(r)
        circumstances = circumstances_of(known.ontology, r)
        cells = cells_of(known.ontology, known.network, r, circumstances)
        near = poisons_near(known.ontology, Shelf(known.ontology, known.network).fits(circumstances, cells))
        unsafe = not herb or near or reply.emergencies or known.ontology.herbs[herb].taste_safety == "do-not-taste"
        assert bool(reply.only_looking) == bool(unsafe)
        if unsafe:
            for look in reply.next:
                if look.kind.endswith("test"):
                    assert known.ontology.tests[look.id].safe_without_label
                else:
                    assert look.kind == "appearance"

    def test_gain_against_enumeration(self, tmp_path) -> None:
        """Expected information equals the mutual information worked out from the full joint distribution."""
        import math

        from kgraph.reasoning.next_look import expected_gain

        joint = {(1, 1): 0.3, (1, 0): 0.1, (0, 1): 0.15, (0, 0): 0.45}  # (family, percept)
        hit, false_report = 0.9, 0.05
        full = {}
        for (f, p), w in joint.items():
            rate = hit if p else false_report
            full[(f, 1)] = full.get((f, 1), 0) + w * rate
            full[(f, 0)] = full.get((f, 0), 0) + w * (1 - rate)
        pf = {f: full[(f, 0)] + full[(f, 1)] for f in (0, 1)}
        pr = {r: full[(0, r)] + full[(1, r)] for r in (0, 1)}
        truth = sum(w * math.log2(w / (pf[f] * pr[r])) for (f, r), w in full.items())
        assert expected_gain(0.4, 0.55, 0.45, hit, false_report) == pytest.approx(truth, abs=1e-12)


def test_leave_one_out_weights(known) -> None:
    """What speaks against a candidate is its weight with the cell less its weight without."""
    full = known.ask(record(("bitter", 2), ("minty", 2), ("cooling", 0)))
    family = next(c for c in full.families if c.id == "cooling-oils")
    assert family.standing == "risen"
    against = next(a for a in family.against if a.quality == "cooling")
    without = known.ask(record(("bitter", 2), ("minty", 2)))
    other = next(c.weight_db for c in without.families if c.id == "cooling-oils")
    assert against.weight_db == pytest.approx(family.weight_db - other, abs=1e-9) and against.weight_db < -1


def test_too_many_findings_are_said(known, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the table would be too wide, the findings that say least are left out, and named."""
    import kgraph.reasoning.plan as plan

    monkeypatch.setattr(plan, "MAX_WIDTH", 3)
    qualities = ["bitter", "astringent-drying", "sweet", "acrid", "burning-pungent", "warming", "tingling", "mouth-watering", "numbing"]
    reply = known.ask(record(*((q, 3 if i < 3 else 1) for i, q in enumerate(qualities))))
    assert reply.understood.left_out
    assert "Left out of the sums" in reply.text()


def test_answers_are_values(known) -> None:
    """The same record gives the same answer, and an answer cannot be changed."""
    one, two = known.ask("bitter, minty"), known.ask("bitter, minty")
    assert one.as_dict() == two.as_dict()
    with pytest.raises(dataclasses.FrozenInstanceError):
        one.answer.notice = ""


def test_why(known) -> None:
    """A quality leads to classes with reasons, tests, cautions; in a herb its own classes stand first."""
    drying = known.why("dry mouth")
    assert drying.percept == "astringent-drying" and drying.causes[0].family == "tannins"
    assert all(c.claims for c in drying.causes) and drying.compare_with
    oak = known.why("drying", herb="oak bark")
    assert oak.herb == "quercus-robur-bark" and oak.causes[0].level == "major" and oak.documented
    from kgraph.yamlio import InputError

    for args in (("nonsense",), ("drying", "no such herb")):
        with pytest.raises(InputError):
            known.why(*args)


def test_why_never_sends_anyone_to_taste_a_poison(known) -> None:
    """For a do-not-taste herb the warning stands first and no tasting is proposed."""
    for herb in known.ontology.herbs.values():
        if herb.taste_safety == "do-not-taste":
            text = known.why("bitter", herb=herb.id).text()
            assert text.startswith("STOP.") and "taste again" not in text


def test_stop_signs_are_answered_first(known) -> None:
    """Swollen lips are no finding to reason on; they are an emergency."""
    reply = known.ask("bitter, swollen lips")
    assert reply.text().startswith("STOP.")
    assert all(c.quality != "stop-swelling" for c in reply.understood.cells)
