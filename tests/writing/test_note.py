"""The materia medica note: all that the graph holds about a herb and nothing else, each statement with its source, the writer's own text never lost."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from urllib.parse import quote

import handmade
import pytest
from handmade import described, row
from hypothesis import given
from hypothesis import strategies as st

from kgraph.cli import main
from kgraph.session import Knowledge
from kgraph.tasting import Finding, Record, Sample, write_record
from kgraph.writing import keeping, note_text
from kgraph.writing.note import HEADINGS, SECTIONS, all_claims, changes
from kgraph.writing.references import bibtex
from kgraph.yamlio import InputError

HOSTILE = '<script>alert(1)</script> [x](http://evil) `code` $math$ *star* | @cite <!-- end of yours: senses --> \u202e'


class TestWhatStandsInIt:
    """The graph's statements, and no others."""

    def test_every_statement_of_every_herb(self, known: Knowledge) -> None:
        """Whatever is said of a herb stands in its note; what is not said of it, or of its classes, does not."""
        o = known.ontology
        for herb in o.herbs:
            note = known.note(herb)
            held = set(all_claims(note))
            mine = {c.id for relation in ("contains", "described_as", "acts_as", "used_for", "warns_of", "confused_with", "shown_by", "assays") for c in o.said_of(relation, herb)}
            assert mine <= held
            subjects = {herb} | {c.object for c in o.said_of("contains", herb)} | {o.classes[c.object].family for c in o.said_of("contains", herb)}
            assert all(o.claim(id).subject in subjects or o.claim(id).object == herb for id in held - mine)
            assert set(note.statements) == held and [s.key for s in note.sections] == list(SECTIONS)

    def test_memory_stands_at_the_top(self, known: Knowledge) -> None:
        """As many items as statements that were not read; none where all were."""
        o = known.ontology
        for herb in ("gentiana-lutea-root", "digitalis-purpurea-leaf", "tilia-cordata-flower"):
            note = known.note(herb)
            unread = [id for id in all_claims(note) if not o.claim(id).seen and not o.claim(id).common_practice]
            assert note.sections[0].key == "memory" and len(note.sections[0].items) == len(unread)

    def test_cautions_by_severity(self, known: Knowledge) -> None:
        """The herb's own come gravest first, with preparation; what its classes say to avoid follows; a poison is stopped before all."""
        note = known.note("digitalis-purpurea-leaf")
        assert note.stops and note.stops[0].startswith("STOP.")
        items = next(s for s in note.sections if s.key == "cautions").items
        own = [i for i in items if not i.text.startswith("AVOID, for its")]
        grades = [i.text.split(":")[0] for i in own]
        assert grades == sorted(grades, key=["AVOID", "With care", "To know"].index) and all(i.grave for i in items if i.text.startswith("AVOID"))
        text = note_text.as_markdown(note, known.ontology)
        assert text.index("STOP") < text.index("## ")

    def test_own_tastings(self, known: Knowledge) -> None:
        """What agrees, what differs, what is new; another herb's record is refused."""
        record = Record((Finding("bitter", 3), Finding("sweet", 0), Finding("minty", 1), Finding("astringent-drying", 0)), tasted_on="2026-10-06", sample=Sample("802", "gentiana-lutea-root"))
        items = [i.text for i in next(s for s in known.note("gentian", [record]).sections if s.key == "senses").items]
        assert "Own tasting of sample 802 on 2026-10-06 (one taster):" in items
        assert "agrees: bitter strong; described as strong." in items and "agrees: drying not there; described as not there." in items
        assert "differs: sweet not there; described as weak." in items and "noticed, and not described: minty weak." in items
        with pytest.raises(InputError, match="this record is of"):
            known.note("oak bark", [record])

    def test_sheets_of_one_cup_stand_together(self, known: Knowledge) -> None:
        """Six sheets of one coded cup are one tasting with how many noticed what; without a code each stands for itself."""
        from kgraph.tasting import Taster

        sheets = [Record((Finding("bitter", s, t),), sample=Sample("9", "gentiana-lutea-root"), tasters={t: Taster(t)}) for t, s in (("A", 3), ("B", 3), ("C", 0))]
        items = [i.text for i in next(s for s in known.note("gentian", sheets).sections if s.key == "senses").items]
        assert "Own tasting of sample 9 (3 tasters):" in items and "agrees: bitter strong, 2 of 3; described as strong." in items
        alone = [Record(r.findings, sample=Sample("", "gentiana-lutea-root"), tasters=r.tasters) for r in sheets]
        assert sum(i.text == "Own tasting (one taster):" for i in next(s for s in known.note("gentian", alone).sections if s.key == "senses").items) == 3

    def test_sources_that_disagree_stand_side_by_side(self, known: Knowledge) -> None:
        """Each contradiction of a herb names both words and cites both."""
        o = known.ontology
        herbs = {c[0].subject for c in o.contradictions if c[0].subject in o.herbs}
        for herb in sorted(herbs)[:5]:
            items = next(s for s in known.note(herb).sections if s.key == "contradictions").items
            assert items and all(" against " in i.text and len(i.claims) > 1 for i in items)


