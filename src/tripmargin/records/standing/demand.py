"""Failure on demand from a log: failures seen, how often one looked, what the check finds."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from tripmargin.ground.languages import say
from tripmargin.records.standing.daily_coverage import NO_FILE, CheckCoverage
from tripmargin.records.standing.exposure import DAY, Exposure
from tripmargin.records.standing.log_rows import Log
from tripmargin.records.standing.meanings import PASSED, outcome
from tripmargin.records.standing.plan import DEFAULTS
from tripmargin.records.statistics import OnDemand, failure_on_demand
from tripmargin.records.statistics.on_demand import MOST_CHECKS

IDLE = 14 * DAY  # s; by the calendar, a longer pause between checks is taken as standing idle


@dataclass(frozen=True, slots=True)
class Demand:
    """Failure on demand and what it rests on.

    Attributes
    ----------
    found : OnDemand or None
    failures, checks : int
    by_meter : bool
    notes : tuple of str
        What is assumed, and from what it comes, in sentences.
    because : str or None
        Why there is nothing to say.
    """

    found: OnDemand | None
    failures: int
    checks: int
    by_meter: bool
    notes: tuple[str, ...] = ()
    because: str | None = None


def failures_in(log: Log, exposure: Exposure) -> int:
    """Dangerous failures: each begins with a check that did not trip or with missed metal.

    It lasts until a check passes, so that a fault which is looked at three times counts once.
    """
    failed, count = False, 0
    first, last = exposure.times[0], exposure.times[-1]
    for row in log.of("daily check", "missed metal"):
        if row.kind == "missed metal" or row.values.get("tripped") is False:
            count += not failed and first <= row.time <= last
            failed = True
        elif outcome(row.values) == PASSED:
            failed = False
    return count


def demand_of(
    log: Log, exposure: Exposure, *, stop_time_every: float | None = None,
    coverage: CheckCoverage = NO_FILE,
) -> Demand:  # fmt: skip
    """Average probability of failure on demand.

    Parameters
    ----------
    log : Log
    exposure : Exposure
        Its clock counts for all.
    stop_time_every : float, s, optional
        How often the whole stop is measured, by the plan; the full proof test.
    coverage : CheckCoverage, optional
        Of the daily check.

    Notes
    -----
    The check interval is the mean of the intervals there were, each weighed by its own length: a
    demand is likelier to fall into a long one. By the calendar, pauses of more than 14 days are
    left out, exposure and all.
    """
    checks = exposure.watched([row.time for row in log.of("daily check")])
    steps = [exposure.between(a, b) for a, b in pairwise(checks)]
    steps = [s for s in steps if s > 0 and (exposure.by_meter or s <= IDLE)]
    if not steps:
        said = say("Too few to say: it takes two daily checks, and time run between them.")
        return Demand(None, 0, len(checks), exposure.by_meter, because=said)
    total = exposure.total if exposure.by_meter else sum(steps)
    interval = sum(s * s for s in steps) / sum(steps)
    calendar = checks[-1] - checks[0]
    every = stop_time_every or DEFAULTS["stop_time_every_s"]
    # By the hour meter, so many running hours as come in that many days.
    proof = every * (total / calendar if exposure.by_meter else 1.0)
    if proof > MOST_CHECKS * interval:  # the same check written down twice, seconds apart
        said = say("Too few to say: the daily checks lie only seconds apart.")
        return Demand(None, 0, len(checks), exposure.by_meter, because=said)
    failures = failures_in(log, exposure)
    found = failure_on_demand(
        failures, total, check_interval=interval, proof_interval=max(proof, interval),
        coverage=coverage.value,
    )  # fmt: skip
    counted = (
        say("Counted by running hours. A machine with a failure that was found is taken to stand.")
        if exposure.by_meter
        else say(
            "Counted by days of the calendar. A machine with a failure that was found is taken to"
            " stand."
        )
    )
    notes = (
        *coverage.notes,
        say(
            "The full proof test is taken to be the stop-time measurement, every {every:g} d.",
            every=every / DAY,
        ),
        counted,
    )
    return Demand(found, failures, len(checks), exposure.by_meter, notes)
