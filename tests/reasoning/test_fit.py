"""The fit: what documented herbs teach, and the checks that a fit could fail."""

from __future__ import annotations

import random
from pathlib import Path

import handmade
import pytest

from kgraph.reasoning.book import book_cells
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.fit import MIN_HERBS, OTHER_SIZES, SIZES, Descriptions, Fit, fit_as_yaml, fitted_network, learn
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.network import MIN_SUPPORT, build_network
from kgraph.session import Knowledge
from kgraph.yamlio import InputError

TRUE = {("zork", "blim"): 0.6, ("wug", "gorp"): 0.85, ("dax", "sneb"): 0.25}
OTHER = 0.05


def book(unsaid: float) -> dict[str, list[dict]]:
    """Report tables of a book that leaves so many of the qualities unsaid, and errs once in a thousand."""
    rows = [("strong", 0.3, 0.0003), ("moderate", 0.4, 0.0004), ("weak", 0.299, 0.0003), ("absent", 0.001, 0.999), ("unnoticed", unsaid, 0.996)]
    return {"report_tables": [{"channel": "book", "state": s, "if_there": a, "if_not_there": b, **handmade.WHO} for s, a, b in rows]}


def plants(count: int, unsaid: float, seed: int = 1, *, shuffled: bool = False) -> dict[str, dict]:
    """Herbs drawn from TRUE, with everything that a book says of them; `shuffled` gives each the senses of another."""
    rng = random.Random(seed)
    contents, senses = [], []
    for _ in range(count):
        held = [c for c in ("zork", "wug", "plon", "dax") if rng.random() < 0.4]
        there = {q for (c, q), s in TRUE.items() if c in held and rng.random() < s}
        there |= {q for q in ("blim", "gorp", "sneb", "frim") if rng.random() < OTHER or (q == "frim" and "plon" in held and rng.random() < 0.9)}
        contents.append([handmade.row(**{"class": c, "level": "major"}) for c in held] or [handmade.row(**{"class": "plon", "level": "trace"})])
        said = {q: rng.choice(("weak", "moderate", "strong")) for q in sorted(there) if rng.random() >= unsaid}
        senses.append(said)
    if shuffled:
        rng.shuffle(senses)
    # two qualities of no class make every herb a described one
    extra = {"plain-one": "weak", "plain-two": "weak"}
    return {
        f"herb-{n:03}": {"contains": contents[n], "described_as": [handmade.row(quality=q, intensity=w) for q, w in (senses[n] | extra).items()],
                         "no_cautions": "none found in the tome"}
        for n in range(count)
    }


def world(folder: Path, herbs: dict[str, dict], unsaid: float, evokes: dict | None = None) -> Knowledge:
    folder.mkdir(exist_ok=True)
    qualities = {"qualities": [{"id": q, "label": q, "sense": "taste", "kind": "percept", "definition": "of no class"} for q in ("plain-one", "plain-two")]}
    changes = {"evokes": handmade.spec().evokes | evokes} if evokes else {}
    return handmade.build(folder, extra={**book(unsaid), **qualities}, plants=herbs, **changes)


def strengths(fit: Fit) -> dict[tuple[str, str], float]:
    return {(s.cls, s.quality): s.value for s in fit.strengths}


