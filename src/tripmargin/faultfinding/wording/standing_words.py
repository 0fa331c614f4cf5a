"""Where a case stands, in words: what is left to do, what is open, what could not be read."""

from __future__ import annotations

from itertools import pairwise

from tripmargin.faultfinding.cases.cards import PASSED
from tripmargin.faultfinding.cases.case import CLOSED, HANDED_OVER, OPEN, PROVING, Case
from tripmargin.faultfinding.cases.case_lines import Entry
from tripmargin.faultfinding.cases.proving import LEFT_OPEN, doubt
from tripmargin.faultfinding.cases.telling import percent_above
from tripmargin.faultfinding.deciding.reasons import percent
from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import later, say, say_many
from tripmargin.machine import Machine

_NEEDED = {
    "circuit": later("[circuit], the wiring: parts, terminals and operating steps"),
    "checks": later("[checks], what can be looked at: states, looks, repairs and the daily test"),
}


def lacking(machine: Machine) -> list[str]:
    """What a machine's file must hold besides, so that faults can be found; empty where it does."""
    return [say(words) for section, words in _NEEDED.items() if getattr(machine, section) is None]


def has_ended(case: Case) -> bool:
    """Whether the case is closed or handed over."""
    return case.status in (CLOSED, HANDED_OVER)


def outcome(case: Case) -> str:
    """How the case stands, in one sentence."""
    if case.status == CLOSED:
        return say("CLOSED: mended, and proved by the daily test.")
    if case.status == HANDED_OVER:
        return say("HANDED OVER: {why}", why=case.entries[-1]["why"])
    if case.status == PROVING:
        return say("NOT PROVED YET: the daily test passed, but a fault may be left.")
    return say("OPEN: the fault is not found yet. The machine is not known to be protected.")


def status_words(case: Case) -> list[str]:
    """The minutes left; and after a daily test that passed, what is still open, and why."""
    left = percent_above(doubt(case.of, case.situation))
    just_passed = bool(case.entries) and case.entries[-1].get("word") == PASSED
    found: list[str] = []
    if case.status == PROVING:
        if just_passed:
            found.append(
                say(
                    "The daily test passed, but it does not show every fault, so the machine is not"
                    " proved yet. The next card looks at what is still open."
                )
            )
        found.append(
            say(
                "Not proved yet: the chance that a fault is left is {left}. It must come down to"
                " {limit}.",
                left=left,
                limit=percent(LEFT_OPEN),
            )
        )
        return found
    if just_passed:
        found.append(
            say(
                "The daily test passed, but it does not show the faults that are likeliest here."
                " The chance that one is left is {left}: the search goes on.",
                left=left,
            )
        )
    elif _gone_back(case):
        after_all = say(
            "A fault is left after all, with a chance of {left}: the search goes on.", left=left
        )
        found.append(after_all)
    cards = case.next_checks(1)
    if cards:
        found.append(
            say(
                "Left: about {minutes:.0f} min to protected and proved again, parts counted as"
                " time.",
                minutes=cards[0].expected_minutes,
            )
        )
    return found


def _gone_back(case: Case) -> bool:
    """Whether the last entry set a case that was being proved open again."""
    return any(
        one.status == PROVING and two.status == OPEN
        for one, two in list(pairwise(case.moments()))[-1:]
    )


def notice_words(case: Case) -> list[str]:
    """What could not be read of a case's file, and what is set aside."""
    found = []
    for unread in case.file.unread:
        named = {"line": unread.line, "text": _short(unread.text)}
        if unread.torn:
            found.append(say("Line {line} of the case was cut off: {text}", **named))
        else:
            why = say(
                "Line {line} of the case cannot be read ({problem}): {text}",
                problem=unread.problem,
                **named,
            )
            found.append(why)
    if case.file.unread:
        stays = say_many(
            "It stays in the file. The other {count} entry stands.",
            "It stays in the file. The other {count} entries stand.",
            len(case.entries),
        )
        found.append(stays)
    for entry in case.set_aside:
        aside = say(
            "Set aside, as this machine has no such look or repair: {entry}",
            entry=_short(said_in(entry)),
        )
        found.append(aside)
    return found


def _short(text: str) -> str:
    return shortened(text, most=60)


def said_in(entry: Entry) -> str:
    """An entry in words: what was looked at or mended, and what came of it."""
    name = entry.get("check") or entry.get("repair")
    return f"{name} = {word_said(str(entry.get('word')))}"
