"""Plain words split into phrases, each with what its negation says; what can be read two ways is refused.

A wrong guess here would turn "no numbing or tingling" into two signs of poisoning, or hide one.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

_SENTENCES = re.compile(r"[;.\n]|\b(?:but|yet)\b")
_JOINTS = re.compile(r"(,|/|&|\+|\band(?: then)?\b|\bthen\b|\bor\b|\bnor\b)")
_SHORT_NOT = re.compile(r"\b(is|was|are|were|do|does|did|has|had)n't\b")
#: "not very bitter" is weak, not absent.
_NOT_MUCH = re.compile(r"\bnot (?:all )?(?:very|so|that|too|strongly|particularly|especially|overly|intensely|terribly)\b(?! much\b)|\bscarcely\b")
_NOT = re.compile(r"\b(?:(?:is|was|are|were|do|does|did|has|had) not|not any|without any|without|neither|never|nothing|not|no)\b")
_AT_ALL = re.compile(r"\b(?:at all|whatsoever|in the least)\b")
_AFTER = frozenset({"there", "present", "noticed", "noticeable", "found", "detectable"})


class Clause(NamedTuple):
    """One phrase.

    Attributes:
        said: the phrase as it was written.
        phrase: the phrase without its negation.
        denied: does a negation hold for it?
        unclear: why it could be read two ways; empty when it cannot.
    """

    said: str
    phrase: str
    denied: bool
    unclear: str = ""


def folded(text: str) -> str:
    """Lower case, single spaces, straight apostrophes, no exclamation marks, short forms of "not" written out."""
    text = re.sub(r"[\s_!?]+", " ", text.replace("\u2019", "'").lower())
    return _SHORT_NOT.sub(r"\1 not", text).strip()


def clauses_of(text: str, is_name: Callable[[str], bool], is_empty: Callable[[str], bool], has_strength: Callable[[str], bool]) -> list[Clause]:
    """The phrases of folded text.

    Args:
        is_name: is the phrase, negation words and all, the name of something ("no smell")?
        is_empty: are there only filler words in it?
        has_strength: does it hold a word of strength?
    """
    return [clause for sentence in _SENTENCES.split(text) for clause in _sentence(sentence, is_name, is_empty, has_strength)]


def _sentence(sentence: str, is_name: Callable[[str], bool], is_empty: Callable[[str], bool], has_strength: Callable[[str], bool]) -> list[Clause]:
    pieces: list[tuple[str, str]] = []
    joint = ""
    for part in _JOINTS.split(sentence):
        word = part.strip()
        if _JOINTS.fullmatch(word):
            joint = word if word in (",", "or", "nor") else "and"
        elif word:
            pieces.append((joint, word))
            joint = ""
    read = [_negation(piece, is_name, is_empty, has_strength) for _, piece in pieces]
    result: list[Clause] = []
    denied = False
    for i, ((joint, _), own) in enumerate(zip(pieces, read, strict=True)):
        clause = own
        if own.denied or own.unclear:
            denied = own.denied
        elif joint == "nor" or (joint == "or" and denied) or (joint == "," and denied and _closes(pieces, read, i)):
            denied = True
            unclear = "a word of strength under a negation" if has_strength(own.phrase) else ""
            clause = own._replace(denied=True, unclear=unclear)
        elif joint == "or":
            clause = own._replace(unclear="one thing or another")
        elif joint == "and" and denied:
            clause = own._replace(unclear="the `not` before may hold for this too")
        else:
            denied = False
        result.append(clause)
    return result


def _closes(pieces: list[tuple[str, str]], read: list[Clause], start: int) -> bool:
    """Does the list that goes on at `start` end in "or" or "nor", with no negation of its own on the way?"""
    for (joint, _), clause in zip(pieces[start + 1 :], read[start + 1 :], strict=True):
        if joint in ("or", "nor"):
            return True
        if joint != "," or clause.denied:
            return False
    return False


def _negation(piece: str, is_name: Callable[[str], bool], is_empty: Callable[[str], bool], has_strength: Callable[[str], bool]) -> Clause:
    bare = " ".join(_AT_ALL.sub(" ", piece).split())
    if is_name(bare):
        return Clause(piece, bare, False)
    softened = _NOT_MUCH.sub("slightly", bare)
    found = list(_NOT.finditer(softened))
    if not found:
        return Clause(piece, softened, False)
    if len(found) > 1 or softened != bare:
        return Clause(piece, softened, True, "two negations")
    before, after = softened[: found[0].start()].strip(), softened[found[0].end() :].strip()
    rest = f"{before} {after}".strip()
    if has_strength(rest):
        return Clause(piece, rest, True, "a word of strength under a negation")
    if not is_empty(before) and not (is_empty(after) or set(after.split()) <= _AFTER):
        return Clause(piece, rest, True, "it is not plain what the `not` holds for")
    return Clause(piece, before if set(after.split()) <= _AFTER and before else rest, True)
