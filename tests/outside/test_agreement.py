"""Coefficients of agreement on published data, on degenerate cases, and under the rules that any of them must keep; the panel around them."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kgraph.cli import main
from kgraph.reasoning.agreement import fleiss_kappa, kendall_w, krippendorff_alpha, triangle, with_interval
from kgraph.reasoning.panel import together
from kgraph.session import Knowledge
from kgraph.tasting import Finding, Outcome, Record, Sample, Taster, write_record
from kgraph.writing import panel_text
from kgraph.yamlio import InputError

#: Fleiss, Psychological Bulletin 76 (1971), table 1: 30 subjects, 6 raters, 5 diagnoses.
FLEISS = [[0,0,0,6,0],[0,3,0,0,3],[0,1,4,0,1],[0,0,0,0,6],[0,3,0,3,0],[2,0,4,0,0],[0,0,4,0,2],[2,0,3,1,0],[2,0,0,4,0],[0,0,0,0,6],[1,0,0,5,0],[1,1,0,4,0],[0,3,3,0,0],[1,0,0,5,0],[0,2,0,3,1],[0,0,5,0,1],[3,0,0,1,2],[5,1,0,0,0],[0,2,0,4,0],[1,0,2,0,3],[0,0,0,0,6],[0,1,0,5,0],[0,2,0,1,3],[2,0,0,4,0],[1,0,0,4,1],[0,5,0,1,0],[4,0,0,0,2],[0,2,0,4,0],[1,0,5,0,0],[0,0,0,0,6]]
N = np.nan
#: Krippendorff, Computing Krippendorff's alpha-reliability (2011), data set C: four observers, twelve units.
KRIPPENDORFF = np.array([[1,2,3,3,2,1,4,1,2,N,N,N],[1,2,3,3,2,2,4,1,2,5,N,N],[N,3,3,3,2,3,4,2,2,5,1,3],[1,2,3,3,2,4,4,1,2,5,1,N]], dtype=float)
#: Anxiety ratings of 20 subjects by 3 raters, data of a general statistics library; result with and without ties worked out from the printed formulas.
ANXIETY = np.array([[3,3,2],[3,6,1],[3,4,4],[4,6,4],[5,2,3],[5,4,2],[2,2,1],[3,4,6],[5,3,1],[2,3,1],[2,2,1],[6,3,2],[1,3,3],[5,3,3],[2,2,1],[2,2,1],[1,1,3],[2,3,3],[4,3,2],[3,4,2]], dtype=float).T
#: FAO document V7180E, appendix A: tries and least number right at 5 %.
FAO = {5: 4, 10: 7, 15: 9, 20: 11, 24: 13, 30: 15, 36: 18, 42: 20, 60: 27, 96: 41}


class TestPublished:
    """Printed results."""

    def test_fleiss(self) -> None:
        """0.430 in print."""
        assert fleiss_kappa(np.array(FLEISS, dtype=float)) == pytest.approx(0.430, abs=5e-4)

    @pytest.mark.parametrize(("level", "value"), [("nominal", 0.743), ("ordinal", 0.815), ("interval", 0.849), ("ratio", 0.797)])
    def test_krippendorff(self, level: str, value: float) -> None:
        """All four levels as printed."""
        assert krippendorff_alpha(KRIPPENDORFF, level) == pytest.approx(value, abs=5e-4)  # type: ignore[arg-type]

    def test_kendall(self) -> None:
        """With ties 0.5397; three interviewers and six applicants (Siegel 1956, from memory): 0.16."""
        assert kendall_w(ANXIETY) == pytest.approx(0.5397, abs=5e-5)
        assert kendall_w(np.array([[1, 6, 3, 2, 5, 4], [1, 5, 6, 4, 2, 3], [6, 3, 2, 5, 4, 1]], dtype=float)) == pytest.approx(0.162, abs=5e-4)

    @pytest.mark.parametrize(("tries", "needed"), FAO.items())
    def test_triangle(self, tries: int, needed: int) -> None:
        """The least number right at 5 %, and the next lower one is too common."""
        assert triangle(0, tries).needed == needed
        assert triangle(needed, tries).p_value <= 0.05 < triangle(needed - 1, tries).p_value

    def test_three_tries_are_the_fewest(self) -> None:
        """Two tries can tell nothing."""
        assert triangle(2, 2).needed is None and triangle(3, 3).needed == 3 and triangle(0, 7).p_value == pytest.approx(1)


tables = st.integers(2, 5).flatmap(lambda m: st.integers(2, 6).flatmap(lambda n: st.lists(st.lists(st.integers(0, 3), min_size=n, max_size=n), min_size=m, max_size=m)))


class TestRules:
    """What holds of any table."""

    @given(tables, st.randoms())
    def test_neither_order_matters(self, table: list[list[int]], rng) -> None:
        """Raters and units may stand in any order; perfect agreement is 1, and no coefficient passes it."""
        data = np.array(table, dtype=float)
        mixed = data[rng.sample(range(len(data)), len(data))][:, rng.sample(range(data.shape[1]), data.shape[1])]
        for work in (krippendorff_alpha, kendall_w):
            one, two = work(data), work(mixed)
            assert (one is None) == (two is None) and (one is None or one == pytest.approx(two, abs=1e-9))
            assert one is None or one <= 1 + 1e-9
        w = kendall_w(data)
        assert w is None or 0 <= w <= 1 + 1e-9
        alike = np.tile(data[0], (3, 1))
        if len(set(table[0])) > 1:
            assert krippendorff_alpha(alike) == pytest.approx(1) == pytest.approx(kendall_w(alike))

    def test_degenerate_cases_are_defined(self) -> None:
        """Everybody says the same, one unit, one rater, nothing asked: None and a reason, never a number made up."""
        same = np.ones((3, 4))
        assert krippendorff_alpha(same) is None and kendall_w(same) is None and fleiss_kappa(np.array([[0.0, 3.0]] * 4)) is None
        assert kendall_w(np.ones((1, 4))) is None and kendall_w(np.zeros((3, 0))) is None and fleiss_kappa(np.zeros((0, 2))) is None and fleiss_kappa(np.array([[1.0, 0]])) is None
        assert krippendorff_alpha(np.zeros((3, 0))) is None and krippendorff_alpha(np.array([[1, N], [N, 2]])) is None
        found = with_interval("x", same, krippendorff_alpha, "why")
        assert found.value is None and found.reason == "why"

    def test_intervals_hold_the_value_and_do_not_move(self) -> None:
        """Same data, same interval; it lies around the value."""
        one, two = (with_interval("a", ANXIETY, kendall_w, "") for _ in range(2))
        assert one == two and one.low is not None and one.high is not None and one.value is not None and one.low < one.value < one.high


def cup(taster: str, *pairs: tuple[str, int], code: str = "417", herb: str = "gentiana-lutea-root", looked: bool = False) -> Record:
    return Record(
        tuple(Finding(q, s, taster) for q, s in pairs), sample=Sample(code, herb), tasters={taster: Taster(taster)},
        looked_for={taster: ("bitter", "sweet", "sour", "salty", "minty")} if looked else {}, tests=(Outcome("foam-on-shaking", False),),
    )


class TestPanel:
    """The report."""

    def test_one_stands_apart(self, known: Knowledge) -> None:
        """Three say the same, one says the contrary of everything: that one is named, nobody else; their strengths stand row by row."""
        same = (("bitter", 3), ("sweet", 1), ("sour", 0), ("minty", 0))
        odd = (("bitter", 0), ("sweet", 0), ("sour", 2), ("minty", 3))
        found = known.panel([cup("A", *same), cup("B", *same), cup("C", *same), cup("D", *odd)])
        assert [a.taster for a in found.apart if a.apart] == ["D"]
        bitter = next(r for r in found.rows if r.quality == "bitter")
        assert (bitter.reports, bitter.noticed, bitter.asked, bitter.word) == ((3, 3, 3, 0), 3, 4, "most")
        assert not [a for a in known.panel([cup("A", *same), cup("B", *same), cup("C", *same)]).apart if a.apart]
        assert found.effective == pytest.approx(4 / (1 + 3 * 0.3))

    def test_pooled_reasoning_is_that_of_one_record(self, known: Knowledge) -> None:
        """Families after the panel are what `ask` says of all tasters together; order of the sheets does not matter."""
        sheets = [cup("A", ("bitter", 3), looked=True), cup("B", ("bitter", 2), ("sweet", 1)), cup("C", ("minty", 1))]
        for order in itertools.permutations(sheets):
            found = known.panel(list(order))
            answer = known.ask(together(list(order))).answer
            assert [(f[0], pytest.approx(f[3])) for f in found.families] == [(c.id, c.posterior) for c in answer.risen("families")[:5]]
            assert {f[0] for f in found.families} == {f[0] for f in known.panel(sheets).families}

    def test_silence_and_what_was_not_asked(self, known: Knowledge) -> None:
        """Looked for and not mentioned counts as not there, not asked as nothing."""
        found = known.panel([cup("A", ("bitter", 3), looked=True), cup("B", ("sweet", 1))])
        rows = {r.quality: r.reports for r in found.rows}
        assert rows["bitter"] == (3, None) and rows["sweet"] == (0, 1) and rows["salty"] == (0, None)

    def test_misses_on_reference_solutions(self, known: Knowledge) -> None:
        """Who did not notice what the solution shows."""
        reference = Record((Finding("sweet", 2, "A"), Finding("sweet", 0, "B")), tasters={"A": Taster("A"), "B": Taster("B")})
        found = known.panel([cup("A", ("bitter", 3)), cup("B", ("bitter", 2))], references={"sweet": reference}, triangle=(15, 30))
        assert found.misses == (("B", "sweet"),) and found.triangle is not None and found.triangle.needed == 15
        text = " ".join(panel_text.render(found).split())
        assert "B did not notice sweet in the reference solution" in text and "in about 43 of 1000 tests" in text

    @pytest.mark.parametrize(("records", "rule"), [
        ([cup("A", ("bitter", 1)), cup("B", ("bitter", 1), code="9")], "other-sample"), ([cup("A", ("bitter", 1)), cup("B", ("bitter", 1), herb="")], "other-sample"),
        ([cup("A", ("bitter", 1)), cup("A", ("bitter", 2))], "taster-twice"), ([cup("A", ("bitter", 1))], "one-taster"),
    ])
    def test_what_is_no_panel(self, known: Knowledge, records: list[Record], rule: str) -> None:
        """Different samples, a taster twice, one taster only."""
        with pytest.raises(InputError) as caught:
            known.panel(records)
        assert caught.value.faults[0].rule == rule

    def test_poison_and_stop_signs_come_first(self, known: Knowledge) -> None:
        """A sheet of a poison, or with a sign to stop, is stopped before anything is counted."""
        stop = next(q.id for q in known.ontology.qualities.values() if q.kind == "stop")
        found = known.panel([cup("A", ("bitter", 1), (stop, 2), herb="digitalis-purpurea-leaf"), cup("B", ("bitter", 1), herb="digitalis-purpurea-leaf")])
        assert len(found.stops) == 2 and panel_text.render(found).startswith("STOP.") and found.avoid
        for text in (panel_text.as_markdown(found), panel_text.as_html(found)):
            assert text.index("STOP.") < text.index("They agree")

    def test_the_command(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Screen, data, Markdown and page tell the same; hostile names stay text; faults are exit 2 with nothing written."""
        files = []
        for name in ("A", "<b>B</b>", "C|x"):
            path = tmp_path / f"{len(files)}.yaml"
            path.write_text(write_record(cup(name, ("bitter", 3), ("sweet", 0))))
            files.append(str(path))
        assert main(["panel", *files, "--json"]) == 0
        data = json.loads(capsys.readouterr().out)
        assert data["answer"] == "panel" and data["tasters"] == ["A", "<b>B</b>", "C|x"]
        assert main(["panel", *files]) == 0 and "They agree on: bitter" in capsys.readouterr().out
        assert main(["panel", *files, "--output", str(tmp_path / "p.md")]) == 0 and main(["panel", *files, "--output", str(tmp_path / "p.html")]) == 0
        markdown, html = (tmp_path / "p.md").read_text(), (tmp_path / "p.html").read_text()
        assert "C\\|x" in markdown and "<b>B" not in html and "&lt;b&gt;B" in html and "<circle" in html
        for args in ([files[0]], [files[0], files[0]], [*files, "--triangle", "31/30"], [*files, "--triangle", "x"], [*files, "--reference", "biter=" + files[0]], [*files, "--output", str(tmp_path / "p.doc")]):
            assert main(["panel", *args]) == 2
        assert not (tmp_path / "p.doc").exists()
