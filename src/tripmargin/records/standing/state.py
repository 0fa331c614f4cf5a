"""The state of a machine at a glance: what the calculation says and what the log says, together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from tripmargin.ground.languages import later, say
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
from tripmargin.records.standing.meanings import failure_said
from tripmargin.records.standing.stamps import day_of, how_long, is_later, moment, written_at

PROTECTED, DOUBTFUL, NOT_KNOWN, NOT = "protected", "doubtful", "not known", "not"
WORSE = (PROTECTED, DOUBTFUL, NOT_KNOWN, NOT)
"""From good to bad: a state is the worst that calculation or log gives."""
OF_VERDICTS = {
    "protected": (PROTECTED, later("By calculation it is protected")),
    "doubtful": (DOUBTFUL, later("By calculation its protection is doubtful")),
    "not protected": (NOT, later("By calculation it is not protected")),
    "not known": (NOT_KNOWN, later("The machine file does not say enough to calculate it")),
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
    return State(said[0][0], tuple(say("{sentence}.", sentence=sentence) for _, sentence in said))


def state_by_log(facts: Facts, now: datetime) -> State:
    """How a machine stands by its log alone, whatever a calculation says; as `state_of`."""
    said = sorted(_by_log(facts, now), key=lambda one: -WORSE.index(one[0]))
    return State(said[0][0], tuple(say("{sentence}.", sentence=sentence) for _, sentence in said))


def _by_calculation(
    facts: Facts, verdict: str | None, proved_at: datetime | None
) -> tuple[str, str]:
    if facts["version"] is None:
        return NOT_KNOWN, say("There is no machine file to calculate from")
    if verdict is None:
        return NOT_KNOWN, say("Not worked out yet: its own page does that")
    state, words = OF_VERDICTS[verdict]
    values = {"words": say(words), "number": facts["version"]["number"]}
    if proved_at:
        return state, say(
            "{words} (version {number} of its file, worked out {day})",
            day=day_of(proved_at),
            **values,
        )
    return state, say("{words} (version {number} of its file)", **values)


def _by_log(facts: Facts, now: datetime) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    failed, missed = facts["failed"], facts["missed"]
    if failed_since_passed(facts):
        found.append(
            (
                NOT,
                say(
                    "The check of {day} failed: {what}",
                    day=day_of(written_at(failed)),
                    what=failure_said(failed["what"]),
                ),
            )
        )
    if missed_since_passed(facts):
        found.append(
            (
                NOT,
                say(
                    "Metal was missed on {day}; no check has passed since",
                    day=day_of(written_at(missed)),
                ),
            )
        )
    elif unmended(facts):
        found.append(
            (
                DOUBTFUL,
                say(
                    "Metal was missed on {day}; nothing was changed",
                    day=day_of(written_at(missed)),
                ),
            )
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
        found.append(say("No check that passed has been entered"))
    elif over is not None and passed is not None:
        found.append(say("The last check that passed is {time} old", time=how_long(now - passed)))
    if facts["passed"] is not None and is_later(facts["work"], facts["passed"]):
        found.append(say("Something was changed since the last check that passed"))
    outside = gaps_outside(facts)
    if outside:
        found.append(say("Gap outside the window: {outside}", outside=", ".join(outside)))
    if stop_time_beyond(facts):
        found.append(say("The last stop time measured is longer than allowed"))
    return found


def _good(facts: Facts, now: datetime) -> str:
    passed = moment(facts["passed"], now)
    assert passed is not None
    return say(
        "The check passed {time} ago, and nothing was changed since",
        time=how_long(now - passed),
    )