class TestWhatIsLearnt:
    def test_two_rates_of_silence_teach_the_same(self, tmp_path: Path) -> None:
        """Books that leave a fifth or six tenths unsaid give back the strengths that the herbs were drawn from."""
        found = []
        for unsaid in (0.2, 0.6):
            known = world(tmp_path / str(unsaid), plants(400, unsaid), unsaid)
            found.append(strengths(Descriptions(known.ontology, build_network(known.ontology, words_alone=True)).fit(size=2.0, other_size=2.0)))
            for arc, true in TRUE.items():
                assert found[-1][arc] == pytest.approx(true, abs=0.09), (unsaid, arc)
        assert all(abs(found[0][arc] - found[1][arc]) < 0.12 for arc in TRUE)

    def test_one_arc_by_hand(self, tmp_path: Path) -> None:
        """Where books err hardly and leave nothing unsaid, the figure is (herbs that show it + weight * word) / (herbs + weight)."""
        herbs = plants(60, 0.0)
        known = world(tmp_path, herbs, 0.002)
        has = [id for id, h in herbs.items() if any(r["class"] == "wug" for r in h["contains"])]
        shows = [id for id in has if any(r["quality"] == "gorp" for r in herbs[id]["described_as"])]
        fit = Descriptions(known.ontology, build_network(known.ontology, words_alone=True)).fit(size=8.0, other_size=6.0)
        (arc,) = [s for s in fit.strengths if (s.cls, s.quality) == ("wug", "gorp")]
        assert arc.herbs == len(has) > 10
        assert arc.value == pytest.approx((len(shows) + 8 * 0.7) / (len(has) + 8), abs=0.02)
        assert arc.low < arc.value < arc.high

    def test_other_causes_are_learnt_beside(self, tmp_path: Path) -> None:
        """A quality that herbs without its class show too has other causes; the tabled figure weighs as so many herbs."""
        herbs = plants(200, 0.2)
        fit = learn(world(tmp_path, herbs, 0.2).ontology)
        others = {o.quality: o.value for o in fit.others}
        assert others["gorp"] == pytest.approx(OTHER, abs=0.05)
        assert others["plain-one"] > (200 * 0.7) / (200 + max(OTHER_SIZES))

    def test_few_herbs_leave_the_word(self, tmp_path: Path) -> None:
        """With no herb behind it a strength is its word's; under five herbs the network keeps the word."""
        herbs = {id: h | {"contains": [r for r in h["contains"] if r["class"] != "dax"] or [handmade.row(**{"class": "plon", "level": "trace"})]} for id, h in plants(40, 0.2).items()}
        known = world(tmp_path, herbs, 0.2)
        fit = learn(known.ontology)
        (arc,) = [s for s in fit.strengths if (s.cls, s.quality) == ("dax", "sneb")]
        assert (arc.value, arc.herbs) == (pytest.approx(0.7), 0) and arc.herbs < MIN_SUPPORT
        net = fitted_network(known.network, fit)
        assert net.arcs["dax"]["sneb"].learnt is None and net.arcs["dax"]["sneb"].strength == 0.7
        assert net.arcs["wug"]["gorp"].learnt is not None and known.network.arcs["wug"]["gorp"].strength == 0.7, "the network it came from stays"

    def test_the_weight_of_the_words_is_one_of_those_tried(self, tmp_path: Path) -> None:
        fit = learn(world(tmp_path, plants(60, 0.2), 0.2).ontology)
        assert fit.size in SIZES and fit.other_size in OTHER_SIZES


