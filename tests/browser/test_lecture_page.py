"""The page of a lecture in a real browser, opened from a file with the network cut."""

from __future__ import annotations

import io
import json
import random
import re
from pathlib import Path

import foreign
import handmade
import pytest
from handmade import described, row

import kgraph
from kgraph.reasoning.asking import ask
from kgraph.reasoning.board import board_of, cells_as_data
from kgraph.reasoning.circumstances import circumstances_of
from kgraph.reasoning.evidence import cells_of
from kgraph.tasting import Finding, Outcome, Record, Taster

RECORDS = sorted((Path(__file__).resolve().parents[2] / "demo_graph" / "records").glob("*.yaml"))
HOSTILE = '</script><img src=x onerror="window.pwned=1"> "quotes" \'and\' & \u202eright-to-left\u202c 🌿 ' + "long " * 90


@pytest.fixture(scope="module")
def whole(known) -> str:
    return known.draw()


@pytest.fixture(scope="module")
def tormentil(known) -> str:
    return known.draw(RECORDS[0])


class TestPicture:
    """Choosing, searching, filtering, walking."""

    def test_choosing_a_shape(self, opened, whole: str) -> None:
        """A click tells what it is, what is said of it with numbered sources, and lights paths to the senses and to cautions."""
        page = opened(whole)
        number = page.evaluate("Page.nodes.findIndex(n => n.l === 'condensed tannins')")
        page.click(f".n[data-n='{number}']")
        panel = page.inner_text("#details")
        assert "Statements" in panel and re.search(r"\[\d", panel) and "Sources" in panel
        lit = {page.evaluate("e => Page.nodes[+e.dataset.n].k", n) for n in page.query_selector_all(".n.lit")}
        assert {"class", "caution"} <= lit or {"class", "action"} <= lit
        assert page.get_attribute(".n.chosen", "aria-pressed") == "true"

    def test_search_and_only_what_is_lit(self, opened, whole: str) -> None:
        """The word finds its shape; only the lit ones are shown; letting go brings all back."""
        page = opened(whole)
        count = page.inner_text("#count")
        page.fill("#search", "drying")
        page.click("#found button >> nth=0")
        assert page.inner_text("#details h3 >> nth=0") == "drying"
        page.click("#only")
        shown = page.locator(".nodes .n:not(.off)").count()
        assert 5 < shown < 200 and page.inner_text("#count") == f"{shown} things shown"
        page.click("#only")
        page.click("#clear")
        assert page.inner_text("#count") == count
        page.fill("#search", "zzz")
        assert "Nothing is called so" in page.inner_text("#live")

    def test_filters(self, opened, whole: str) -> None:
        """Layers, senses and ways of knowing can be taken out and put back."""
        page = opened(whole)
        page.click("summary >> nth=0")
        for box, selector in (('[data-off=layer][value="6"]', ".nodes .n.k-caution:not(.off)"), ('[data-off=basis][value="tradition"]', None), ('[data-off=sense][value="aroma"]', None)):
            before = page.locator(selector or ".l:not(.off)").count()
            page.uncheck(box)
            after = page.locator(selector or ".l:not(.off)").count()
            assert after == 0 if selector else after < before
            page.check(box)
            assert page.locator(selector or ".l:not(.off)").count() == before
        page.select_option("#herb", label="gentian")
        assert page.locator(".n.lit").count() > 5 and "Gentiana lutea" in page.inner_text("#details")

    def test_by_keyboard_alone(self, opened, whole: str) -> None:
        """One tab stop leads in, arrows walk along layers and lines, Enter chooses, Escape lets go; the focus is seen."""
        page = opened(whole)
        assert page.locator(".nodes .n[tabindex='0']").count() == 1
        page.focus(".nodes .n[tabindex='0']")
        start = page.evaluate("document.activeElement.dataset.n")
        page.keyboard.press("ArrowDown")
        assert page.evaluate("document.activeElement.dataset.n") != start
        ring = page.evaluate("getComputedStyle(document.activeElement.querySelector('.ring')).stroke")
        assert ring != "none"
        page.keyboard.press("Enter")
        assert page.locator(".n.chosen").count() == 1
        page.keyboard.press("ArrowRight")
        assert page.evaluate("Page.nodes[+document.activeElement.dataset.n].k") in ("family", "class")
        page.keyboard.press("Escape")
        assert page.locator(".n.chosen").count() == 0

    def test_the_table_holds_everything(self, opened, tormentil: str, known) -> None:
        """Every shape and every line has a row, with a button that Tab reaches; choosing there chooses in the picture."""
        page = opened(tormentil)
        nodes, links = page.evaluate("[Page.nodes.length, Page.links.length]")
        assert page.locator("[data-node]").count() == nodes == page.locator(".nodes .n").count()
        assert page.locator("[data-link]").count() == links == page.locator(".links .l").count()
        assert page.evaluate("[...document.querySelectorAll('[data-node],[data-link]')].every(b => b.tabIndex === 0 && b.offsetParent)")
        page.click("[data-node='2']")
        assert page.get_attribute(".n.chosen", "data-n") == "2"
        page.click("[data-link='3']")
        assert page.locator(".l.lit").count() == 1
        visited = set()
        page.evaluate("document.querySelector('[data-node]').focus()")
        for _ in range(nodes):
            visited.add(page.evaluate("document.activeElement.dataset.node"))
            page.keyboard.press("Tab")
        assert len(visited - {None}) == nodes


