"""A materia medica note: what the graph holds about one herb, statement by statement, beside the writer's own tastings.

A note is a plain value: sections of statements, each with the claims that say it. Nothing stands in it that the graph does
not hold. `note_text` writes it as Markdown or HTML.
"""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from kgraph.claims import Claim, Ontology
from kgraph.claims.words import INTENSITIES
from kgraph.reasoning import heed
from kgraph.reasoning.answer import NOTICE
from kgraph.reasoning.circumstances import circumstances_of
from kgraph.reasoning.doubles import hidden_poisons
from kgraph.reasoning.evidence import Cell, cells_of
from kgraph.reasoning.herbs import level_words
from kgraph.reasoning.network import TEST, Network
from kgraph.reasoning.panel import together
from kgraph.reasoning.shelf import Shelf
from kgraph.tasting import Record
from kgraph.writing.plain import SAFETY_WORDS, STATE_WORDS, STATUS_WORDS, listing
from kgraph.yamlio import InputError, Place

#: Sections in their order; the keys are also those of the writer's own places.
SECTIONS = ("memory", "names", "senses", "constituents", "actions", "uses", "cautions", "lookalikes", "tests", "contradictions")
HEADINGS = {
    "memory": "To be checked: from memory", "names": "Names and part", "senses": "What the senses meet", "constituents": "Constituents", "actions": "Actions", "uses": "Uses on record",
    "cautions": "Cautions", "lookalikes": "What it is mistaken for", "tests": "Tests", "contradictions": "Where sources disagree",
}
_BASIS = {"tradition": "by tradition", "laboratory": "in the laboratory", "clinic": "in the clinic", "regulator": "by a regulator"}
_SEVERITY = {"avoid": "AVOID", "care": "With care", "information": "To know"}
_LEVELS = {"major": "ruling", "minor": "in a small way", "trace": "in traces"}


class Said(NamedTuple):
    """A statement and the claims that say it (none for what follows from the note itself)."""

    text: str
    claims: tuple[str, ...] = ()
    grave: bool = False


class Section(NamedTuple):
    """A heading and its statements; `lead` stands before them."""

    key: str
    lead: str
    items: tuple[Said, ...]


class Note(NamedTuple):
    """A note on a herb.

    Attributes:
        herb, title, version: whose it is, and the ontology's version.
        stops: lines before everything.
        sections: in the order of SECTIONS, empty ones with a lead that says so.
        cannot: what tasting cannot show.
        statements: claim id to a fingerprint of what it says, for `since`.
    """

    herb: str
    title: str
    version: str
    stops: tuple[str, ...]
    sections: tuple[Section, ...]
    cannot: tuple[str, ...]
    statements: dict[str, str]
    notice: str = NOTICE


def note_on(ontology: Ontology, net: Network, herb: str, records: Sequence[Record] = (), *, shelf: Shelf | None = None) -> Note:
    """The note on a herb.

    Args:
        ontology, net: what is known, and the network built from it.
        herb: id.
        records: the writer's own tastings of it.
        shelf: the herbs, compiled before (only asked for with records).

    Raises:
        InputError: a record is labelled as another herb.
    """
    thing = ontology.herbs[herb]
    for record in records:
        if record.sample.herb not in ("", herb) or (record.sample.herbs and herb not in record.sample.herbs):
            raise InputError.single("other-herb", f"this record is of `{record.sample.herb or ', '.join(record.sample.herbs)}`, the note of `{herb}`.", "Give records of this herb, or without a label.", Place(record.file or "--record"))
    parts = {
        "names": _names(ontology, herb), "senses": _senses(ontology, net, herb, records, shelf), "constituents": _constituents(ontology, herb), "actions": _actions(ontology, herb),
        "uses": _uses(ontology, herb), "cautions": _cautions(ontology, herb), "lookalikes": _lookalikes(ontology, herb), "tests": _tests(ontology, herb), "contradictions": _contradictions(ontology, herb),
    }
    used = list(dict.fromkeys(id for _, items in parts.values() for item in items for id in item.claims))
    memory = [ontology.claim(id) for id in used if not ontology.claim(id).seen and not ontology.claim(id).common_practice]
    parts["memory"] = (
        f"{len(memory)} of {len(used)} statements below were not read in a source. Look them up before they are relied on:" if memory else "Every statement below was read in a source, or is common practice.",
        [Said(sentence(ontology, claim)) for claim in memory],
    )
    label, _ = heed.label_of(ontology, herb, sealed=False)
    stops = (f"STOP. {thing.label} is never to be tasted: {label.taste_note}. If any was swallowed, call a poison centre now; rinse, do not wait for signs.",) if thing.taste_safety == "do-not-taste" else ()
    hidden = hidden_poisons(ontology, net)
    silent, masked = [h.label for h in hidden if not h.by], [h.label for h in hidden if h.by]
    cannot = [f"Poisons with nothing to taste: {listing(silent)}."] if silent else []
    cannot += [f"Poisons that taste like harmless herbs: {listing(masked)}."] if masked else []
    return Note(
        herb, f"{thing.label[:1].upper()}{thing.label[1:]} ({thing.name}, {thing.part})", ontology.version, stops, tuple(Section(key, parts[key][0], tuple(parts[key][1])) for key in SECTIONS),
        (*cannot, "No taste rules them out, and no taste names a herb."), {id: fingerprint(ontology.claim(id)) for id in sorted(used)},
    )