class TestChecksOfTheCheck:
    """DESIGN 10: what must fail when there is nothing to learn."""

    def skill(self, known: Knowledge) -> float:
        """Brier skill of the classes on the second half of the herbs, learnt from the first half, against base rates."""
        herbs = list(known.ontology.herbs)
        first, second = herbs[::2], herbs[1::2]
        net = build_network(known.ontology, words_alone=True)
        net = fitted_network(net, Descriptions(known.ontology, net).fit(first))
        held = {h: {c.object for c in known.ontology.said_of("contains", h) if c.word == "major"} for h in herbs}
        classes = [c for c in net.prior if any(c in held[h] for h in herbs)]
        base = {c: (sum(c in held[h] for h in first) + 0.5) / (len(first) + 1) for c in classes}
        net.prior, net.major = dict(net.prior) | base, dict(net.prior) | base
        ours = theirs = 0.0
        for herb in second:
            posterior = Inference(net, Circumstances(), book_cells(known.ontology, net, herb)).posterior
            ours += sum((posterior[c] - (c in held[herb])) ** 2 for c in classes)
            theirs += sum((base[c] - (c in held[herb])) ** 2 for c in classes)
        return 1 - ours / theirs

    def test_shuffled_senses_teach_nothing(self, tmp_path: Path) -> None:
        """With each herb's own senses there is skill; with those of another herb it falls to the base rate, or below."""
        assert self.skill(world(tmp_path / "own", plants(120, 0.2), 0.2)) > 0.2
        assert self.skill(world(tmp_path / "other", plants(120, 0.2, shuffled=True), 0.2)) < 0.03

    def test_a_canary_is_not_seen_when_it_is_left_out(self, tmp_path: Path) -> None:
        """One herb alone has a class and a quality that nothing else has: left out, its figure is the word's, to the digit."""
        herbs = plants(40, 0.2)
        for h in herbs.values():
            h["contains"] = [r for r in h["contains"] if r["class"] != "dax"] or [handmade.row(**{"class": "plon", "level": "trace"})]
            h["described_as"] = [r for r in h["described_as"] if r["quality"] != "sneb"]
        herbs["canary"] = {"contains": [handmade.row(**{"class": "dax", "level": "major"})], "no_cautions": "none found in the tome",
                           "described_as": handmade.described(sneb="strong", plain_one="weak", plain_two="weak")}
        known = world(tmp_path, herbs, 0.2)
        descriptions = Descriptions(known.ontology, build_network(known.ontology, words_alone=True))
        without = strengths(descriptions.fit([h for h in descriptions.herbs if h != "canary"], size=4.0, other_size=6.0))
        assert without[("dax", "sneb")] == pytest.approx(0.7, abs=1e-12)
        assert strengths(descriptions.fit(size=4.0, other_size=6.0))[("dax", "sneb")] > 0.75

    def test_three_words_for_one_percept_count_once(self, known: Knowledge) -> None:
        """A taster who says drying, puckering and rough has said one thing."""
        one, three = (known.ask(handmade.record(*[(w, 2) for w in words])) for words in (("astringent-drying",), ("astringent-drying", "puckering", "rough-chalky")))
        assert {c.id: c.posterior for c in one.answer.families} == pytest.approx({c.id: c.posterior for c in three.answer.families})


class TestBadInput:
    def test_too_few_herbs(self, tmp_path: Path) -> None:
        """Herbs without described senses do not count."""
        herbs = plants(MIN_HERBS - 1, 0.2) | {"mute": {"contains": [handmade.row(**{"class": "zork", "level": "major"})], "no_description": "none found", "no_cautions": "none found"}}
        with pytest.raises(InputError) as caught:
            learn(world(tmp_path, herbs, 0.2).ontology)
        assert caught.value.faults[0].rule == "too-few-herbs" and str(MIN_HERBS - 1) in str(caught.value)

    def test_no_table_for_books(self, tmp_path: Path) -> None:
        with pytest.raises(InputError) as caught:
            learn(handmade.build(tmp_path).ontology)
        assert caught.value.faults[0].rule == "no-book-table"


