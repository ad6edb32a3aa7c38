"""Page, static picture and hand-out as files: the same on every run, whole or not at all, and the graph that reasoning walks."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import handmade
import pytest
from handmade import described, row

from kgraph.cli import main
from kgraph.graphs import paths
from kgraph.graphs import picture as pictures
from kgraph.session import Knowledge
from kgraph.writing import scope, svg
from kgraph.writing.handout import as_markdown, handout_of
from kgraph.yamlio import InputError

RECORD = Path(__file__).resolve().parents[2] / "demo_graph" / "records" / "01-tormentil.yaml"
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '<script>alert(1)</script> "a" & \'b\' \u202e ' + "x" * 400


class TestPicture:
    """What is drawn is the graph that reasoning walks."""

    def test_every_link_is_an_edge_and_every_walked_edge_is_drawn(self, known: Knowledge) -> None:
        """Lines stand for claims of the graph between their ends; the reasoning's own view holds no step between drawn things that is missing."""
        graph = known.to_networkx()
        whole = pictures.picture(known.ontology, graph, pictures.whole(graph), "all")
        drawn = set()
        for link in whole.links:
            left, right = whole.nodes[link.source].id, whole.nodes[link.target].id
            drawn |= {(left, right), (right, left)}
            for claim in link.claims:
                assert graph.has_edge(left, right, claim) or graph.has_edge(right, left, claim)
        view = paths.reasoning_view(graph)
        ids = {n.id for n in whole.nodes}
        walked = {(u, v) for u, v, d in view.edges(data=True) if u in ids and v in ids and d["claims"]}
        assert walked <= drawn

    def test_layers_run_from_senses_to_cautions(self, known: Knowledge) -> None:
        """No line runs backwards, places are distinct and without gaps."""
        graph = known.to_networkx()
        for chosen in (pictures.whole(graph), pictures.around_herb(graph, "gentiana-lutea-root"), pictures.around_quality(graph, "bitter")):
            found = pictures.picture(known.ontology, graph, chosen, "t")
            assert all(found.nodes[link.source].layer <= found.nodes[link.target].layer for link in found.links)
            for layer in found.layers:
                assert sorted(n.place for n in found.nodes if n.layer == layer) == list(range(sum(n.layer == layer for n in found.nodes)))
            assert {n.id for n in found.nodes} == set(chosen)

    def test_poisons_are_marked_wherever_they_stand(self, known: Knowledge) -> None:
        """Each class and herb that is never to be tasted."""
        graph = known.to_networkx()
        whole = pictures.picture(known.ontology, graph, pictures.whole(graph), "t")
        marked = {n.id for n in whole.nodes if n.mark == "never"}
        assert marked == {f"class/{c.id}" for c in known.ontology.classes.values() if c.poison} & {n.id for n in whole.nodes} and len(marked) > 10
        page = known.draw()
        assert page.count("never to be tasted</strong>") >= len(marked)


def test_the_same_bytes_on_every_run(known: Knowledge) -> None:
    """Page and picture do not differ between two runs of a day; nothing is drawn by chance."""
    for what in ("", "gentian", "drying", RECORD):
        assert known.draw(what) == known.draw(what) and known.draw(what, svg=True) == known.draw(what, svg=True)
    assert len(known.draw().encode()) <= 3_000_000