def fingerprint(claim: Claim) -> str:
    """Eight hex digits of everything that a claim says and on whose word."""
    said = [claim.word, claim.basis, sorted(map(tuple, claim.attributions)), claim.from_memory, claim.common_practice, sorted((k, str(v)) for k, v in claim.facts.items())]
    return hashlib.sha256(repr(said).encode()).hexdigest()[:8]


def sentence(ontology: Ontology, claim: Claim) -> str:
    """A claim in few words, with its kind: for lists."""
    kinds = {"contains": ("holds", "class"), "described_as": ("tastes or smells", "quality"), "acts_as": ("belongs with", "action"), "used_for": ("used for", "use"), "warns_of": ("caution", "caution"),
             "confused_with": ("mistaken for", "herb"), "shown_by": ("test", "test"), "assays": ("assay", "")}
    verb, kind = kinds.get(claim.relation, (claim.relation, ""))
    target = ontology.label(kind, claim.object) if kind and claim.object else claim.object or claim.text("name")
    word = f" ({claim.word.replace('-', ' ')})" if claim.word else ""
    detail = claim.text("detail") or claim.text("how") or claim.text("note")
    # what classes say stands with the class
    subject = "" if claim.subject in ontology.herbs else f"{ontology.label('class', claim.subject) if claim.subject in ontology.classes else ontology.family_label(claim.subject)}: "
    return f"{subject}{verb}: {target}{word}{f'; {detail}' if detail else ''}"


Part = tuple[str, list[Said]]


def _names(ontology: Ontology, herb: str) -> Part:
    thing = ontology.herbs[herb]
    items = [Said(f"Botanical name: {thing.name}; family {thing.family}.")]
    if thing.synonyms:
        items.append(Said(f"Also as: {'; '.join(thing.synonyms)}."))
    items.append(Said(f"Common names: {', '.join(thing.common_names) or 'none on file'}."))
    items.append(Said(f"Part: {thing.part}{f' ({thing.drug_name})' if thing.drug_name else ''}."))
    note = thing.taste_limit if thing.taste_safety == "small-amount" else thing.taste_reason
    items.append(Said(f"How far it may be tasted: {SAFETY_WORDS[thing.taste_safety]}{f' ({note})' if note else ''}.", (), thing.taste_safety == "do-not-taste"))
    return "", items


def _facts(claim: Claim, *keys: str) -> str:
    found = [str(", ".join(v) if isinstance(v, tuple) else v) for key in keys if (v := claim.facts.get(key)) not in (None, "", ())]
    return f" ({'; '.join(found)})" if found else ""


def _senses(ontology: Ontology, net: Network, herb: str, records: Sequence[Record], shelf: Shelf | None) -> Part:
    groups: dict[tuple[str, str], list[Claim]] = {}
    for claim in ontology.said_of("described_as", herb):
        groups.setdefault((claim.object, claim.word), []).append(claim)
    order = list(ontology.qualities)
    items = []
    for (quality, word), claims in sorted(groups.items(), key=lambda g: (order.index(g[0][0]), g[0][1])):
        notes = "; ".join(dict.fromkeys(filter(None, ("; ".join(filter(None, (c.text("stimulus"), c.text("note")))) for c in claims))))
        items.append(Said(f"{ontology.label('quality', quality)}{f': {STATE_WORDS.get(word, word)}' if word else ''}{f' ({notes})' if notes else ''}.", tuple(c.id for c in claims)))
    thing = ontology.herbs[herb]
    lead = "As described:" if items else f"No description on file{f': {thing.no_description}' if thing.no_description else ''}."
    if records:
        items += _own(ontology, net, herb, records, shelf or Shelf(ontology, net))
    return lead, items


