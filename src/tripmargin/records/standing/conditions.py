"""Questions that what is due and how a machine stands both ask of its facts."""

from __future__ import annotations

from datetime import datetime, timedelta

from tripmargin.ground.languages import say
from tripmargin.records.standing.facts import Facts
from tripmargin.records.standing.stamps import day_of, is_later, moment, written_at


def failed_since_passed(facts: Facts) -> bool:
    """Whether the last check that passed or failed is one that failed."""
    return is_later(facts["failed"], facts["passed"])


def missed_since_passed(facts: Facts) -> bool:
    """Whether metal was missed and no check has passed since."""
    return is_later(facts["missed"], facts["passed"])


def open_case(facts: Facts) -> str:
    """What is said of a fault-finding case that is not at its end; empty where there is none.

    One that was handed over counts until a daily check has passed after its beginning.
    """
    case = facts["case"]
    if case is None:
        return ""
    begun = datetime.fromisoformat(case["begun_at"])
    passed = facts["passed"]
    if case["handed_over"] and passed is not None and written_at(passed) > begun:
        return ""
    values = {"complaint": case["complaint"], "day": day_of(begun)}
    if case["complaint"]:
        values["complaint"] = _told(case["complaint"])
        if case["handed_over"]:
            return say(
                "A fault was handed over (“{complaint}”); the case was begun on {day}", **values
            )
        return say(
            "A fault is being looked for (“{complaint}”); the case was begun on {day}",
            **values,
        )
    if case["handed_over"]:
        return say("A fault was handed over; the case was begun on {day}", **values)
    return say("A fault is being looked for; the case was begun on {day}", **values)


def _told(complaint: str) -> str:
    """A complaint in the operator's words; it is kept by a few words in English."""
    from tripmargin.faultfinding.suspects.complaints import COMPLAINTS  # heavy, and few have a case

    return say(COMPLAINTS.get(complaint, complaint)).rstrip(".")


def unmended(facts: Facts) -> bool:
    """Whether metal was missed and neither a part, nor a gap, nor the file was changed since."""
    missed, version = facts["missed"], facts["version"]
    if missed is None or is_later(facts["work"], missed):
        return False
    # The first version is no change: it may have come in after the metal was missed.
    if version is None or version["number"] == 1:
        return True
    return datetime.fromisoformat(version["added_at"]) <= written_at(missed)


def overdue_check(facts: Facts, now: datetime) -> timedelta | None:
    """How long the daily check is over time; None: it is not. A check never passed: all of time."""
    passed = moment(facts["passed"], now)
    if passed is None:
        return timedelta.max
    over = now - passed - timedelta(seconds=facts["plan"]["check_every_s"])
    return over if over > timedelta() else None


def gaps_outside(facts: Facts) -> tuple[str, ...]:
    """The pawls whose gap, as left, lies outside the window of the machine's file."""
    asked = facts["asked"]
    if asked is None:
        return ()
    low, high = asked["clearance_m"]
    return tuple(p for p, gap in facts["gaps"].items() if not low <= gap["m"] <= high)


def stop_time_beyond(facts: Facts) -> bool:
    """Whether the last stop time is longer than the machine's file allows."""
    last, asked = facts["stop_time"], facts["asked"]
    return last is not None and asked is not None and last["s"] > asked["stop_time_s"]