class TestSteps:
    """Presenter keys and buttons."""

    def test_a_record_is_walked_through(self, opened, tormentil: str, known) -> None:
        """Page Down reveals one step at a time with its sentence, Page Up goes back, Home restarts, the list jumps; nothing stands there before its time."""
        page = opened(tormentil)
        steps = page.evaluate("Page.steps")
        assert steps[0]["title"] == "What was noticed" and steps[-1]["title"] == "What tasting cannot show"
        seen = 0
        for number, step in enumerate(steps, start=1):
            page.keyboard.press("PageDown")
            assert f"{number} of {len(steps)}: {step['title']}" in page.inner_text("#say") and step["text"] in page.inner_text("#say")
            shown = page.locator(".nodes .n:not(.off)").count()
            assert shown == len({n for s in steps[:number] for n in s["show"]}) and shown >= seen
            seen = shown
        page.keyboard.press("PageUp")
        assert f"{len(steps) - 1} of" in page.inner_text("#say")
        page.keyboard.press("Home")
        assert page.inner_text("#say").startswith("1 of")
        page.select_option("#jump", "3")
        assert page.inner_text("#say").startswith("4 of")
        page.click("#stop")
        assert page.locator(".nodes .n:not(.off)").count() == page.evaluate("Page.nodes.length")
        page.click("#start")
        page.click("#next")
        page.click("#back")
        assert page.inner_text("#say").startswith("1 of")

    def test_full_screen(self, opened, tormentil: str) -> None:
        """The picture fills the screen, and leaves it again."""
        page = opened(tormentil)
        page.click("#full")
        page.wait_for_function("document.fullscreenElement && document.fullscreenElement.id === 'map'")
        page.click("#full")
        page.wait_for_function("!document.fullscreenElement")

    @pytest.mark.parametrize("what", ["gentian", "digitalis-purpurea-leaf", "drying"])
    def test_herbs_and_qualities_have_steps(self, opened, known, what: str) -> None:
        """From the herb or the quality to what tasting cannot show; a poison is stopped first."""
        page = opened(known.draw(what))
        assert page.evaluate("Page.steps.length") >= 5
        page.click("#start")
        assert page.inner_text("#say").startswith("1 of")
        if what.startswith("digitalis"):
            assert page.inner_text("header .mind").startswith("STOP.") and page.locator(".n.never").count() >= 1


