"""Plain words as a record: "dry mouth, a little bitter, not sweet".

Understands the names of qualities, words of strength, negation and a few words of time; what it does not understand
it refuses with suggestions, rather than guess.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from kgraph.tasting.clauses import Clause, clauses_of, folded
from kgraph.tasting.danger import is_alarming, stop_fault
from kgraph.tasting.record import ANONYMOUS, Finding, Record, Taster
from kgraph.tasting.vocabulary import Vocabulary
from kgraph.yamlio import Fault, InputError, Place, did_you_mean, shorten

MAX_TEXT = 2_000
PLACE = Place("words")

_WEAK = ("a little bit", "a little", "a bit", "a touch of", "a hint of", "hint of", "touch of", "slightly", "slight", "weakly", "weak", "faintly", "faint", "mildly", "mild", "lightly", "somewhat", "hardly", "barely", "a trace of", "trace of")
_STRONG = ("very much", "extremely", "intensely", "intense", "strongly", "strong", "very", "really", "overwhelmingly", "powerfully", "powerful")
_MODERATE = ("moderately", "moderate", "quite", "fairly", "rather", "clearly", "plainly", "medium")
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
    alarming = False
    for clause in _clauses(_shield(text, shielded), lookup, vocabulary, shielded):
        if (word := states.get(clause.phrase)) and not clause.denied:
            state.append(word)
            continue
        alarming = alarming or (not clause.denied and is_alarming(clause.said))
        if clause.unclear:
            faults.append(Fault(PLACE, "unclear", f"`{shorten(clause.said)}` can be read in two ways: {clause.unclear}.", 'Say each by itself, such as "not sweet, not sour, slightly bitter".'))
            continue
        for one in _understand(clause, lookup, vocabulary, faults):
            key = (one.quality, one.when)
            if key in found and found[key].strength != one.strength:
                faults.append(Fault(PLACE, "said-twice", f"`{shorten(clause.said)}` and `{shorten(found[key].phrase)}` disagree.", "Say it once."))
            found.setdefault(key, one)
    if faults and (alarming or any(u.strength and u.quality in vocabulary.stops for u in found.values())):
        faults.insert(0, stop_fault(PLACE))
    if faults:
        raise InputError(dict.fromkeys(faults))
    if not found:
        raise InputError.single("no-findings", "no finding was named.", "Say what you noticed, such as \"dry mouth, a little bitter, not sweet\".", PLACE)
    findings = tuple(Finding(u.quality, u.strength, ANONYMOUS, u.when, "", PLACE) for u in found.values())
    tasters = {ANONYMOUS: Taster(ANONYMOUS, tuple(dict.fromkeys(state)))}
    return Record(findings, tasters=tasters, said=tuple((u.phrase, u.quality) for u in found.values()))


def _norm(text: str) -> str:
    return re.sub(r"[\s_]+", " ", text.strip().lower())


_SEPARATORS = re.compile(r"[,;.&+/]|\b(and|or|nor|but)\b")
_NEGATION_WORD = re.compile(r"\b(?:no|not|without|never|neither|nothing)\b")
_SMELLED = re.compile(r"\b(?:smells?|smelled|smelling|aroma|scent|odour)\b")
_CUP, _HEAT = frozenset({"tea", "cup", "infusion", "water"}), frozenset({"hot", "warm", "cold", "cool"})
_PLACEHOLDER = re.compile("\ue010(\\d+)\ue011")


def _shield(text: str, names: list[str]) -> str:
    """Names that hold a separator themselves ("warm and spicy") are put aside, so that they are not split."""
    safe = folded(text.replace("\ue010", " ").replace("\ue011", " "))
    for number, name in enumerate(names):
        safe = re.sub(rf"(?<![\w-]){re.escape(name)}(?![\w-])", f"\ue010{number}\ue011", safe)
    return safe


def _clauses(text: str, lookup: dict[str, str], vocabulary: Vocabulary, shielded: list[str]) -> list[Clause]:
    """The phrases of the text, names that were put aside put back."""

    def plain(phrase: str) -> str:
        return _PLACEHOLDER.sub(lambda match: shielded[int(match[1])], phrase)

    def is_name(phrase: str) -> bool:
        quality = _match(plain(phrase), lookup)
        return quality is not None and (quality in vocabulary.absences or not _NEGATION_WORD.search(phrase))

    def is_empty(phrase: str) -> bool:
        for word in sorted(_WHEN, key=len, reverse=True):
            phrase = _drop(phrase, word)
        return all(word in _FILLERS for word in phrase.split())

    def has_strength(phrase: str) -> bool:
        return any(f" {word} " in f" {plain(phrase)} " and _match(plain(phrase), lookup) is None for word, _ in _ALL_STRENGTHS)

    found = clauses_of(text, is_name, is_empty, has_strength)
    return [clause._replace(said=plain(clause.said), phrase=plain(clause.phrase)) for clause in found]


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


def _understand(clause: Clause, lookup: dict[str, str], vocabulary: Vocabulary, faults: list[Fault]) -> list[Understood]:
    phrase, strength, when = clause.phrase, 0 if clause.denied else 2, ""
    if _CUP & set(phrase.split()) and _HEAT & set(phrase.split()):
        faults.append(Fault(PLACE, "cup-or-feel", f"`{shorten(clause.said)}` may mean the heat of the cup.", "Say burning, warming or cooling for what the herb does."))
        return []
    quality = _match(phrase, lookup)
    if quality is None:
        for word, moment in sorted(_WHEN.items(), key=lambda pair: -len(pair[0])):
            if f" {word} " in f" {phrase} ":
                phrase, when = _drop(phrase, word), moment
                break
        quality = _match(phrase, lookup)
    degrees: list[int] = []
    for word, value in _ALL_STRENGTHS * 2:  # "very slightly" is weak, "very, very" strong
        if quality is None and f" {word} " in f" {phrase} ":
            phrase = _drop(phrase, word)
            degrees.append(value)
            quality = _match(phrase, lookup)
    if degrees:
        strength = 0 if clause.denied else 1 if 1 in degrees else max(degrees)
    if quality is None:
        remedy = did_you_mean(phrase, [name for name, id in lookup.items() if id not in vocabulary.stops]) or "Name a taste, smell or feel, such as bitter, drying, minty, slippery, burning."
        faults.append(Fault(PLACE, "not-understood", f"`{shorten(clause.said)}` was not understood.", remedy))
        return []
    if quality in vocabulary.tasted and _SMELLED.search(clause.said):
        faults.append(Fault(PLACE, "smell-or-taste", f"`{shorten(clause.said)}`: `{quality}` is a taste here.", "Name a smell, such as floral, fruity or minty, or leave out the word for smelling."))
        return []
    return _said(clause.said, quality, strength, when, vocabulary, faults)


def _said(phrase: str, quality: str, strength: int, when: str, vocabulary: Vocabulary, faults: list[Fault]) -> list[Understood]:
    if quality in vocabulary.absences and strength == 0:
        faults.append(Fault(PLACE, "absent-absence", f"`{shorten(phrase)}` denies an absence, which says nothing clear.", "Name what was noticed."))
        return []
    return [Understood(phrase, quality, strength, when)]
