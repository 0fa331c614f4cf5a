"""What a learner may answer to "would it stop?", and what an answer is worth: Brier's rule.

The rule is proper: whoever says what they believe can expect no more from saying anything else.
G. W. Brier, Monthly Weather Review 78 (1950) 1; why it is proper: T. Gneiting and A. E. Raftery,
Journal of the American Statistical Association 102 (2007) 359. Both from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import isfinite

from tripmargin.drills.refusals import DrillError
from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import later, say

MISSED, TOO_LATE, PROTECTED, DOUBTFUL = "missed", "too late", "protected", "doubtful"
OUTCOMES = (MISSED, TOO_LATE, PROTECTED)
"""What can come of a piece, in the order in which chances are told."""
REGIONS = (*OUTCOMES, DOUBTFUL)
"""What the protection map calls it."""
REGION_WORDS = {
    MISSED: later("missed"),
    TOO_LATE: later("too late"),
    PROTECTED: later("protected"),
    DOUBTFUL: later("doubtful"),
}
MEANINGS = {
    MISSED: later("The sensor does not see it, and nothing stops."),
    TOO_LATE: later("It is seen, but reaches the knives before the feed stands."),
    PROTECTED: later("It is seen, and the feed stands before it reaches the knives."),
    DOUBTFUL: later("You can't be sure: each of the three is as likely to you."),
}
LEAST_SURE, EVEN = 0.34, 1 / 3
EVEN_ODDS = 0.5
FULL, SCALE = 100.0, 50.0
"""Points of the exact chances, and what each unit of squared distance takes: the greatest distance
is 2, so that the worst answer has none left. The scale is our own choice."""
_TENTH = 1e-3
_NEAR = 0.02  # by which three chances may miss their sum of 1 for having been rounded

Chances = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer: what somebody thinks of each outcome.

    Attributes
    ----------
    text : str
        As it is kept, and as `Answer.of` reads it: "missed", "too late 80", "10 0 90".
    chances : tuple of 3 floats
        Missed, too late, protected; they sum to 1.
    """

    text: str
    chances: Chances

    @classmethod
    def of(cls, text: str) -> Answer:
        """Read an answer: a word, a word and how sure in per cent, or three chances in per cent.

        Without a number a word is taken as certain. What is not given to a word goes to the other
        two outcomes in equal parts.

        Raises
        ------
        DrillError
            If it is none; what is allowed is said.

        Examples
        --------
        >>> Answer.of("protected 80").chances
        (0.1, 0.1, 0.8)
        >>> Answer.of("25 0 75").chances
        (0.25, 0.0, 0.75)
        """
        said = " ".join(text.replace("%", " ").replace("/", " ").split()).lower()
        word, _, number = _parted(said)
        if word in OUTCOMES:
            sure = _sure(number) if number else 1.0
            rest = round((1 - sure) / 2, 15)
            kept = f"{word} {sure * 100:.6g}" if number else word
            first, late, safe = (sure if each == word else rest for each in OUTCOMES)
            return cls(kept, (first, late, safe))
        if word == DOUBTFUL:
            if number:
                raise _refused(text, say("it takes no number: it says that you can't be sure"))
            return cls(word, (EVEN, EVEN, EVEN))
        return cls(*_three(text, said))

    @classmethod
    def exactly(cls, chances: Chances) -> Answer:
        """The answer that says these chances, to the last digit."""
        return cls(" ".join(f"{100 * chance!r}" for chance in chances), chances)


def points_of(answer: Answer, chances: Chances) -> float:
    """Points of an answer, 0 to 100, against the chances that were calculated.

    Parameters
    ----------
    answer : Answer
    chances : tuple of 3 floats
        Missed, too late, protected.

    Notes
    -----
    100 - 50 sum (q - p)^2 with q what was said and p what was calculated: the part of the expected
    Brier score that is the learner's own (the other, sum p (1 - p), nobody can better). No outcome
    is drawn, so that luck has no part in it.

    Examples
    --------
    >>> points_of(Answer.of("protected"), (0.0, 0.0, 1.0))
    100.0
    >>> points_of(Answer.of("missed"), (0.0, 0.0, 1.0))
    0.0
    >>> round(points_of(Answer.of("doubtful"), (0.0, 0.0, 1.0)), 1)
    66.7
    """
    away = sum((q - p) ** 2 for q, p in zip(answer.chances, chances, strict=True))
    return max(FULL - SCALE * away, 0.0)


