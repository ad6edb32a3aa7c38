"""Reading an ontology from folders of YAML: every file, every fault, then the checks across files."""

from __future__ import annotations

from collections.abc import Sequence

from kgraph.claims import checking, numbers, statements, things
from kgraph.claims.draft import Draft
from kgraph.claims.folders import Folder, fingerprint
from kgraph.claims.ontology import Ontology
from kgraph.claims.relations import LINKS
from kgraph.yamlio import Fault, FaultList, Fields, InputError, decode, read_text


def compile_folders(folders: Sequence[Folder]) -> tuple[Ontology, list[Fault]]:
    """Read, check and compile. Returns the ontology and the remarks (faults that do not stop it).

    Raises:
        InputError: with every error of every file.
    """
    faults = FaultList(limit=500)
    draft = Draft(faults)
    for layer, folder in enumerate(folders):
        draft.begin(layer)
        for name, data in folder.files:
            shown = folder.path(name)
            try:
                top = read_text(decode(data, shown), shown)
            except InputError as error:
                faults.faults.extend(error.faults)
                continue
            _read_sections(Fields(top, faults, "this file"), draft)
    draft.finish()
    remarks = checking.check(draft)
    faults.raise_if_any()
    ontology = Ontology.build(draft, fingerprint(folders))
    return ontology, remarks


def _read_sections(top: Fields, draft: Draft) -> None:
    header = top.child("ontology", "the header")
    if header is not None:
        read = {key: header.text(key) or "" for key in ("id", "version", "licence", "title", "extends", "date")}
        if draft.layer == 0:
            draft.header |= read
        elif read["extends"] == "nothing":
            header.fault("extends", "extends-nothing", "only the first folder may replace the shipped ontology.", "Name this folder first, or leave `extends` out.")
        if read["extends"] not in ("", "nothing", "shipped"):
            header.fault("extends", "unknown-word", f"`extends` is `{read['extends']}`.", "Write `extends: nothing` to replace the shipped ontology, or leave it out to add to it.")
        header.done()
    things.read_sources(top, draft)
    for section in things.SECTIONS:
        if top.has(section):
            things.read_section(top, section, draft)
    for section in LINKS:
        if top.has(section):
            statements.read_links(top, section, draft)
    if top.has("herb"):
        statements.read_herb_section(top, draft)
    numbers.read_tables(top, draft)
    top.asked += [*things.SECTIONS, *LINKS, "herb"]
    top.done()