class TestStatic:
    """The static picture."""

    @pytest.mark.parametrize("what", ["", "gentian", "digitalis-purpurea-leaf", "drying", RECORD], ids=str)
    def test_it_is_svg_with_text(self, known: Knowledge, what: object) -> None:
        """Well-formed; a title and a description inside; every node's label is text or in its title; no script, no link; the notice stands below."""
        text = known.draw(what, svg=True)  # type: ignore[arg-type]
        root = ET.fromstring(text)
        assert root.tag == SVG + "svg" and root.find(SVG + "title") is not None and root.find(SVG + "desc") is not None and root.get("role") == "img"
        assert not [e for e in root.iter() if e.tag in (SVG + "script", SVG + "image", SVG + "a")] and "http" not in text.replace("http://www.w3.org/2000/svg", "")
        said = " ".join(" ".join(e.itertext()) for e in root.iter(SVG + "text"))
        assert "For learning only" in said and "No taste rules them out" in said
        if "digitalis" in str(what):
            assert "STOP." in said and "never to be tasted" in text

    def test_hostile_text(self, tmp_path: Path) -> None:
        """Labels are text, and cut where they would run into the next column; the title keeps the whole."""
        known = handmade.build(
            tmp_path, extra={"qualities": [{"id": "evil", "label": HOSTILE, "sense": "taste", "kind": "percept"}], "evokes": [row(**{"class": "zork", "quality": "evil", "strength": "often"})]},
            plants={"alba": {"described_as": described(evil="strong")}},
        )
        root = ET.fromstring(known.draw("alba", svg=True))
        (node,) = [g for g in root.iter(SVG + "g") if "k-quality" in (g.get("class") or "") and g.find(SVG + "title") is not None]
        title, label = node.find(SVG + "title"), node.find(SVG + "text")
        assert title is not None and label is not None and (title.text or "").startswith("<script>alert(1)</script>") and len(label.text or "") <= 31

    def test_line_styles_tell_how_it_is_known(self, known: Knowledge) -> None:
        """Tradition, laboratory, memory ... each has a dash of its own, and only those in use stand in the key."""
        assert len({dash for dash, _ in svg.DASHES.values()}) == len(svg.DASHES) - 1  # the laboratory and a plain source are both whole lines
        lecture = scope.lecture_of(known.ontology, known.network, known.to_networkx(), scope.Subject(herb="gentiana-lutea-root"))
        key, _ = svg.legend(lecture.picture, 0)
        used = {svg.known_from(link) for link in lecture.picture.links}
        for name, (_, words) in svg.DASHES.items():
            assert (f">{words}<" in key) == (name in used)


class TestHandout:
    """The key for the hand."""

    def test_markdown_says_what_the_program_says(self, known: Knowledge) -> None:
        """One line a quality, with every avoid; hostile text cannot break the table."""
        sheet = handout_of(known.ontology, lambda record: known.ask(record).answer)
        text = as_markdown(sheet)
        rows = [line for line in text.splitlines() if line.startswith("| ")]
        assert len(rows) == len(sheet.lines) + 1 and all(len(re.findall(r"(?<!\\)\|", r)) == 5 for r in rows)
        for line in sheet.lines:
            assert line.families and all(caution in text for caution in line.avoid)
        assert "What tasting cannot show" in text and len(sheet.sources) > 20 and sheet.stops


class TestCommands:
    """`draw` and `handout`: files whole or not at all."""

    def test_files(self, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        """The ending tells the format; a subject's name makes the file's; an existing file is kept without --force."""
        monkeypatch.chdir(tmp_path)
        assert main(["draw", "gentian"]) == 0
        assert (tmp_path / "gentian.html").read_text().startswith("<!doctype html>")
        assert main(["draw", "gentian"]) == 2
        assert "--force" in capsys.readouterr().err
        assert main(["draw", "gentian", "--force", "--svg"]) == 0 and (tmp_path / "gentian.svg").read_text().startswith("<svg")
        assert main(["draw", str(RECORD), "--output", "r.svg"]) == 0 and (tmp_path / "r.svg").read_text().startswith("<svg")
        assert main(["handout", "--output", "h.md"]) == 0 and main(["handout", "--output", "h.html"]) == 0
        capsys.readouterr()
        assert main(["handout"]) == 0 and capsys.readouterr().out.startswith("# From mouthfeel")
        assert main(["draw", "drying", "--output", "-", "--svg"]) == 0 and capsys.readouterr().out.startswith("<svg")

    @pytest.mark.parametrize(
        ("args", "words"),
        [
            (["gentiann"], "Did you mean"), (["a/b"], "no herb, quality or record"), (["../x"], "no such file"), (["missing.yaml"], "no such file"), (["gentian", "--output", "none/x.html"], "no folder"),
            (["gentian", "--output", "x.pdf"], "End it in .html or .svg"), (["gentian", "--output", "x.html", "--svg"], "End it in .svg"), (["gentian", "--output", "."], "does not tell"), (["thin"], "no herb"),
        ],
    )
    def test_bad_input(self, args: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        """Exit 2, what is wrong, and no file left behind."""
        monkeypatch.chdir(tmp_path)
        assert main(["draw", *args]) == 2
        assert words in capsys.readouterr().err and not list(tmp_path.iterdir())

    def test_a_herb_of_which_nothing_is_said(self, tmp_path: Path) -> None:
        """There is nothing to draw, and it is said."""
        known = handmade.build(tmp_path, plants={"alba": {"no_description": "none", "no_cautions": "none"}})
        with pytest.raises(InputError, match="nothing is said"):
            known.draw("alba")