class TestTheTable:
    def test_the_same_bytes(self, known: Knowledge) -> None:
        """The shipped table is what the shipped herbs teach, to the byte."""
        shipped = Path(kgraph_folder(), "tables", "fitted.yaml").read_text(encoding="utf-8")
        assert fit_as_yaml(learn(known.ontology), known.ontology.tables.fitted_version) == shipped

    def test_it_is_used_while_its_word_stands(self, known: Knowledge) -> None:
        """The network has the table's figure where at least five herbs stand behind it and the word is the claim's, and the word's number elsewhere."""
        net, words = known.network, build_network(known.ontology, words_alone=True)
        moved = 0
        for (cls, quality), (word, value, _, _, herbs) in known.ontology.tables.fitted.items():
            arc = net.arcs[cls][quality]
            assert known.ontology.claim(arc.claims[0]).word == word
            if herbs >= MIN_SUPPORT:
                assert arc.strength == min(0.999, value)
                moved += 1
            else:
                assert arc.strength == words.arcs[cls][quality].strength
        assert moved > 60

    def test_a_changed_word_puts_the_figure_aside(self, tmp_path: Path) -> None:
        """An editor who regrades a link is heard, although the table has not been made again."""
        fitted = {"fitted": {"version": 1, "herbs": 30, "strengths": [
            {"class": "zork", "quality": "blim", "word": "almost-always", "value": 0.51, "low": 0.4, "high": 0.6, "herbs": 9},
            {"class": "wug", "quality": "gorp", "word": "rarely", "value": 0.13, "low": 0.1, "high": 0.2, "herbs": 9}],
            "other_causes": [{"quality": "gorp", "value": 0.11, "herbs": 30}]}}
        net = handmade.build(tmp_path, extra=fitted).network  # type: ignore[arg-type]
        assert net.arcs["zork"]["blim"].strength == 0.51 and net.arcs["wug"]["gorp"].strength == 0.7
        assert net.other_cause["gorp"] == 0.11

    @pytest.mark.parametrize(("wrong", "rule"), [
        ({"class": "zorg"}, "unknown-id"), ({"quality": "blimm"}, "unknown-id"), ({"value": 1.5}, "out-of-range"), ({"herbs": 31}, "out-of-range"), ({"word": "mostly"}, "unknown-word")])
    def test_a_wrong_row_is_a_fault_of_the_file(self, tmp_path: Path, wrong: dict, rule: str) -> None:
        row = {"class": "zork", "quality": "blim", "word": "almost-always", "value": 0.51, "low": 0.4, "high": 0.6, "herbs": 9} | wrong
        with pytest.raises(InputError) as caught:
            handmade.build(tmp_path, extra={"fitted": {"version": 1, "herbs": 30, "strengths": [row], "other_causes": []}})  # type: ignore[arg-type,dict-item]
        assert [fault.rule for fault in caught.value.faults] == [rule] and "world.yaml:" in str(caught.value)


class TestTheInterval:
    def test_it_holds_the_truth_as_often_as_it_says(self, tmp_path: Path) -> None:
        """Over 40 drawn worlds of 60 herbs the nine-tenths interval of three arcs holds the strength they were drawn with in most cases (120 intervals; a share under 0.8 would be rare if it were 0.9)."""
        inside = total = 0
        for seed in range(40):
            known = world(tmp_path / str(seed), plants(60, 0.4, seed), 0.4)
            descriptions = Descriptions(known.ontology, build_network(known.ontology, words_alone=True))
            for s in descriptions.fit(size=2.0, other_size=2.0).strengths:
                if (s.cls, s.quality) in TRUE:
                    total += 1
                    inside += s.low <= TRUE[(s.cls, s.quality)] <= s.high
        assert total == 120 and inside / total > 0.8

    def test_two_classes_that_always_come_together(self, tmp_path: Path) -> None:
        """What one could owe to the other shows as a wide interval of both."""
        herbs = plants(80, 0.2)
        for h in herbs.values():
            held = {r["class"] for r in h["contains"]}
            if "zork" in held and "wug" not in held:
                h["contains"].append(handmade.row(**{"class": "wug", "level": "major"}))
            if "wug" in held and "zork" not in held:
                h["contains"].append(handmade.row(**{"class": "zork", "level": "major"}))
        widths = {}
        for name, evokes in (("alone", {}), ("both", {("zork", "gorp"): "often"})):
            known = world(tmp_path / name, herbs, 0.2, evokes)
            fit = Descriptions(known.ontology, build_network(known.ontology, words_alone=True)).fit(size=2.0, other_size=2.0)
            (s,) = [s for s in fit.strengths if (s.cls, s.quality) == ("wug", "gorp")]
            widths[name] = s.high - s.low
        assert widths["both"] > 1.5 * widths["alone"]


def kgraph_folder() -> Path:
    from kgraph.claims import folders

    return folders.shipped_folder()
