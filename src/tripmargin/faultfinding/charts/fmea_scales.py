"""The three scales of the FMEA table, 1 to 10, and what each number stands for.

The numbers are ours, engineering judgement without a source; only their order carries meaning.
"""

from __future__ import annotations

from bisect import bisect_right
from itertools import pairwise

from tripmargin.ground.languages import later, say

RPN_WARNING = later(
    "The risk priority number S x O x D does not rank: of 1 to 1000 it can take only 120 values, it"
    " multiplies places in an order as if they were amounts, and very different rows share one"
    " number. Read severity first."
)
"""IEC 60812 discusses this, from memory; the count of 120 follows from 1 to 10 each."""

THROUGH_UNNOTICED, THROUGH, COMES_LATE = 10, 9, 8
STANDS, STOPS_ON_NOTHING, NO_REVERSE = 6, 5, 4
CHECK_DEAD, SIGN_LIES, NO_EFFECT = 4, 3, 1
SEVERITY: dict[int, str] = {
    10: later("metal goes through, while every lamp and buzzer shows what a sound machine's does"),
    9: later("metal goes through, and a lamp or buzzer shows that something is wrong"),
    8: later("metal is seen, but the stop is late"),
    6: later("the feed stays stopped: the machine stands"),
    5: later("the feed stops with no metal there, now and then"),
    4: later("the rolls do not reverse, or the check button does not stop the feed"),
    3: later("a lamp or a buzzer lies; feed and stop work"),
    1: later("no effect on the machine while this fault is alone"),
}
"""Severity by the final effect, to be said."""

RATES = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5)
"""Per 1000 operating hours; occurrence counts how many of these a rate reaches, plus 1."""

BY_ITSELF, BY_DAILY, BY_PATH, BY_LOOK, BY_NOTHING = 1, 3, 5, 7, 10
DETECTION: dict[int, str] = {
    1: later("a lamp or buzzer shows it before any stop is asked for"),
    3: later("the daily check shows it"),
    5: later("another check path of the machine file shows it"),
    7: later("only a look that belongs to no check path shows it"),
    10: later("nothing shows it"),
}
"""Detection by the first of these that applies, to be said."""


def occurrence(rate: float) -> int:
    """Occurrence, 1 to 10, of a rate per 1000 operating hours.

    >>> occurrence(0.0005), occurrence(0.02), occurrence(3.0)
    (1, 6, 10)
    """
    return 1 + bisect_right(RATES, rate)


def occurrence_words() -> dict[int, str]:
    """What each occurrence stands for.

    >>> occurrence_words()[1], occurrence_words()[10]
    ('under 0.001 per 1000 h', '0.5 or more per 1000 h')
    """
    between = {
        k: say("{low:g} to {high:g} per 1000 h", low=low, high=high)
        for k, (low, high) in enumerate(pairwise(RATES), 2)
    }
    return {
        1: say("under {rate:g} per 1000 h", rate=RATES[0]),
        **between,
        10: say("{rate:g} or more per 1000 h", rate=RATES[-1]),
    }