ASK = """([cells, active]) => {
  const a = Sums.answer(Page.board, cells, active);
  const short = c => [c.id, c.prior, c.posterior];
  return {families: a.families.map(short), actions: a.actions.map(short), classes: a.classes.map(short),
    risen: [a.top.families.map(c => c.id), a.top.actions.map(c => c.id)],
    paths: [...a.top.families.slice(0, 3), ...a.top.actions.slice(0, 3)].map(c => c.paths.length ? c.paths[0].chance : 0),
    cautions: a.cautions.map(c => [c.id, c.severity]), emergencies: a.emergencies.map(c => Page.board.classes[c].id), out: a.out.length};
}"""
TICKED = "([ticks, looked, active]) => { const b = Page.board; const cells = Sums.cellsOf(b, new Map(ticks), looked ? b.standard : []); return (" + ASK + ")([cells, active]); }"


def same(data: dict, answer) -> None:
    """Every figure to 1e-9, every order and every caution alike."""
    for group in ("families", "actions", "classes"):
        mine = {c.id: (c.prior, c.posterior) for c in getattr(answer, group)}
        assert {id: pytest.approx((prior, posterior), abs=1e-9) for id, prior, posterior in data[group]} == mine
    assert data["risen"] == [[c.id for c in answer.risen("families")], [c.id for c in answer.risen("actions")]]
    assert data["paths"] == pytest.approx([c.paths[0].probability if c.paths else 0 for c in (*answer.risen("families")[:3], *answer.risen("actions")[:3])], abs=1e-9)
    assert data["cautions"] == [[h.id, h.severity] for h in answer.cautions]
    assert data["emergencies"] == [e.id for e in answer.emergencies] and data["out"] == len(answer.understood.left_out)