def _own(ontology: Ontology, net: Network, herb: str, records: Sequence[Record], shelf: Shelf) -> list[Said]:
    """The writer's own tastings beside the descriptions: what agrees, what differs, what is new."""
    found = []
    for record in _by_sample(records):
        cells = cells_of(ontology, net, record, circumstances_of(ontology, record))
        name = " ".join(filter(None, ("own tasting", record.sample.code and f"of sample {record.sample.code}", record.tasted_on and f"on {record.tasted_on}")))
        agree, differ, new = [], [], []
        for cell in cells:
            if cell.percept.startswith(TEST) or cell.state == "unnoticed":
                continue
            code = int(shelf.documented(cell.percept)[shelf.index[herb]])
            own = _reported(ontology, cell)
            if code < 0:
                if cell.speaks_for:
                    new.append(own)
            elif (INTENSITIES[code] == "absent") != cell.speaks_for:
                agree.append(f"{own}; described as {STATE_WORDS[INTENSITIES[code]]}")
            else:
                differ.append(f"{own}; described as {STATE_WORDS[INTENSITIES[code]]}")
        tasters = f"{len(record.tasters)} tasters" if len(record.tasters) > 1 else "one taster"
        found.append(Said(f"{name[:1].upper()}{name[1:]} ({tasters}):"))
        for lead, some in (("agrees", agree), ("differs", differ), ("noticed, and not described", new)):
            found += [Said(f"{lead}: {one}.") for one in some]
    return found


def _by_sample(records: Sequence[Record]) -> list[Record]:
    """Sheets of one coded sample by different tasters become one record, so that a finding stands once with how many noticed it."""
    groups: dict[object, list[Record]] = {}
    for number, record in enumerate(records):
        key = (record.sample.code, record.tasted_on) if record.sample.code else number
        groups.setdefault(key, []).append(record)
    found = []
    for group in groups.values():
        names = [taster for record in group for taster in record.tasters]
        apart = len(set(names)) < len(names) or len({record.sample.herb for record in group}) > 1
        found += group if len(group) == 1 or apart else [together(group)]
    return found


def _reported(ontology: Ontology, cell: Cell) -> str:
    of = f", {cell.reporting} of {cell.tasters}" if cell.tasters > 1 else ""
    return f"{ontology.label('quality', cell.percept)} {STATE_WORDS['disputed' if cell.reporting and not cell.speaks_for else cell.state]}{of}"


def _constituents(ontology: Ontology, herb: str) -> Part:
    items = []
    for level in ("major", "minor", "trace", ""):
        for claim in ontology.said_of("contains", herb):
            if (claim.word or "") == level:
                items.append(Said(f"{ontology.label('class', claim.object)}: {_LEVELS.get(level, 'level not stated')}{_facts(claim, 'markers', 'content', 'note')}.", (claim.id,)))
    for claim in ontology.said_of("assays", herb):
        bound = {"min": "at least ", "max": "at most "}.get(claim.text("bound"), "")
        value, unit = claim.facts.get("value"), claim.text("unit")
        items.append(Said(f"Assay, {claim.object}: {bound}{f'{value:g}' if isinstance(value, int | float) else value} {unit}{_facts(claim, 'edition')}.", (claim.id,)))
    return "" if items else "No constituents on file.", items


def _actions(ontology: Ontology, herb: str) -> Part:
    items = []
    levels = level_words(ontology, herb)
    said: dict[str, list[Claim]] = {}
    for claim in ontology.said_of("acts_as", herb):
        said.setdefault(claim.object, []).append(claim)
    for action, claims in said.items():
        bases = listing(dict.fromkeys(_BASIS.get(c.basis, "basis not stated") for c in claims))
        notes = "; ".join(dict.fromkeys(c.text("note") for c in claims if c.text("note")))
        items.append(Said(f"{ontology.label('action', action)}: {bases}{f' ({notes})' if notes else ''}.", tuple(c.id for c in claims)))
        for cls, level in levels.items():
            paths = [c for c in ontology.said_of("acts_as", cls) if c.object == action and c.word != "almost-never"]
            if paths and level in ("major", "minor"):
                holds = [c.id for c in ontology.said_of("contains", herb) if c.object == cls]
                items.append(Said(f"path: it holds {ontology.label('class', cls)} ({_LEVELS[level]}), which {paths[0].word.replace('-', ' ')} belong with {ontology.label('action', action)}.", (*holds, *(c.id for c in paths))))
    return "By practice; no promise that it works." if items else "No action on file.", items


