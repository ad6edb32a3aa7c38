"""The blank tasting sheet in a real browser, and the plan behind it."""

from __future__ import annotations

import io
from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.cli import main
from kgraph.session import Knowledge
from kgraph.tasting import read_record_text
from kgraph.tasting.session_plan import SOLUTIONS, codes_for, plan_for, williams
from kgraph.writing.sheet import OF_THE_SAMPLE, sit_out
from kgraph.yamlio import InputError

HERBS = ["gentian", "oak bark", "peppermint"]


def begun(page) -> None:
    page.check("#ok")


def saved(page) -> str:
    with page.expect_download() as download:
        page.click("#save")
    return Path(download.value.path()).read_text(encoding="utf-8")


class TestPage:
    """Filled in as a taster would."""

    def test_filled_closed_reopened_saved(self, browser, known: Knowledge, tmp_path: Path) -> None:
        """Two tasters fill a cup; the tab is closed and opened again; the draft is there, and what is saved is a record that `ask` takes as it is."""
        file = tmp_path / "sheet.html"
        file.write_text(known.sheet(HERBS, ["M", "O"]), encoding="utf-8")
        context = browser.new_context(offline=True, accept_downloads=True)
        page = context.new_page()
        complaints: list[str] = []
        page.on("console", lambda m: complaints.append(m.text))
        page.on("pageerror", lambda e: complaints.append(str(e)))
        page.goto(file.as_uri())
        assert page.is_hidden("#work")
        begun(page)
        code = page.evaluate("Sheet.samples[sample].code")
        page.select_option("#cell-bitter", "strong")
        page.select_option("[data-when=bitter]", "holding")
        page.select_option("#cell-sweet", "absent")
        page.fill("#words", "a hayloft: \"August\", 'dry' # not a comment")
        page.check("[data-state] >> nth=0")
        page.select_option("#swallowed", "no")
        page.select_option("#taster", "O")
        page.select_option("#sample", label=next(t for t in page.locator("#sample option").all_inner_texts() if code in t))
        page.select_option("#cell-astringent-drying", "moderate")
        page.close()
        page = context.new_page()
        page.goto(file.as_uri())
        page.select_option("#sample", label=next(t for t in page.locator("#sample option").all_inner_texts() if code in t))
        assert page.input_value("#cell-bitter") == "strong" and page.input_value("#words").startswith("a hayloft")
        record = read_record_text(saved(page), known.vocabulary)
        assert record.sample.code == code and not record.sample.herb and set(record.tasters) == {"M", "O"}
        assert {(f.taster, f.quality, f.strength, f.when) for f in record.findings} == {("M", "bitter", 3, "holding"), ("M", "sweet", 0, ""), ("O", "astringent-drying", 2, "")}
        assert record.impressions[0].text == "a hayloft: \"August\", 'dry' # not a comment" and record.tasters["M"].swallowed is False and record.tasters["M"].state
        assert known.ask(record).families
        context.close()
        assert not complaints

    def test_blind_until_all_have_finished(self, opened, known: Knowledge) -> None:
        """No herb's name is in the page; it is shown when every taster has finished every cup, and then it is right."""
        html = known.sheet(HERBS, ["M"])
        for name in ("gentian", "Gentiana", "Quercus", "peppermint", "oak bark"):
            assert name not in html
        page = opened(html)
        begun(page)
        assert page.is_disabled("#reveal")
        for i in range(3):
            page.select_option("#sample", str(i))
            page.check("#finished")
        page.click("#reveal")
        said = page.inner_text("#names")
        codes = plan_for(3, ["M"], 1).codes
        for code, name in zip(codes, ("gentian", "oak bark", "peppermint"), strict=True):
            assert f"{code}: {name}" in said
        page.uncheck("#finished")
        assert page.inner_text("#names") == ""

    def test_prompts_in_time(self, opened, known: Knowledge) -> None:
        """The clock says what to look for next; it stops when told."""
        page = opened(known.sheet([], ["M"]))
        begun(page)
        page.click("#begin")
        assert page.inner_text("#prompttext").startswith("First") and "next in" in page.inner_text("#clock")
        page.evaluate("started -= 70000; tick()")
        assert page.inner_text("#prompttext").startswith("One minute")
        page.click("#halt")
        assert page.inner_text("#clock") == ""

    def test_more_tasters_and_hostile_names(self, opened, known: Knowledge) -> None:
        """Anybody may be added; a name with quotes, colons or markup comes back as it was."""
        page = opened(known.sheet([], ["M"]), accept_downloads=True)
        begun(page)
        name = "<b>\"x\": {y}</b> - 'z'"
        page.fill("#newtaster", name)
        page.click("#addtaster")
        page.select_option("#cell-bitter", "weak")
        record = read_record_text(saved(page), known.vocabulary)
        assert list(record.tasters) == [name] and page.locator("#taster option").count() == 2
        page.fill("#newtaster", name)
        page.click("#addtaster")
        assert "stands already" in page.inner_text("#kept")
        page.click("#forget")
        page.click("#forget")
        page.wait_for_load_state()
        assert page.locator("#taster option").count() == 1

    @pytest.mark.parametrize("options", [{"viewport": {"width": 360, "height": 740}}, {"color_scheme": "dark"}], ids=["phone", "dark"])
    def test_for_everyone(self, opened, audited, known: Knowledge, options: dict) -> None:
        """axe-core finds nothing, nothing runs off a phone, every cell has its label."""
        page = opened(known.sheet(HERBS, ["M", "O"]), **options)
        assert audited(page) == []
        begun(page)
        page.select_option("#cell-bitter", "strong")
        assert audited(page) == [] and page.evaluate("document.scrollingElement.scrollWidth <= window.innerWidth")

    def test_on_paper(self, opened, known: Knowledge) -> None:
        """One A4 sheet a cup after the first page, each with its code, its cells and the notice, none with a name."""
        pypdf = pytest.importorskip("pypdf")
        page = opened(known.sheet(HERBS, ["M"]))
        sheets = [" ".join(p.extract_text().split()) for p in pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages]
        for code in plan_for(3, ["M"], 1).codes:
            assert sum(f"Cup {code}" in s for s in sheets) == 1
        assert all("Call a poison centre" in s for s in sheets) and len(sheets) <= 7 and "Gentiana" not in " ".join(sheets) and "Sit out" in sheets[0]