class TestMarkdown:
    """As text: citations, stability, escapes."""

    def test_the_same_on_every_run(self, known: Knowledge) -> None:
        """Nothing in it depends on the day or on chance."""
        for keys in (False, True):
            assert len({note_text.as_markdown(known.note("gentian"), known.ontology, citation_keys=keys) for _ in range(2)}) == 1

    @pytest.mark.skipif(shutil.which("pandoc") is None, reason="no pandoc on this machine")
    def test_pandoc_finds_every_citation(self, known: Knowledge, tmp_path: Path) -> None:
        """All notes in one run of pandoc with their BibTeX: no key is missing, nothing is warned of."""
        (tmp_path / "s.bib").write_text(bibtex(known.ontology.sources.values()), encoding="utf-8")
        texts = [note_text.as_markdown(known.note(h), known.ontology, citation_keys=True).replace("::: {#refs}\n:::", "") for h in known.ontology.herbs]
        done = subprocess.run(["pandoc", "-f", "markdown", "-t", "plain", "--citeproc", f"--bibliography={tmp_path / 's.bib'}"], input="\n\n".join(texts).encode(), capture_output=True, timeout=280, check=False)
        assert done.returncode == 0 and b"not found" not in done.stderr and not done.stderr.strip(), done.stderr[:400]
        plain = done.stdout.decode()
        assert "@" not in re.sub(r"\S+@\S+\.\w+", "", plain) and "???" not in plain

    def test_hostile_text_stays_text(self, tmp_path: Path) -> None:
        """Markup in a claim is shown, not done, in Markdown and HTML; it cannot close the writer's places."""
        known = handmade.build(tmp_path, plants={"alba": {"described_as": [{**described(blim="strong")[0], "note": HOSTILE}], "common_names": ["<b>alba</b>"], "contains": [row(**{"class": "wug", "level": "major", "note": HOSTILE})]}})
        note = known.note("alba")
        markdown, html = note_text.as_markdown(note, known.ontology), note_text.as_html(note, known.ontology)
        assert "<script>" not in markdown.replace("\\<script\\>", "") and "\u202e" not in markdown + html
        assert "<script" not in html and "&lt;script&gt;" in html
        assert keeping.own_text(markdown, SECTIONS) == {}
        assert markdown.count("\n" + note_text.end("senses")) == 1


def filled(known: Knowledge, own: dict[str, str]) -> str:
    return note_text.as_markdown(known.note("gentian"), known.ontology, own)


class TestTheWritersOwnText:
    """Kept where it stands; kept aside where its place was broken; never lost."""

    @given(st.dictionaries(st.sampled_from(SECTIONS), st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), min_size=1, max_size=60).filter(lambda t: t.strip() and "<!--" not in t), max_size=4))
    def test_it_comes_back(self, known: Knowledge, own: dict[str, str]) -> None:
        """Any text in any place is found again as it was, and making the note again changes nothing."""
        first = filled(known, own)
        assert keeping.own_text(first, SECTIONS) == own
        assert filled(known, keeping.own_text(first, SECTIONS)) == first

    @given(st.integers(0, 2**20), st.sampled_from(["drop", "double", "rename", "heading"]))
    def test_broken_markers(self, known: Knowledge, seed: int, how: str) -> None:
        """Take away, double or misspell any marker, or put a heading into a place: every word of the writer's is still there after the note is made again, twice."""
        own = {key: f"mine-{key}-one\nmine-{key}-two" for key in SECTIONS}
        lines = filled(known, own).split("\n")
        markers = [i for i, line in enumerate(lines) if "yours:" in line]
        at = markers[seed % len(markers)]
        if how == "drop":
            del lines[at]
        elif how == "double":
            lines.insert(at, lines[at])
        elif how == "rename":
            lines[at] = lines[at].replace("yours: ", "yours: x")
        else:
            lines.insert(at + 1 if "end of" not in lines[at] else at, "## my own heading")
        again = filled(known, keeping.own_text("\n".join(lines), SECTIONS, filled(known, {})))
        third = filled(known, keeping.own_text(again, SECTIONS, filled(known, {})))
        for key in SECTIONS:
            for word in (f"mine-{key}-one", f"mine-{key}-two"):
                assert word in again and word in third, (word, how)
        if how == "heading":
            assert "## my own heading" in third

    def test_text_of_unknown_places_stands_at_the_end(self, known: Knowledge) -> None:
        """It is named as kept aside."""
        broken = filled(known, {}) + "\n<!-- yours: elsewhere -->\nprecious\n"
        again = filled(known, keeping.own_text(broken, SECTIONS))
        assert again.index("## Kept aside") < again.index("precious") and keeping.own_text(again, SECTIONS) == {"aside-1": "precious"}


