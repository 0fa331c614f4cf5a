"""Where a case stands, on a terminal: its words folded to the screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tripmargin.cli.case_screen import Lines
from tripmargin.faultfinding.wording.standing_words import notice_words, status_words

if TYPE_CHECKING:
    from tripmargin.faultfinding import Case


def status_lines(case: Case) -> list[str]:
    """The minutes left; and after a daily test that passed, what is still open, and why."""
    return _folded(status_words(case))


def notice_lines(case: Case) -> list[str]:
    """What could not be read of a case's file, and what is set aside."""
    return _folded(notice_words(case))


def _folded(sentences: Sequence[str]) -> list[str]:
    lines = Lines()
    for sentence in sentences:
        lines.write(sentence)
    return lines.all
