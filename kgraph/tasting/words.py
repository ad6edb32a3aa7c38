"""Plain words as a record: "dry mouth, a little bitter, not sweet".

Understands the names of qualities, words of strength, negation and a few words of time; what it does not understand
it refuses with suggestions, rather than guess.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from kgraph.tasting.record import ANONYMOUS, Finding, Record, Taster
from kgraph.tasting.vocabulary import Vocabulary
from kgraph.yamlio import Fault, InputError, Place, did_you_mean, shorten

MAX_TEXT = 2_000
PLACE = Place("words")

_WEAK = ("a little bit", "a little", "a bit", "a touch of", "a hint of", "hint of", "touch of", "slightly", "slight", "weakly", "weak", "faintly", "faint", "mildly", "mild", "lightly", "somewhat", "hardly", "barely", "not very", "a trace of", "trace of")
_STRONG = ("very much", "extremely", "intensely", "intense", "strongly", "strong", "very", "really", "overwhelmingly", "powerfully", "powerful")
_MODERATE = ("moderately", "moderate", "quite", "fairly", "rather", "clearly", "plainly", "medium")
_NEGATIONS = ("not at all", "does not", "do not", "did not", "is not", "was not", "doesn't", "didn't", "isn't", "wasn't", "without any", "without", "neither", "never", "not any", "not", "no", "at all")
_WHEN = {"at first": "first", "first": "first", "to begin with": "first", "while holding": "holding", "on swallowing": "swallowed", "after swallowing": "swallowed", "after a minute": "one-minute", "later": "one-minute", "afterwards": "one-minute", "in the end": "one-minute", "after five minutes": "five-minutes"}
_FILLERS = frozenset(["it", "its", "the", "a", "an", "of", "is", "was", "are", "feels", "felt", "feel", "tastes", "tasted", "taste", "smells", "smelled", "smell", "makes", "made", "my", "mouth", "tongue", "i", "find", "found", "noticed", "notice", "with", "in", "on", "to", "and", "then", "but", "also", "there", "some", "that", "this", "has", "had", "have", "leaves", "like", "so", "all", "any", "sip", "cup", "tea", "infusion", "feeling", "sensation", "flavour", "flavor", "note", "notes"])
_ALL_STRENGTHS = sorted(
    [(w, 1) for w in _WEAK] + [(w, 3) for w in _STRONG] + [(w, 2) for w in _MODERATE], key=lambda pair: -len(pair[0])
)


@dataclass(frozen=True, slots=True)
class Understood:
    """One phrase and what it was taken to mean."""

    phrase: str
    quality: str
    strength: int
    when: str = ""


def parse_words(text: str, vocabulary: Vocabulary) -> Record:
    """A record of one taster from plain words. Raises :class:`InputError` naming each phrase not understood."""
    if len(text) > MAX_TEXT:
        raise InputError.single("too-long", f"{len(text):,} characters of plain words; at most {MAX_TEXT:,}.", "Write a record file instead.", PLACE)
    lookup = {_norm(name): id for id, names in vocabulary.qualities.items() for name in (*names, id.replace("-", " "), id)}
    states = {_norm(name): id for id, label in vocabulary.states.items() for name in (label, id.replace("-", " ")) if _norm(name) not in lookup}
    faults: list[Fault] = []
    found: dict[tuple[str, str], Understood] = {}
    state: list[str] = []
    shielded = sorted((name for name in lookup if _SEPARATORS.search(name)), key=len, reverse=True)
    for clause, negated in _clauses(_shield(text, shielded)):
        phrase = _PLACEHOLDER.sub(lambda match: shielded[int(match[1])], clause)
        if (word := states.get(_norm(phrase))) and not negated:
            state.append(word)
            continue
        for one in _understand(phrase, negated, lookup, vocabulary, faults):
            key = (one.quality, one.when)
            if key in found and found[key].strength != one.strength:
                faults.append(Fault(PLACE, "said-twice", f"`{shorten(phrase)}` and `{shorten(found[key].phrase)}` disagree.", "Say it once."))
            found.setdefault(key, one)
    if faults:
        raise InputError(dict.fromkeys(faults))
    if not found:
        raise InputError.single("no-findings", "no finding was named.", "Say what you noticed, such as \"dry mouth, a little bitter, not sweet\".", PLACE)
    findings = tuple(Finding(u.quality, u.strength, ANONYMOUS, u.when, "", PLACE) for u in found.values())
    tasters = {ANONYMOUS: Taster(ANONYMOUS, tuple(dict.fromkeys(state)))}
    return Record(findings, tasters=tasters, said=tuple((u.phrase, u.quality) for u in found.values()))


def _norm(text: str) -> str:
    return re.sub(r"[\s_]+", " ", text.strip().lower())


_SEPARATORS = re.compile(r"[,;.&+]|\b(and|or|nor|but)\b")
_PLACEHOLDER = re.compile("\ue010(\\d+)\ue011")


def _shield(text: str, names: list[str]) -> str:
    """Names that hold a separator themselves ("warm and spicy") are put aside, so that they are not split."""
    folded = _norm(text.replace("\ue010", " ").replace("\ue011", " "))
    for number, name in enumerate(names):
        folded = re.sub(rf"(?<![\w-]){re.escape(name)}(?![\w-])", f"\ue010{number}\ue011", folded)
    return folded


def _clauses(text: str) -> list[tuple[str, bool]]:
    """Phrases between commas, semicolons, full stops and "and" or "but"; "or" and "nor" carry a negation on."""
    result: list[tuple[str, bool]] = []
    for part in re.split(r"[,;.\n]+|\bbut\b", text):
        negated = False
        for piece in re.split(r"\b(?:n?or)\b", part):
            for clause in re.split(r"\band\b(?! then\b)|&|\+", piece):
                phrase = _norm(clause)
                if phrase:
                    negated = negated or _leading_negation(phrase) is not None
                    result.append((phrase, negated))
    return result


def _leading_negation(phrase: str) -> str | None:
    for word in _NEGATIONS:
        if phrase == word or phrase.startswith(word + " ") or f" {word} " in f" {phrase} ":
            return word
    return None


def _drop(phrase: str, word: str) -> str:
    return _norm(re.sub(rf"(?<![\w-]){re.escape(word)}(?![\w-])", " ", phrase, count=1))


def _match(phrase: str, lookup: dict[str, str]) -> str | None:
    """The quality that a phrase names, with filler words dropped from its ends."""
    words = phrase.split()
    for start in range(len(words) + 1):
        if start and words[start - 1] not in _FILLERS:
            break
        for end in range(len(words), start, -1):
            if end < len(words) and words[end] not in _FILLERS:
                break
            candidate = " ".join(words[start:end])
            if candidate in lookup:
                return lookup[candidate]
    return None


def _understand(phrase: str, negated: bool, lookup: dict[str, str], vocabulary: Vocabulary, faults: list[Fault]) -> list[Understood]:
    if (whole := _match(phrase, lookup)) is not None and (not negated or whole in vocabulary.absences or _leading_negation(phrase) is None):
        return _said(phrase, whole, 0 if negated and whole not in vocabulary.absences else 2, "", vocabulary, faults)
    rest, strength, when = phrase, 2, ""
    for word, moment in sorted(_WHEN.items(), key=lambda pair: -len(pair[0])):
        if f" {word} " in f" {rest} " and _match(_drop(rest, word), lookup) is not None:
            rest, when = _drop(rest, word), moment
            break
    weak_by_negation = rest.startswith(("not very ", "hardly ", "barely "))
    if negated and not weak_by_negation:
        while (word := _leading_negation(rest)) is not None:  # type: ignore[assignment]
            rest = _drop(rest, word)
        strength = 0
    for word, value in _ALL_STRENGTHS:
        if f" {word} " in f" {rest} ":
            stripped = _drop(rest, word)
            if _match(stripped, lookup) is not None or _match(rest, lookup) is None:
                rest = stripped
                strength = 0 if strength == 0 and not weak_by_negation else value
                break
    quality = _match(rest, lookup)
    if quality is None:
        remedy = did_you_mean(rest, lookup) or "Name a taste, smell or feel, such as bitter, drying, minty, slippery, burning."
        faults.append(Fault(PLACE, "not-understood", f"`{shorten(phrase)}` was not understood.", remedy))
        return []
    return _said(phrase, quality, strength, when, vocabulary, faults)


def _said(phrase: str, quality: str, strength: int, when: str, vocabulary: Vocabulary, faults: list[Fault]) -> list[Understood]:
    if quality in vocabulary.absences and strength == 0:
        faults.append(Fault(PLACE, "absent-absence", f"`{shorten(phrase)}` denies an absence, which says nothing clear.", "Name what was noticed."))
        return []
    return [Understood(phrase, quality, strength, when)]