class TestCommand:
    """`kgraph note`."""

    def test_made_again(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Own text in the file is kept with --force; a record stands in it; BibTeX and keys go together."""
        target, bib, record = tmp_path / "n.md", tmp_path / "n.bib", tmp_path / "r.yaml"
        record.write_text(write_record(Record((Finding("bitter", 3),), sample=Sample("7", "gentiana-lutea-root"))))
        assert main(["note", "gentian", "--output", str(target), "--record", str(record)]) == 0
        text = target.read_text()
        assert "Own tasting of sample 7" in text and all(f"## {h}" in text for h in HEADINGS.values())
        target.write_text(text.replace(note_text.begin("uses") + "\n", note_text.begin("uses") + "\nmy own line\n"))
        assert main(["note", "gentian", "--output", str(target)]) == 2
        assert main(["note", "gentian", "--output", str(target), "--bib", str(bib), "--force"]) == 0
        text = target.read_text()
        assert "my own line" in text and "[@commission-e-1998" in text and "@" in bib.read_text()
        assert set(re.findall(r"@([\w-]+)[,;\]]", text)) <= set(re.findall(r"^@\w+\{([^,]+),", bib.read_text(), re.M))
        html = tmp_path / "n.html"
        assert main(["note", "gentian", "--output", str(html), "--yours", str(target)]) == 0 and "my own line" in html.read_text()
        capsys.readouterr()
        assert main(["note", "gentian"]) == 0 and capsys.readouterr().out.startswith("# Gentian")

    def test_since(self, known: Knowledge, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """New, gone and otherwise said statements are named; nothing otherwise."""
        target = tmp_path / "n.md"
        assert main(["note", "gentian", "--output", str(target)]) == 0
        assert main(["note", "gentian", "--since", str(target)]) == 0
        assert capsys.readouterr().out == "nothing has changed\n"
        note = known.note("gentian")
        ids = list(note.statements)
        before = {**note.statements, "described_as/gentiana-lutea-root/gone": "00000000", ids[0]: "11111111"}
        del before[ids[1]]
        assert changes(note, before) == ([ids[1]], ["described_as/gentiana-lutea-root/gone"], [ids[0]])
        text = target.read_text().replace(f"{quote(ids[0])}={note.statements[ids[0]]}", f"{quote(ids[0])}=11111111").replace(f"{quote(ids[1])}={note.statements[ids[1]]} ", "")
        target.write_text(text)
        assert main(["note", "gentian", "--since", str(target)]) == 0
        out = capsys.readouterr().out
        assert out.count("new: ") == 1 and out.count("said otherwise now: ") == 1
        target.write_text("# nothing")
        assert main(["note", "gentian", "--since", str(target)]) == 2

    @pytest.mark.skipif(shutil.which("pandoc") is None, reason="no pandoc on this machine")
    def test_word(self, tmp_path: Path) -> None:
        """A .docx that opens as a zip with the text in it."""
        import zipfile

        target = tmp_path / "n.docx"
        assert main(["note", "gentian", "--output", str(target), "--bib", str(tmp_path / "n.bib")]) == 0
        body = zipfile.ZipFile(target).read("word/document.xml").decode()
        assert "secoiridoid bitters" in body and "Commission E" in body and "[@" not in body

    def test_without_pandoc(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
        """It is said, and nothing is written."""
        monkeypatch.setattr(shutil, "which", lambda name: None)
        assert main(["note", "gentian", "--output", str(tmp_path / "n.docx")]) == 2
        assert "pandoc" in capsys.readouterr().err and not list(tmp_path.iterdir())

    @pytest.mark.parametrize("args", [["gentiann"], ["gentian", "--output", "x.pdf"], ["gentian", "--record", "none.yaml"], ["gentian", "--yours", "none.md"], ["gentian", "--output", "none/x.md"]])
    def test_bad_input(self, args: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Exit 2, nothing left behind."""
        monkeypatch.chdir(tmp_path)
        assert main(["note", *args]) == 2 and not list(tmp_path.iterdir())