class TestBoard:
    """The board reasons like the program."""

    @pytest.mark.parametrize("record", RECORDS, ids=lambda p: p.stem)
    def test_records(self, opened, known, record: Path) -> None:
        """The findings of each demo record, as they came, give the same answer."""
        page = opened(known.draw(record))
        answer = known.ask(record).answer
        same(page.evaluate(f"() => ({ASK})([Board.cells(), [...Board.active]])"), answer)
        out = page.inner_text("#boardout")
        for h in answer.cautions:
            if h.severity == "avoid":
                assert h.label in out

    def test_ticks(self, opened, known) -> None:
        """Anything that may be ticked: groups and kinds together, colours, tests, silence on the standard list, conditions."""
        o = known.ontology
        page = opened(known.draw("drying"))
        board = board_of(o, known.network)
        number = {p["id"]: i for i, p in enumerate(board["percepts"])}
        pool = [p["id"] for p in board["percepts"] if p["kind"] != "test"]
        states = [c for c in o.conditions.values() if c.field == "state"]
        rng = random.Random(11)
        for _ in range(30):
            ticks = {q: rng.randint(0, 3) for q in rng.sample(pool, rng.randint(1, 12))}
            tests = {t: rng.random() < 0.5 for t in rng.sample(list(o.tests), rng.randint(0, 2))}
            looked = rng.random() < 0.5
            tastes = tuple(c.values[0] for c in rng.sample(states, rng.randint(0, 2)))
            record = Record(
                tuple(Finding(q, s) for q, s in ticks.items()), tasters={"taster": Taster("taster", tastes)},
                looked_for={"taster": o.tables.standard_list} if looked else {}, tests=tuple(Outcome(t, seen) for t, seen in tests.items()),
            )
            active = [i for i, c in enumerate(board["conditions"]) if c["id"] in circumstances_of(o, record).active]
            marks = [[number[q], ("absent", "weak", "moderate", "strong")[s]] for q, s in ticks.items()] + [[number["test/" + t], "moderate" if seen else "absent"] for t, seen in tests.items()]
            same(page.evaluate(TICKED, [marks, looked, active]), ask(o, known.network, record))

    def test_foreign_worlds(self, opened, tmp_path: Path) -> None:
        """Random ontologies with invented words, drawn now: the page of each reasons like the program."""
        for seed in random.sample(range(10_000), 6):
            spec = foreign.random_spec(seed)
            folder = tmp_path / str(seed)
            folder.mkdir()
            foreign.write(spec, folder)
            known = kgraph.load(folder, cache=False)
            o = known.ontology
            page = opened(known.draw())
            data = foreign.record_data(spec, foreign.random_tasting(spec, seed))
            from kgraph.tasting import read_record_text

            record = read_record_text(json.dumps(data), known.vocabulary)
            circumstances = circumstances_of(o, record)
            board = board_of(o, known.network)
            cells = cells_as_data(board, cells_of(o, known.network, record, circumstances))
            active = [i for i, c in enumerate(board["conditions"]) if c["id"] in circumstances.active]
            same(page.evaluate(ASK, [cells, active]), ask(o, known.network, record))

    def test_ticking_by_hand(self, opened, known) -> None:
        """A tick re-ranks at once, warnings first; the board empties; the first place is said to screen readers."""
        page = opened(known.draw())
        number = page.evaluate("Page.board.percepts.findIndex(p => p.id === 'astringent-drying')")
        page.select_option(f"#tick-{number}", "strong")
        assert "First now: tannins" in page.inner_text("#boardsays")
        assert page.inner_text("#boardout").startswith("Mind")
        tingling = page.evaluate("Page.board.percepts.findIndex(p => p.id === 'tingling')")
        page.select_option(f"#tick-{number}", "")
        page.evaluate("document.querySelectorAll('#board details').forEach(d => { d.open = true; })")
        page.select_option(f"#tick-{tingling}", "strong")
        assert page.inner_text("#boardout").startswith("WARNING")
        page.click("#empty")
        assert "Tick what was noticed" in page.inner_text("#boardout")

    def test_the_class_guesses_first(self, opened, known) -> None:
        """Answers are hidden until hands are counted, warnings are not; then both stand side by side."""
        page = opened(known.draw(RECORDS[0]))
        page.click("#guess")
        hidden = page.inner_text("#boardout")
        assert "What may be in the cup" not in hidden and "AVOID" in hidden
        page.fill("#hands-tannins", "7")
        page.click("#hands button")
        table = page.inner_text("#hands table")
        assert re.search(r"tannins\s+7\s+about 4 in 10 → 19 in 20\s+1", table) and "What may be in the cup" in page.inner_text("#boardout")


