"""What a drill tells: kept in English, said in the reader's language.

Drills are kept and played again, by people who speak different languages, and what came of a move
is compared. So a text of a move or of a score is English wherever it is kept, compared or counted,
and knows how it is said.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from tripmargin.faultfinding.cases.cautions import AT_REST, LIVE
from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.faultfinding.suspects.looks import MOVING
from tripmargin.ground.languages import ENGLISH, later, say, speaking
from tripmargin.ground.languages.own_words import as_written
from tripmargin.stopping.setting.step_words import CAUTIONS

MENDED = {
    "pawl springs": later("pawl springs"),
    "linkage": later("linkage"),
    "pawl clearance": later("pawl clearance"),
    "roll": later("roll"),
    "sensor position": later("sensor position"),
}
"""What is mended that no machine file names, by the words of a repair's id."""


class Told(str):
    """A text in English that can be said again in the language spoken then; see `told`."""

    again: Callable[[], str] | None = None


def told(saying: Callable[[], str]) -> Told:
    """A text as it is kept: what `saying` says in English.

    Parameters
    ----------
    saying : callable
        Says the text in the language spoken. What it says must not change otherwise.

    Examples
    --------
    >>> told(lambda: say("Make the daily test."))
    'Make the daily test.'
    """
    with speaking(ENGLISH):
        made = Told(saying())
    made.again = saying
    return made


def told_as(text: str, saying: Callable[[], str]) -> Told:
    """A word that is kept as it stands, and said by `saying`."""
    made = Told(text)
    made.again = saying
    return made


def said(text: str) -> str:
    """A kept text in the language spoken.

    One that was read from a file is said where it is a whole sentence or a caution that the
    catalogue has; one with values in it stays in English.

    >>> said(told(lambda: say("Make the daily test."))), said("read from a file")
    ('Make the daily test.', 'read from a file')
    """
    if isinstance(text, Told) and text.again is not None:
        return text.again()
    for cautions in (AT_REST, LIVE, CAUTIONS):
        if text == " ".join(cautions):
            return _together(cautions)
    return say(text)


def cautions_told(cautions: Iterable[str]) -> Told:
    """Several cautions as one text."""
    kept = tuple(cautions)
    return told(lambda: _together(kept))


def found_said(word: str, subject: str) -> str:
    """What a look showed; a meter's range that was read from a file stays as it was kept."""
    if isinstance(word, Told) and word.again is not None:
        return word.again()
    return word_said(word, subject)


def look_said(name: str) -> str:
    """A look by its id, state and subject, in the reader's words."""
    state, colon, subject = name.partition(": ")
    if not colon:
        return as_written(name)
    return say("{state}: {look}", state=as_written(state), look=subject_said(subject))


def subject_said(subject: str) -> str:
    """What a look looks at, by the words of its id.

    >>> subject_said("pawls"), subject_said("volts at TP2"), subject_said("fuse F1")
    ('pawls', 'volts at TP2', 'fuse F1')
    """
    if subject in MOVING:
        return say(MOVING[subject])
    moving = subject.removesuffix(" seen")  # where the file lists a look at it by hand as well
    if moving != subject and moving in MOVING:
        return say("{look} seen", look=say(MOVING[moving]))
    point = subject.removeprefix("volts at ")
    if point != subject:
        return say("volts at {point}", point=as_written(point))
    return as_written(subject)


def repair_said(name: str) -> str:
    """What a repair mends, by its id."""
    part = name.removeprefix("mend ")
    return say(MENDED[part]) if part in MENDED else as_written(part)


def _together(cautions: Iterable[str]) -> str:
    return " ".join(say(each) for each in cautions)
