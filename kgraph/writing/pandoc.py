"""Word files by way of pandoc, where it is installed."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from pathlib import Path

from kgraph.yamlio import InputError, Place

_SECONDS = 60


def docx(markdown: str, bibliography: str = "") -> bytes:
    """Markdown as a Word file; with a BibTeX text its citation keys are resolved.

    Raises:
        InputError: pandoc is not installed, or refuses the text.
    """
    program = shutil.which("pandoc")
    if program is None:
        raise InputError.single("no-pandoc", "a .docx file needs pandoc, which is not on this machine.", "Install pandoc, or write .md or .html.", Place("--output"))
    with tempfile.TemporaryDirectory() as folder:
        target, bib = Path(folder, "note.docx"), Path(folder, "sources.bib")
        bib.write_text(bibliography, encoding="utf-8")
        # no raw HTML or TeX from the text: it is a note, not a program (--sandbox would keep pandoc 2 from its own template of a Word file)
        command = [program, "--from=markdown-raw_tex-raw_html-raw_attribute", "--to=docx", f"--output={target}"]
        if bibliography:
            command += ["--citeproc", f"--bibliography={bib}", "--metadata=link-citations:true"]
        try:
            done = subprocess.run(command, input=markdown.encode(), capture_output=True, timeout=_SECONDS, check=False)
        except subprocess.TimeoutExpired:
            raise InputError.single("pandoc", "pandoc took too long.", "Write .md or .html.", Place("--output")) from None
        if done.returncode or not target.is_file():
            said = done.stderr.decode(errors="replace").strip().splitlines()
            raise InputError.single("pandoc", f"pandoc refused the note ({said[0] if said else 'no reason given'}).", "Write .md or .html.", Place("--output"))
        return target.read_bytes()
