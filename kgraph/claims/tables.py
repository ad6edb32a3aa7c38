"""The few numbers of an ontology: what the words mean, what a report is worth, how common classes are."""

from __future__ import annotations

from dataclasses import dataclass, field

from kgraph.claims.words import STRENGTHS
from kgraph.yamlio import Place


@dataclass(slots=True)
class Tables:
    """Numbers with a meaning, each with the place it was read from.

    Attributes:
        strengths: word to probability.
        middle_halves: strength word to the quartiles of what people mean by it.
        effects: effect word to factor on an arc.
        levels: level word to factor on an arc.
        plain_levels: the same where the report says that the quality is plain, not only there; `levels` where none stands.
        asks: (channel, state) to "plain" for the reports that say so; "there" is not held.
        reports: (channel, state) to (P(state | percept there), P(state | not there)).
        documented: (documented intensity, state) to P(report state | documented intensity), taster channel.
        constants: scalar working values by id.
        other_causes: quality to P(noticed without any known cause); ``constants["other-causes"]`` is the default.
        false_reports: quality to the factor on reporting it where it is not there (1 where none stands): a rare smell is seldom named falsely.
        book_silences: quality to P(a description does not mention it | it is plain), for the few that descriptions of taste hardly leave out.
        standard_list: version and quality ids of the standard sheet.
        evidence_words: (at least this many decibans, word), rising.
        prior_counts: class to number of herbs that hold it at major or minor level; ``prior_herbs`` is the total.
        prior_majors: class to number of herbs that hold it at major level; empty where the table does not part the levels.
        fitted: (class, quality) to (word, value, low, high, herbs): what the documented herbs make of a strength word; ``fitted_herbs`` is their number.
        fitted_others: quality to the probability, as the documented herbs have it, that it is there with no known cause.
        basis: (table, key) to how the number is known: source texts or "common practice".
    """

    strengths: dict[str, float] = field(default_factory=dict)
    middle_halves: dict[str, tuple[float, float]] = field(default_factory=dict)
    effects: dict[str, float] = field(default_factory=dict)
    levels: dict[str, float] = field(default_factory=dict)
    plain_levels: dict[str, float] = field(default_factory=dict)
    asks: dict[tuple[str, str], str] = field(default_factory=dict)
    reports: dict[tuple[str, str], tuple[float, float]] = field(default_factory=dict)
    documented: dict[tuple[str, str], float] = field(default_factory=dict)
    constants: dict[str, float] = field(default_factory=dict)
    other_causes: dict[str, float] = field(default_factory=dict)
    false_reports: dict[str, float] = field(default_factory=dict)
    book_silences: dict[str, float] = field(default_factory=dict)
    standard_version: int = 0
    standard_list: tuple[str, ...] = ()
    evidence_words: tuple[tuple[float, str], ...] = ()
    prior_version: int = 0
    prior_herbs: int = 0
    prior_counts: dict[str, int] = field(default_factory=dict)
    prior_majors: dict[str, int] = field(default_factory=dict)
    fitted_version: int = 0
    fitted_herbs: int = 0
    fitted: dict[tuple[str, str], tuple[str, float, float, float, int]] = field(default_factory=dict)
    fitted_others: dict[str, float] = field(default_factory=dict)
    basis: dict[tuple[str, str], str] = field(default_factory=dict)
    places: dict[tuple[str, str], Place] = field(default_factory=dict)

    def strength(self, word: str) -> float:
        """The probability behind a strength word; ``almost-never`` means "adds nothing"."""
        return 0.0 if word == STRENGTHS[-1] else self.strengths[word]

    def rate(self, word: str) -> float:
        """The number behind a word that grades a hit or a false positive; here ``almost-never`` is a small rate, not none."""
        return self.strengths[word]

    def level(self, word: str, *, plain: bool = False) -> float:
        """The factor of a level on an arc into a quality that is there, or into one that is plain."""
        return self.plain_levels.get(word, self.levels[word]) if plain else self.levels[word]

    def asks_plain(self, channel: str, state: str, percept: str) -> bool:
        """Does a report of this state say that the quality is plain, or a book's silence that it is not?"""
        return self._telling_silence(channel, state, percept) or self.asks.get((channel, state)) == "plain"

    def _telling_silence(self, channel: str, state: str, percept: str) -> bool:
        return channel == "book" and state == "unnoticed" and percept in self.book_silences

    def other_cause(self, quality: str) -> float:
        """P(the quality is noticed with no known cause there)."""
        return self.other_causes.get(quality, self.constants["other-causes"])

    def report(self, channel: str, state: str, percept: str) -> tuple[float, float]:
        """(P(state | percept there), P(state | not there)) for one percept, its own rate of false reports allowed for; *plain* for *there* where the state asks so."""
        there, not_there = self.reports[(channel, state)]
        if self._telling_silence(channel, state, percept):
            there = self.book_silences[percept]
        factor = self.false_reports.get(percept, 1.0)
        if factor == 1.0:
            return there, not_there
        if state in ("absent", "unnoticed"):  # what is reported less often is left absent, or unmentioned, more often
            return there, 1 - (1 - not_there) * factor
        return there, not_there * factor

    def evidence_word(self, decibans: float) -> str:
        """The word for a weight of evidence, by its absolute value; "" below the lowest step."""
        found = ""
        for at_least, word in self.evidence_words:
            if abs(decibans) >= at_least:
                found = word
        return found