class TestPlan:
    """Codes, orders, poisons."""

    @given(st.integers(2, 12))
    def test_each_cup_follows_each_other_equally_often(self, count: int) -> None:
        """The defining property of a Williams design, and each order holds each cup once; each place holds each cup equally often."""
        design = williams(count)
        follows = Counter(pair for row in design for pair in pairwise(row))
        assert len(follows) == count * (count - 1) and len(set(follows.values())) == 1
        assert all(sorted(row) == list(range(count)) for row in design)
        for place in range(count):
            assert len(set(Counter(row[place] for row in design).values())) == 1

    @given(st.integers(1, 12), st.integers(0, 10**6))
    def test_codes(self, count: int, seed: int) -> None:
        """Three digits, all different, the same for the same seed."""
        codes = codes_for(count, seed)
        assert len(set(codes)) == count and all(len(c) == 3 and len(set(c)) == 3 and c[0] != "0" for c in codes) and codes == codes_for(count, seed)

    def test_whoever_must_sit_out(self, known: Knowledge) -> None:
        """Every caution with care or avoid of every cup is read out once, and no herb is named."""
        o = known.ontology
        herbs = ["gentiana-lutea-root", "mentha-x-piperita-leaf", "glycyrrhiza-glabra-root"]
        said = " ".join(sit_out(o, herbs))
        wanted = {o.label("caution", c.object) for h in herbs for c in o.said_of("warns_of", h) if c.word in ("avoid", "care") and c.object not in OF_THE_SAMPLE}
        assert all(label in said for label in wanted) and len(wanted) > 8
        assert not any(o.herbs[h].label in said for h in herbs)

    def test_poisons_are_refused(self, known: Knowledge) -> None:
        """No sheet and no plan with a cup that is never to be tasted, whichever it is."""
        for herb in (h.id for h in known.ontology.herbs.values() if h.taste_safety == "do-not-taste"):
            for plan in (False, True):
                with pytest.raises(InputError, match="never to be tasted"):
                    known.sheet(["gentian", herb], ["M"], plan=plan)

    def test_the_plan_in_words(self, known: Knowledge) -> None:
        """Codes beside names, an order for each taster, amounts, rests, solutions with their sources."""
        text = known.sheet(HERBS, ["M", "O", "T", "P", "Q", "R"], plan=True)
        plan = plan_for(3, ["M", "O", "T", "P", "Q", "R"], 1)
        for code, name in zip(plan.codes, HERBS, strict=True):
            assert f"| {code} | {name} |" in text
        assert all(f"| {t} | " + " | ".join(plan.codes[i] for i in order) + " |" in text for t, order in zip(plan.tasters, plan.orders, strict=True))
        assert all(s.substance.split(" ")[0] in text for s in SOLUTIONS) and "names the cups" in text and "It is whole with" not in text

    @pytest.mark.parametrize("args", [["gentiann"], ["gentian", "foxglove"], ["--cups", "0"], ["--cups", "x"], ["--seed", "-1"], ["gentian", "--tasters", "A,A"], ["gentian", "--output", "x.md"], ["gentian", "--plan", "--output", "x.html"]])
    def test_bad_input(self, args: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Exit 2, nothing written."""
        monkeypatch.chdir(tmp_path)
        assert main(["sheet", *args]) == 2 and not list(tmp_path.iterdir())
