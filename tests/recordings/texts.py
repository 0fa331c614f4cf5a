"""Small texts of numbers for the tests, and what a recording told of them."""

from __future__ import annotations

from tripmargin.recordings.recording import Recording

ROWS = 2000


def table(line: str, **how: object) -> str:
    """Rows by a pattern in k, t and u; a heading above."""
    head = how.get("head", "t,U\n")
    return head + "".join(line.format(k=k, t=k / 1000, u=(k % 9) / 2) for k in range(ROWS))


def told(recording: Recording, what: str) -> str:
    return " ".join(each.words for each in recording.troubles if each.what == what)


def guessed(recording: Recording, what: str) -> str | None:
    return next((each.value for each in recording.guesses if each.what == what), None)