def chance_words(chance: float) -> str:
    """A chance to a tenth of a per cent, never rounded up to what it does not reach.

    >>> chance_words(0.0), chance_words(3e-7), chance_words(0.846), chance_words(0.9999)
    ('0 %', 'under 0.1 %', '84.6 %', 'over 99.9 %')
    """
    if chance <= 0 or chance >= 1:
        return say("{share:.0f} %", share=100 * chance)
    if chance < _TENTH:
        return say("under 0.1 %")
    if chance > 1 - _TENTH:
        return say("over 99.9 %")
    return say("{share:.1f} %", share=100 * chance)


def chances_said(chances: Chances) -> str:
    """Three chances in words."""
    missed, late, safe = (chance_words(chance) for chance in chances)
    return say(
        "missed {missed}, too late {late}, protected {safe}", missed=missed, late=late, safe=safe
    )


def answer_said(text: str) -> str:
    """A kept answer as it is told again; three chances as chances.

    >>> answer_said("too late 80"), answer_said("10 0 90")
    ('too late 80', 'missed 10.0 %, too late 0 %, protected 90.0 %')
    """
    word, _, number = _parted(text)
    if not word:
        return chances_said(Answer.of(text).chances)
    # As an answer it is no forecast of what the map calls doubtful: stopped more often than not.
    said = say("cannot say") if word == DOUBTFUL else say(REGION_WORDS[word])
    return say("{answer} {number:g}", answer=said, number=_number(number)) if number else said


def region_of(chances: Chances, confidence: float) -> str:
    """What the map calls it (models page, Protected).

    Protected at the confidence asked; doubtful while it is stopped at least every second time; else
    the likelier way of failing.

    >>> region_of((0.0, 0.2, 0.8), 0.99), region_of((0.0, 0.6, 0.4), 0.99)
    ('doubtful', 'too late')
    """
    missed, late, safe = chances
    if safe >= confidence:
        return PROTECTED
    if safe >= EVEN_ODDS:
        return DOUBTFUL
    return MISSED if missed >= late else TOO_LATE


def _parted(said: str) -> tuple[str, str, str]:
    """The word of an answer, in English or in the reader's language, and the number behind it."""
    for word in REGIONS:
        for spoken in (word, say(REGION_WORDS[word]).lower()):
            if said == spoken or said.startswith(f"{spoken} "):
                return word, " ", said[len(spoken) :].strip()
    return "", "", said


def _sure(text: str) -> float:
    sure = _number(text) / 100
    if not LEAST_SURE - 1e-9 <= sure <= 1:
        problem = say("not how sure one can be of the likeliest of three outcomes")
        allowed = say("34 to 100, in per cent; below that another word would be likelier")
        raise DrillError(say("how sure"), text, problem, allowed)
    return sure


def _three(text: str, said: str) -> tuple[str, Chances]:
    """Three chances in per cent, which may miss 100 by what rounding takes."""
    parts = said.split()
    if len(parts) != 3 or not all(re.match(r"[-+.\d]", part) for part in parts):
        near = nearest(said.rstrip(" .0123456789"), [say(words) for words in REGION_WORDS.values()])
        hint = say("Did you mean {word}?", word=f"“{near}”") if near else ""
        raise _refused(text, say("not an answer"), hint)
    values = [_number(part) / 100 for part in parts]
    total = sum(values)
    if min(values) < 0 or max(values) > 1 or abs(total - 1) > _NEAR:
        problem = say("three chances that do not make 100 % together")
        raise _refused(text, problem)
    first, late, safe = (value / total for value in values)
    return " ".join(parts), (first, late, safe)


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not isfinite(value):
        problem = say("not a number")
        raise DrillError(say("answer"), text, problem, say("a number such as 80 or 12.5"))
    return value


def _refused(text: str, problem: str, hint: str = "") -> DrillError:
    allowed = say(
        "missed, too late, protected or doubtful; a word and how sure, such as “protected 80”;"
        " or the chances of missed, too late and protected in per cent, such as “10 0 90”"
    )
    return DrillError(say("answer"), text, problem, allowed, hint)
