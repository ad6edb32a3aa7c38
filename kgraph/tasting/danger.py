"""Words that may tell of poisoning or allergy. They are answered first, even where nothing else can be read."""

from __future__ import annotations

import re

from kgraph.yamlio import Fault, Place

# common practice: what poison centres ask to be told of at once
_SIGNS = re.compile(
    r"dizz|giddy|faint(?:ing|ed|ness)|passing out|collaps|swell|swollen|breath|chest|heart|palpitat|pulse|vomit|throw(?:ing)? up|threw up|"
    r"seizure|convuls|fits\b|blurr|vision|see double|pupils|throat (?:is )?clos|numb|blister|confus|feel (?:sick|ill|unwell)|unwell|hives|cramps?\b|poison"
)
_TEXT = "STOP. This may be poisoning or allergy, or a herb never to be tasted: taste no more, rinse the mouth, and call a poison centre or an emergency number now."


def is_alarming(text: str) -> bool:
    """Does the text speak of a sign to stop?

    >>> is_alarming("my heart is pounding"), is_alarming("faintly bitter")
    (True, False)
    """
    return _SIGNS.search(text.lower()) is not None


def stop_fault(place: Place) -> Fault:
    """The warning that stands before every other fault of the same input."""
    return Fault(place, "stop-sign", _TEXT, "What could not be read follows.")
