"""The relations: which kinds of thing each one joins, and which fields its rows carry (DESIGN 2)."""

from __future__ import annotations

from dataclasses import dataclass

from kgraph.claims import words


@dataclass(frozen=True, slots=True)
class Relation:
    """How rows of one relation are written.

    Attributes:
        subject: (key in the row, kinds of thing allowed). Inside a herb file the subject is the herb.
        object: (key in the row, kinds of thing allowed).
        word: (key, allowed words) of the grading word; key "" when there is none.
        texts, lists, numbers, choices: further fields by type.
        required: fields that must stand.
        graded: two rows with the same ends and different words contradict each other.
    """

    name: str
    subject: tuple[str, tuple[str, ...]]
    object: tuple[str, tuple[str, ...]]
    word: tuple[str, tuple[str, ...]] = ("", ())
    texts: tuple[str, ...] = ("note",)
    lists: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    choices: tuple[tuple[str, tuple[str, ...]], ...] = ()
    required: tuple[str, ...] = ()
    graded: bool = False
    basis: bool = False


_CAUTION_FIELDS = {
    "texts": ("detail", "note"),
    "numbers": ("under_age", "max_days"),
    "choices": (("preparation", words.PREPARATIONS),),
    "required": ("detail", "preparation"),
}

#: Relations in `links/` files, by section name.
LINKS = {
    r.name: r
    for r in (
        Relation("evokes", ("class", ("class", "family")), ("quality", ("quality",)), ("strength", words.STRENGTHS),
                 texts=("mechanism", "threshold", "note"), graded=True),
        Relation("acts_as", ("class", ("class",)), ("action", ("action",)), ("strength", words.STRENGTHS), graded=True, basis=True),
        Relation("warns_of", ("class", ("class",)), ("caution", ("caution",)), ("severity", words.SEVERITIES), **_CAUTION_FIELDS),  # type: ignore[arg-type]
        Relation("used_for", ("action", ("action",)), ("use", ("use",)), ("status", words.USE_STATUSES), texts=("detail", "note")),
        Relation("read_as", ("quality", ("quality",)), ("system", ()), texts=("reading", "note"), required=("reading",)),
        Relation("shown_by", ("class", ("class", "family")), ("test", ("test",)), ("hit", words.STRENGTHS),
                 texts=("seen", "also_from", "note"), choices=(("false_positive", words.STRENGTHS),), required=("seen", "false_positive")),
        Relation("fakes", ("condition", ("condition",)), ("quality", ("quality",)), ("strength", words.STRENGTHS), texts=("threshold", "detail", "note")),
        Relation("dulls", ("condition", ("condition",)), ("quality", ("quality",)), ("effect", words.EFFECTS), texts=("threshold", "detail", "note")),
        Relation("draws", ("condition", ("condition",)), ("class", ("class", "family")), ("effect", words.EFFECTS), texts=("threshold", "detail", "note")),
    )
}

#: Relations inside a herb file, by section name.
OF_HERB = {
    r.name: r
    for r in (
        Relation("described_as", ("", ()), ("quality", ("quality",)), ("intensity", words.INTENSITIES), choices=(("stimulus", words.STIMULI),), graded=True),
        Relation("contains", ("", ()), ("class", ("class",)), ("level", words.LEVELS), texts=("content", "note"), lists=("markers",), graded=True),
        Relation("acts_as", ("", ()), ("action", ("action",)), basis=True),
        Relation("used_for", ("", ()), ("use", ("use",)), ("status", words.USE_STATUSES), texts=("detail", "country", "year", "note")),
        Relation("warns_of", ("", ()), ("caution", ("caution",)), ("severity", words.SEVERITIES), **_CAUTION_FIELDS),  # type: ignore[arg-type]
        Relation("confused_with", ("", ()), ("herb", ("herb",)), ("kind", words.CONFUSIONS), texts=("how", "note"), required=("how",)),
        Relation("shown_by", ("", ()), ("test", ("test",)), texts=("seen", "note"), required=("seen",)),
        Relation("assays", ("", ()), ("what", ()), texts=("unit", "edition", "note"), lists=("implies_classes", "implies_qualities"),
                 numbers=("value",), choices=(("bound", ("min", "max")),), required=("value", "unit")),
    )
}
