"""Reading the tables: every number states how it is known."""

from __future__ import annotations

from kgraph.claims import words
from kgraph.claims.draft import Draft
from kgraph.claims.statements import read_attributions
from kgraph.yamlio import Fields

_TINY = 1e-9


def _note_basis(row: Fields, draft: Draft, table: str, key: str) -> bool:
    """Remember how a number is known; False (and a fault) when it stands already."""
    attributions, memory, practice = read_attributions(row)
    for attribution in attributions:
        draft.places.setdefault(("table-source", attribution.source), row.place)
    note = row.text("note") or ""
    if (table, key) in draft.tables.places:
        row.faults.add(row.place, "stated-twice", f"`{key}` stands already at {draft.tables.places[(table, key)]}.", "Keep one.")
        return False
    draft.tables.places[(table, key)] = row.place
    how = "; ".join(f"{a.source} ({a.where})" if a.where else a.source for a in attributions)
    if practice or memory:
        how = "; ".join(part for part in (how, "common practice" if practice else "from memory") if part)
    draft.tables.basis[(table, key)] = f"{how}. {note}" if note else how
    return True


def _word_table(top: Fields, section: str, key: str, known: tuple[str, ...], value: str, high: float, draft: Draft, into: dict[str, float]) -> None:
    for row in top.rows(section, f"this row of `{section}`"):
        word = row.word(key, known, required=True)
        number = row.number(value, 0, high, required=True)
        if section == "strength_words":
            _middle_half(row, word, number, draft)
        new = _note_basis(row, draft, section, word or "")
        row.done()
        if word and number is not None and new:
            into[word] = number


def _middle_half(row: Fields, word: str | None, number: float | None, draft: Draft) -> None:
    """The quartiles of what people mean by a word, where the table gives them."""
    low, high = row.number("low", 0, 1), row.number("high", 0, 1)
    if low is None and high is None:
        return
    if low is None or high is None or number is None or not low <= number <= high:
        row.faults.add(row.place, "order", "`low` and `high` are the quartiles and stand on either side of `value`.", "Give both, or neither.")
    elif word:
        draft.tables.middle_halves.setdefault(word, (low, high))


def _levels(top: Fields, draft: Draft) -> None:
    for row in top.rows("levels", "this row of `levels`"):
        level = row.word("level", words.LEVELS, required=True)
        factor = row.number("factor", 0, 1, required=True)
        plain = row.number("plain", 0, 1)
        new = _note_basis(row, draft, "levels", level or "")
        row.done()
        if level and factor is not None and new:
            draft.tables.levels[level] = factor
            if plain is not None and plain > factor:
                row.faults.add(row.place, "order", f"`plain` ({plain:g}) is more than `factor` ({factor:g}): what is plain is there.", "Check the numbers.")
            if plain is not None:
                draft.tables.plain_levels[level] = plain


def _reports(top: Fields, draft: Draft) -> None:
    for row in top.rows("report_tables", "this report"):
        channel = row.word("channel", words.CHANNELS, required=True)
        state = row.word("state", words.REPORT_STATES, required=True)
        there = row.number("if_there", _TINY, 1, required=True)
        not_there = row.number("if_not_there", _TINY, 1, required=True)
        asks = row.word("asks", words.ASKS)
        new = _note_basis(row, draft, "report_tables", f"{channel}/{state}")
        row.done()
        if channel and state and there is not None and not_there is not None and new:
            draft.tables.reports[(channel, state)] = (there, not_there)
            if asks == "plain" and state in ("absent", "unnoticed"):
                row.faults.add(row.place, "unfit-state", f"`{state}` cannot say that a quality is plain.", "Leave `asks` out here.")
            if asks == "plain":
                draft.tables.asks[(channel, state)] = asks


def _documented(top: Fields, draft: Draft) -> None:
    for row in top.rows("if_documented", "this row of `if_documented`"):
        documented = row.word("documented", words.INTENSITIES, required=True)
        state = row.word("state", words.REPORT_STATES, required=True)
        value = row.number("value", _TINY, 1, required=True)
        new = _note_basis(row, draft, "if_documented", f"{documented}/{state}")
        row.done()
        if documented and state and value is not None and new:
            draft.tables.documented[(documented, state)] = value


def _constants(top: Fields, draft: Draft) -> None:
    for row in top.rows("constants", "this constant"):
        id = row.text("id", required=True)
        value = row.number("value", 0, 1e6, required=True)
        new = _note_basis(row, draft, "constants", id or "")
        row.done()
        if id and value is not None and new:
            draft.tables.constants[id] = value
    for row in top.rows("other_causes", "this row of `other_causes`"):
        quality = row.text("quality", required=True)
        value = row.number("value", 0, 0.999, required=True)
        new = _note_basis(row, draft, "other_causes", quality or "")
        row.done()
        if quality and value is not None and new:
            draft.tables.other_causes[quality] = value


def _false_reports(top: Fields, draft: Draft) -> None:
    for row in top.rows("false_reports", "this row of `false_reports`"):
        quality = row.text("quality", required=True)
        factor = row.number("factor", 0.01, 5, required=True)
        new = _note_basis(row, draft, "false_reports", quality or "")
        row.done()
        if quality and factor is not None and new:
            draft.tables.false_reports[quality] = factor


def _book_silences(top: Fields, draft: Draft) -> None:
    for row in top.rows("book_silences", "this row of `book_silences`"):
        quality = row.text("quality", required=True)
        value = row.number("value", _TINY, 1, required=True)
        new = _note_basis(row, draft, "book_silences", quality or "")
        row.done()
        if quality and value is not None and new:
            draft.tables.book_silences[quality] = value