def _uses(ontology: Ontology, herb: str) -> Part:
    items = []
    for claim in ontology.said_of("used_for", herb):
        when = ", ".join(filter(None, (claim.text("country"), claim.text("year"))))
        detail = claim.text("detail")
        items.append(Said(f"{ontology.label('use', claim.object)}: {STATUS_WORDS.get(claim.word, claim.word)}{f', {when}' if when else ''}{f'; {detail}' if detail else ''}.", (claim.id,)))
    return "What is on record, with its status; this is no advice to take anything." if items else "No use on file.", items


def _cautions(ontology: Ontology, herb: str) -> Part:
    _, heeds = heed.label_of(ontology, herb, sealed=False)
    items = []
    for h in heeds:
        limits = [f"{h.preparation} only" if h.preparation != "any" else "any preparation", f"under {h.under_age:g} years" if h.under_age else "", f"at most {h.max_days:g} days" if h.max_days else ""]
        items.append(Said(f"{_SEVERITY[h.severity]}: {h.label} ({', '.join(filter(None, limits))}){f': {h.detail}' if h.detail else ''}.", h.claims, h.severity == "avoid"))
    thing = ontology.herbs[herb]
    for cls, level in level_words(ontology, herb).items():
        for claim in ontology.said_of("warns_of", cls):
            if claim.word == "avoid" and level in ("major", "minor"):
                preparation = claim.text("preparation")
                items.append(Said(f"AVOID, for its {ontology.label('class', cls)}: {ontology.label('caution', claim.object)}{f' ({preparation})' if preparation not in ('', 'any') else ''}{f': {d}' if (d := claim.text('detail')) else ''}.", (claim.id,), True))
    return "" if items else f"No caution on file{f': {thing.no_cautions}' if thing.no_cautions else ''}. That is no proof of safety.", items


def _lookalikes(ontology: Ontology, herb: str) -> Part:
    items = []
    for c in heed.confusables(ontology, herb):
        deadly = c.taste_safety == "do-not-taste"
        items.append(Said(f"{c.kind.replace('-', ' ')}: {c.label}{' (NEVER TO BE TASTED)' if deadly else ''}: {c.how}.", c.claims, deadly))
    return "" if items else "Nothing on file. Look all the same.", items


def _tests(ontology: Ontology, herb: str) -> Part:
    items = []
    own = {c.object: c for c in ontology.said_of("shown_by", herb)}
    for claim in own.values():
        test = ontology.tests[claim.object]
        items.append(Said(f"{test.label} ({test.kind}): {claim.text('seen')}.{f' {test.steps}' if test.steps else ''}{f' {test.cautions}' if test.cautions else ''}", (claim.id,)))
    for cls, level in level_words(ontology, herb).items():
        for claim in [*ontology.said_of("shown_by", cls), *(ontology.said_of("shown_by", ontology.classes[cls].family) if ontology.classes[cls].family else [])]:
            if level == "major" and claim.object not in own:
                own[claim.object] = claim
                test = ontology.tests[claim.object]
                items.append(Said(f"{test.label} ({test.kind}), for {ontology.label('class', cls)}: {claim.text('seen')}.{f' {test.steps}' if test.steps else ''}{f' {test.cautions}' if test.cautions else ''}", (claim.id,)))
    return "" if items else "No test on file.", items


def _contradictions(ontology: Ontology, herb: str) -> Part:
    items = []
    for found in ontology.contradictions:
        if found[0].subject == herb:
            sides = " against ".join(dict.fromkeys(c.word.replace("-", " ") for c in found))
            bare = dataclasses.replace(found[0], word="", facts={})
            items.append(Said(f"{sentence(ontology, bare)}: {sides}.", tuple(c.id for c in found)))
    return "" if items else "None on file.", items


def changes(note: Note, before: dict[str, str]) -> tuple[list[str], list[str], list[str]]:
    """(new, gone, said otherwise): ids of statements since an earlier note."""
    now = note.statements
    return sorted(set(now) - set(before)), sorted(set(before) - set(now)), sorted(id for id in set(now) & set(before) if now[id] != before[id])


def all_claims(note: Note) -> Iterable[str]:
    """The claims behind a note, in the order in which they are cited."""
    return dict.fromkeys(id for section in note.sections for item in section.items for id in item.claims)
