"""Where a case stands, on a terminal: what is left to do, what is open, what could not be read."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from tripmargin.cli.case_screen import Lines, percent

if TYPE_CHECKING:
    from tripmargin.faultfinding import Case, Entry


def status_lines(case: Case) -> list[str]:
    """The minutes left; and after a daily test that passed, what is still open, and why."""
    from tripmargin.faultfinding import PROVING
    from tripmargin.faultfinding.cases.cards import PASSED
    from tripmargin.faultfinding.cases.proving import LEFT_OPEN, doubt
    from tripmargin.faultfinding.cases.telling import percent_above

    lines = Lines()
    left = percent_above(doubt(case.of, case.situation))
    just_passed = bool(case.entries) and case.entries[-1].get("word") == PASSED
    if case.status == PROVING:
        if just_passed:
            lines.say(
                "The daily test passed, but it does not show every fault, so the machine is not"
                " proved yet. The next card looks at what is still open."
            )
        lines.say(
            f"Not proved yet: the chance that a fault is left is {left}. It must come down to"
            f" {percent(LEFT_OPEN)}."
        )
        return lines.all
    if just_passed:
        lines.say(
            "The daily test passed, but it does not show the faults that are likeliest here. The"
            f" chance that one is left is {left}: the search goes on."
        )
    elif _gone_back(case):
        lines.say(f"A fault is left after all, with a chance of {left}: the search goes on.")
    cards = case.next_checks(1)
    if cards:
        lines.say(
            f"Left: about {cards[0].expected_minutes:.0f} min to protected and proved again,"
            " parts counted as time."
        )
    return lines.all


def _gone_back(case: Case) -> bool:
    """Whether the last entry set a case that was being proved open again."""
    from tripmargin.faultfinding import OPEN, PROVING

    return any(
        one.status == PROVING and two.status == OPEN
        for one, two in list(pairwise(case.moments()))[-1:]
    )


def notice_lines(case: Case) -> list[str]:
    """What could not be read of a case's file, and what is set aside."""
    lines = Lines()
    for unread in case.file.unread:
        what = "was cut off" if unread.torn else f"cannot be read ({unread.problem})"
        lines.say(f"Line {unread.line} of the case {what}: {_short(unread.text)}")
    if case.file.unread:
        lines.say(f"It stays in the file. The other {len(case.entries)} entries stand.")
    for entry in case.set_aside:
        lines.say(f"Set aside, as this machine has no such look or repair: {_short(_said(entry))}")
    return lines.all


def _short(text: str) -> str:
    from tripmargin.ground.errors import shortened

    return shortened(text, most=60)


def _said(entry: Entry) -> str:
    """An entry in words: what was looked at or mended, and what came of it."""
    return f"{entry.get('check') or entry.get('repair')} = {entry.get('word')}"