def _standard_list(top: Fields, draft: Draft) -> None:
    row = top.child("standard_list", "the standard list")
    if row is None:
        return
    version = row.integer("version", 1, 10_000, required=True)
    qualities = row.texts("qualities", required=True)
    new = _note_basis(row, draft, "standard_list", "standard_list")
    row.done()
    if version and new:
        draft.tables.standard_version = version
        draft.tables.standard_list = qualities


def _evidence_words(top: Fields, draft: Draft) -> None:
    found: list[tuple[float, str]] = []
    for row in top.rows("evidence_words", "this word"):
        word = row.text("word", required=True)
        at_least = row.number("at_least_db", 0, 1000, required=True)
        new = _note_basis(row, draft, "evidence_words", word or "")
        row.done()
        if word and at_least is not None and new:
            found.append((at_least, word))
    if found:
        draft.tables.evidence_words = tuple(sorted(found))


def _fitted(top: Fields, draft: Draft) -> None:
    row = top.child("fitted", "the fitted table")
    if row is None:
        return
    tables = draft.tables
    if not _first_of_its_kind(row, draft, "fitted"):
        return
    version = row.integer("version", 1, 10_000, required=True)
    herbs = row.integer("herbs", 0, 10_000_000, required=True)
    row.number("word_weight", 0, 1e6)
    row.number("other_weight", 0, 1e6)
    for entry in row.rows("strengths", "this strength"):
        cls, quality = entry.text("class", required=True), entry.text("quality", required=True)
        word = entry.word("word", words.STRENGTHS, required=True)
        value, low, high = (entry.number(key, 0, 1, required=True) for key in ("value", "low", "high"))
        count = entry.integer("herbs", 0, herbs if herbs is not None else 0, required=True)
        entry.done()
        if cls and quality and word and value is not None and low is not None and high is not None and count is not None:
            if (cls, quality) in tables.fitted:
                row.faults.add(entry.place, "stated-twice", f"`{cls}` and `{quality}` stand twice in the fitted table.", "Make it again with `kgraph fit`.")
            if not low <= value <= high:
                row.faults.add(entry.place, "order", f"{value:g} does not lie between {low:g} and {high:g}.", "Make the table again with `kgraph fit`.")
            tables.fitted[(cls, quality)] = (word, value, low, high, count)
    for entry in row.rows("other_causes", "this other cause"):
        quality = entry.text("quality", required=True)
        value = entry.number("value", 0, 0.999, required=True)
        entry.integer("herbs", 0, herbs if herbs is not None else 0)
        entry.done()
        if quality and value is not None:
            tables.fitted_others[quality] = value
    row.done()
    tables.fitted_version, tables.fitted_herbs = version or 0, herbs or 0


def _first_of_its_kind(row: Fields, draft: Draft, section: str) -> bool:
    """A table made by a command stands once: an added folder must not move what the shipped herbs taught."""
    before = draft.tables.places.get(("made", section))
    if before is not None:
        row.faults.add(row.place, "stated-twice", f"`{section}` stands already at {before}.", "Keep one; a folder that stands alone says `extends: nothing`.")
        return False
    draft.tables.places[("made", section)] = row.place
    return True


def _priors(top: Fields, draft: Draft) -> None:
    row = top.child("priors", "the table of priors")
    if row is None or not _first_of_its_kind(row, draft, "priors"):
        return
    version = row.integer("version", 1, 10_000, required=True)
    herbs = row.integer("herbs", 0, 10_000_000, required=True)
    counts: dict[str, int] = {}
    majors: dict[str, int] = {}
    for entry in row.rows("counts", "this count"):
        id = entry.text("class", required=True)
        count = entry.integer("herbs", 0, herbs if herbs is not None else 0, required=True)
        major = entry.integer("major", 0, count if count is not None else 0)
        entry.done()
        if id and count is not None:
            if id in counts:
                row.faults.add(entry.place, "stated-twice", f"the class `{id}` is counted twice.", "Keep one row.")
            counts[id] = count
            if major is not None:
                majors[id] = major
    row.done()
    if version and herbs is not None:
        draft.tables.prior_version, draft.tables.prior_herbs, draft.tables.prior_counts = version, herbs, counts
        draft.tables.prior_majors = majors
        if majors and len(majors) < len(counts):
            missing = next(id for id in counts if id not in majors)
            row.faults.add(row.place, "missing-key", f"`major` stands at some classes and not at others (`{missing}`).", "Give it everywhere or nowhere.")


SECTIONS = (
    "strength_words", "effect_words", "levels", "report_tables", "if_documented", "constants", "other_causes", "false_reports", "book_silences",
    "standard_list", "evidence_words", "priors", "fitted",
)


def read_tables(top: Fields, draft: Draft) -> None:
    """Read every table section of one file into the draft."""
    tables = draft.tables
    _word_table(top, "strength_words", "word", words.STRENGTHS, "value", 0.9999, draft, tables.strengths)
    _word_table(top, "effect_words", "word", words.EFFECTS, "factor", 10, draft, tables.effects)
    _levels(top, draft)
    _reports(top, draft)
    _documented(top, draft)
    _constants(top, draft)
    _false_reports(top, draft)
    _book_silences(top, draft)
    _standard_list(top, draft)
    _evidence_words(top, draft)
    _priors(top, draft)
    _fitted(top, draft)
