"""The state of a machine at a glance: what the calculation says and what the log says, together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from tripmargin.records.standing.conditions import (
    failed_since_passed,
    gaps_outside,
    missed_since_passed,
    open_case,
    overdue_check,
    stop_time_beyond,
    unmended,
)
from tripmargin.records.standing.facts import Facts
from tripmargin.records.standing.stamps import day_of, how_long, is_later, moment, written_at

PROTECTED, DOUBTFUL, NOT_KNOWN, NOT = "protected", "doubtful", "not known", "not"
WORSE = (PROTECTED, DOUBTFUL, NOT_KNOWN, NOT)
"""From good to bad: a state is the worst that calculation or log gives."""
OF_VERDICTS = {
    "protected": (PROTECTED, "By calculation it is protected"),
    "doubtful": (DOUBTFUL, "By calculation its protection is doubtful"),
    "not protected": (NOT, "By calculation it is not protected"),
    "not known": (NOT_KNOWN, "The machine file does not say enough to calculate it"),
}


@dataclass(frozen=True, slots=True)
class State:
    """How a machine stands, and why; the reasons that make it so come first."""

    state: str
    reasons: tuple[str, ...]


def state_of(
    facts: Facts, now: datetime, *, verdict: str | None, proved_at: datetime | None = None
) -> State:
    """The state of a machine.

    Parameters
    ----------
    facts : dict
        As `facts_of` makes them.
    now : datetime, aware
    verdict : str or None
        What `prove` said of the version in force; None: not worked out yet.
    proved_at : datetime, optional
        When it said so.

    Notes
    -----
    "protected" needs both: a calculation that says so of the machine as its file has it, and a log
    that says that the machine is as its file has it and was seen to trip within the plan's time.
    """
    said = [_by_calculation(facts, verdict, proved_at), *_by_log(facts, now)]
    said.sort(key=lambda one: -WORSE.index(one[0]))
    return State(said[0][0], tuple(f"{sentence}." for _, sentence in said))


def _by_calculation(
    facts: Facts, verdict: str | None, proved_at: datetime | None
) -> tuple[str, str]:
    if facts["version"] is None:
        return NOT_KNOWN, "There is no machine file to calculate from"
    if verdict is None:
        return NOT_KNOWN, "Not worked out yet: its own page does that"
    state, words = OF_VERDICTS[verdict]
    of = f" (version {facts['version']['number']} of its file"
    return state, words + of + (f", worked out {day_of(proved_at)})" if proved_at else ")")


def _by_log(facts: Facts, now: datetime) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    failed, missed = facts["failed"], facts["missed"]
    if failed_since_passed(facts):
        found.append((NOT, f"The check of {day_of(written_at(failed))} failed: {failed['what']}"))
    if missed_since_passed(facts):
        found.append(
            (NOT, f"Metal was missed on {day_of(written_at(missed))}; no check has passed since")
        )
    elif unmended(facts):
        found.append(
            (DOUBTFUL, f"Metal was missed on {day_of(written_at(missed))}; nothing was changed")
        )
    case = open_case(facts)
    if case:
        found.append((NOT, case))
    found += [(DOUBTFUL, words) for words in _doubts(facts, now)]
    return found or [(PROTECTED, _good(facts, now))]


def _doubts(facts: Facts, now: datetime) -> list[str]:
    found = []
    over, passed = overdue_check(facts, now), moment(facts["passed"], now)
    if over == timedelta.max:
        found.append("No check that passed has been entered")
    elif over is not None and passed is not None:
        found.append(f"The last check that passed is {how_long(now - passed)} old")
    if facts["passed"] is not None and is_later(facts["work"], facts["passed"]):
        found.append("Something was changed since the last check that passed")
    outside = gaps_outside(facts)
    if outside:
        found.append(f"Gap outside the window: {', '.join(outside)}")
    if stop_time_beyond(facts):
        found.append("The last stop time measured is longer than allowed")
    return found


def _good(facts: Facts, now: datetime) -> str:
    passed = moment(facts["passed"], now)
    assert passed is not None
    return f"The check passed {how_long(now - passed)} ago, and nothing was changed since"