class TestForEveryone:
    """Accessibility, print, small screens, hostile text."""

    @pytest.mark.parametrize("options", [{}, {"color_scheme": "dark"}, {"viewport": {"width": 390, "height": 800}}, {"reduced_motion": "reduce"}], ids=["light", "dark", "phone", "still"])
    def test_axe_finds_nothing(self, opened, audited, tormentil: str, options: dict) -> None:
        """WCAG 2.2 A and AA, with everything unfolded, a shape chosen and a step begun."""
        page = opened(tormentil, **options)
        assert audited(page) == []
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        page.click("#start")
        page.evaluate("Drawing.choose(Page.steps[0].show[0])")
        page.click("#guess")
        assert audited(page) == []

    def test_axe_on_everything(self, opened, audited, whole: str) -> None:
        """The page of the whole ontology too."""
        assert audited(opened(whole)) == []

    @pytest.mark.parametrize("width", [320, 700])
    def test_nothing_runs_off_a_small_screen(self, opened, tormentil: str, width: int) -> None:
        """At 320 pixels, and at 200 % of 1400, the page itself does not scroll sideways (WCAG 1.4.10)."""
        page = opened(tormentil, viewport={"width": width, "height": 800})
        assert page.evaluate("document.scrollingElement.scrollWidth <= window.innerWidth")

    def test_print(self, opened, known) -> None:
        """Every sheet carries the notice; picture, steps, cautions and both tables are on paper, the controls are not."""
        pypdf = pytest.importorskip("pypdf")
        page = opened(known.draw("digitalis-purpurea-leaf"))
        sheets = [" ".join(p.extract_text().split()) for p in pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages]
        assert len(sheets) > 2 and all("call a poison centre" in s.lower() and "For learning only" in s for s in sheets)
        whole = " ".join(sheets)
        for words in ("STOP.", "Things (", "Lines (", "What tasting cannot show", "Sources", "foxglove"):
            assert words in whole
        assert "Let go" not in whole and "Empty the board" not in whole

    def test_hostile_text_stays_text(self, opened, tmp_path: Path) -> None:
        """Labels that would end a script, load an image or turn the line around are shown as they are."""
        extra = {"qualities": [{"id": "evil", "label": HOSTILE[:490], "sense": "taste", "kind": "percept", "definition": HOSTILE}],
                 "evokes": [row(**{"class": "zork", "quality": "evil", "strength": "often", "note": HOSTILE})]}
        known = handmade.build(tmp_path, extra=extra, plants={"alba": {"described_as": described(evil="strong"), "common_names": [HOSTILE[:300]]}})
        for html in (known.draw(), known.draw("alba"), known.draw("evil"), known.handout()):
            page = opened(html)
            assert page.evaluate("window.pwned") is None
            assert page.locator("img").count() == 0 and "onerror=" in page.inner_text("body")
            assert "\u202e" not in page.content()

    def test_the_document(self, opened, whole: str) -> None:
        """Language, title, one heading of the first rank, a strict policy, licences named."""
        page = opened(whole)
        assert page.get_attribute("html", "lang") == "en" and page.title() and page.locator("h1").count() == 1
        policy = page.get_attribute("meta[http-equiv=Content-Security-Policy]", "content")
        assert policy.startswith("default-src 'none'") and "unsafe" not in policy
        footer = page.inner_text("footer")
        assert "MIT" in footer and "CC-BY-4.0" in footer
        assert not re.search(r"""(src|href)=["']?https?:""", whole)


def test_the_handout(opened, audited, known) -> None:
    """Two A4 pages at most, every sheet with its notice, axe finds nothing; every avoid of the answer is on it."""
    pypdf = pytest.importorskip("pypdf")
    page = opened(known.handout())
    assert audited(page) == []
    sheets = [" ".join(p.extract_text().split()) for p in pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages]
    assert len(sheets) <= 2 and all("Call a poison centre" in s for s in sheets) and "What tasting cannot show" in " ".join(sheets)
    rows = {r.query_selector("th").inner_text(): r.inner_text() for r in page.query_selector_all("tbody tr")}
    for quality in ("bitter", "drying", "tingling"):
        id = {"drying": "astringent-drying"}.get(quality, quality)
        answer = known.ask(Record((Finding(id, 3),))).answer
        assert all(h.label in rows[quality] for h in answer.cautions if h.severity == "avoid")
        assert all(c.label in rows[quality] for c in answer.risen("families")[:3])


def test_notes_and_panels(opened, audited, known) -> None:
    """Both pages are clean under axe-core, fit a phone, and carry their notice on every printed sheet."""
    from kgraph.writing import note_text, panel_text

    pypdf = pytest.importorskip("pypdf")
    for html in (note_text.as_html(known.note("digitalis-purpurea-leaf", []), known.ontology, {"uses": "my own <b>words</b>"}), panel_text.as_html(known.panel([RECORDS[0]]))):
        page = opened(html, viewport={"width": 360, "height": 800})
        assert audited(page) == [] and page.evaluate("document.scrollingElement.scrollWidth <= window.innerWidth")
        sheets = [" ".join(p.extract_text().split()) for p in pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages]
        assert all("call a poison centre" in s.lower() for s in sheets)
