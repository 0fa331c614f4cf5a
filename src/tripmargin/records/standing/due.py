"""What is due on a machine: why, since when, and what mends it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from tripmargin.ground.languages import say
from tripmargin.records.kinds.shared_fields import found_said
from tripmargin.records.standing.conditions import (
    failed_since_passed,
    missed_since_passed,
    open_case,
    overdue_check,
    unmended,
)
from tripmargin.records.standing.due_settings import gaps_due, gaps_in_file_due, stop_time_due
from tripmargin.records.standing.due_thing import (
    BEFORE_WORK,
    GAP_IN_FILE,
    MEND_FIRST,
    NOTHING,
    OPEN_CASE,
    SOON,
    URGENCIES,
    Due,
)
from tripmargin.records.standing.facts import Facts
from tripmargin.records.standing.meanings import UNFINISHED, failure_said
from tripmargin.records.standing.stamps import (
    clock_trouble,
    day_of,
    how_long,
    is_later,
    moment,
    written_at,
)

__all__ = [
    "BEFORE_WORK",
    "GAP_IN_FILE",
    "MEND_FIRST",
    "NOTHING",
    "OPEN_CASE",
    "SOON",
    "URGENCIES",
    "Due",
    "due_of",
]


def due_of(
    facts: Facts, now: datetime, *, verdict: str | None = None, us: bool = False
) -> tuple[Due, ...]:
    """What is due on a machine, the most urgent first.

    Parameters
    ----------
    facts : dict
        As `facts_of` makes them.
    now : datetime, aware
    verdict : str, optional
        What `prove` said of the machine's file; None: not worked out yet.
    us : bool
        Lengths in inches.
    """
    found = [
        *_check(facts, now),
        *_missed(facts, now),
        *_case(facts),
        *_work(facts),
        *gaps_due(facts, now, us),
        *gaps_in_file_due(facts, now, us),
        *stop_time_due(facts, now),
        *_verdict(facts, verdict),
        *_clock(facts, now),
    ]
    return tuple(sorted(found, key=lambda one: (one.urgency, _order(one.since))))


def _order(since: datetime | None) -> float:
    return 0.0 if since is None else since.timestamp()


def _check(facts: Facts, now: datetime) -> Iterator[Due]:
    check = "daily check"
    if failed_since_passed(facts):
        failed = facts["failed"]
        yield Due(
            check,
            MEND_FIRST,
            say(
                "The daily check of {day} failed: {what}. No check has passed since.",
                day=day_of(written_at(failed)),
                what=failure_said(failed["what"]),
            ),
            written_at(failed),
            check,
        )
        return
    over, every = overdue_check(facts, now), timedelta(seconds=facts["plan"]["check_every_s"])
    if over is None:
        return
    if over == timedelta.max:
        tried = facts["check"] is not None and facts["check"]["outcome"] == UNFINISHED
        words = (
            say("The daily check was begun and never finished.")
            if tried
            else say("No daily check has been entered yet.")
        )
        yield Due(check, BEFORE_WORK, words, None, check)
        return
    passed = moment(facts["passed"], now)
    assert passed is not None
    values = {"day": day_of(passed), "ago": how_long(now - passed), "every": how_long(every)}
    if "check_every_s" in facts["plan"]["assumed"]:
        words = say(
            "The last daily check that passed was on {day}, {ago} ago (no plan entered, so every"
            " {every} of work).",
            **values,
        )
    else:
        words = say(
            "The last daily check that passed was on {day}, {ago} ago (plan: every {every} of"
            " work).",
            **values,
        )
    yield Due(check, BEFORE_WORK, words, passed + every, check)


def _missed(facts: Facts, now: datetime) -> Iterator[Due]:
    missed = facts["missed"]
    if unmended(facts):
        values = {
            "day": day_of(written_at(missed)),
            "found": found_said(missed["found"]),
            "why": {
                "not seen": say("it never tripped"),
                "too late": say("it tripped too late"),
            }.get(missed["why"], say("nobody knows why")),
        }
        if missed_since_passed(facts):
            words = say(
                "Metal was missed on {day} ({found}; {why}), and no part or gap was changed since.",
                **values,
            )
        else:
            words = say(
                "Metal was missed on {day} ({found}; {why}), and no part or gap was changed"
                " since. A check has passed since, which does not say that such metal would be"
                " stopped now.",
                **values,
            )
        yield Due("missed metal", MEND_FIRST, words, written_at(missed))
    elif missed_since_passed(facts):
        yield Due(
            "missed metal",
            MEND_FIRST,
            say(
                "Metal was missed on {day}; something was changed since, and no check has"
                " passed yet.",
                day=day_of(written_at(missed)),
            ),
            written_at(missed),
            "daily check",
        )


def _case(facts: Facts) -> Iterator[Due]:
    case = open_case(facts)
    if case:
        yield Due(
            OPEN_CASE,
            MEND_FIRST,
            say("{case}. Find it to the end before the machine works again.", case=case),
            datetime.fromisoformat(facts["case"]["begun_at"]),
        )


def _work(facts: Facts) -> Iterator[Due]:
    work = facts["work"]
    if not is_later(work, facts["passed"]):
        return
    part = facts["part"]
    is_part = part is not None and part["number"] == work["number"]
    day = day_of(written_at(work))
    if is_part and part is not None:
        words = say(
            "{part} was replaced on {day}, and no daily check has passed since.",
            part=part["part"],
            day=day,
        )
    else:
        words = say(
            "Pawl gaps were set anew on {day}, and no daily check has passed since.", day=day
        )
    yield Due("check after work", BEFORE_WORK, words, written_at(work), "daily check")


def _verdict(facts: Facts, verdict: str | None) -> Iterator[Due]:
    if facts["version"] is None:
        yield Due("protection", SOON, say("No machine file: nothing can be calculated."))
        return
    since = datetime.fromisoformat(facts["version"]["added_at"])
    said = {
        None: (SOON, say("Whether it is protected has not been worked out yet: open its page.")),
        "not protected": (MEND_FIRST, say("By calculation the machine is not protected as set.")),
        "doubtful": (SOON, say("By calculation its protection is doubtful as set.")),
        "not known": (
            SOON,
            say("The machine file does not say enough to work its protection out."),
        ),
    }.get(verdict)
    if said is not None:
        yield Due("protection", *said, since)


def _clock(facts: Facts, now: datetime) -> Iterator[Due]:
    slots = ("last", "check", "passed", "failed", "stop_time", "work", "missed", "hours")
    told = {}
    for slot in slots:
        one = facts[slot]
        if one is not None and (trouble := clock_trouble(one, now)):
            told[one["number"]] = (one, trouble)
    for one, trouble in told.values():
        yield Due("clock", SOON, trouble, written_at(one), "note")
