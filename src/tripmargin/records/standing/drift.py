"""How a machine drifts: shares, rates, measured values, failure on demand, and early warning."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.utils import timezone

from tripmargin.ground.languages import later, say
from tripmargin.ground.results import plain
from tripmargin.records.standing.asked import Asked, asked_of, newest_version
from tripmargin.records.standing.counted import Counted, event_rate, tripped_share
from tripmargin.records.standing.daily_coverage import (
    NO_FILE,
    CheckCoverage,
    coverage_in,
    kept_coverage,
)
from tripmargin.records.standing.demand import Demand, demand_of
from tripmargin.records.standing.exposure import Exposure, exposure_of
from tripmargin.records.standing.in_force import entries_in_force
from tripmargin.records.standing.log_rows import Log, log_of
from tripmargin.records.standing.meanings import pawls_in
from tripmargin.records.standing.measured import Measured, gaps_found, stop_times, travels
from tripmargin.records.standing.plan import plan_of
from tripmargin.records.statistics import Rate, Share, Sign, Thresholds, signs
from tripmargin.records.store.models import Machine

BY_CALENDAR = later("These are hours of the calendar: the hour meter was not read.")


@dataclass(frozen=True, slots=True)
class Drifting:
    """How one machine drifts.

    Attributes
    ----------
    name : str
        The machine's.
    entries : int
        That were looked at.
    exposure : Exposure
    checks, trips, false_trips : Counted
    measured : tuple of Measured
        Stop time, each pawl's gap, travel.
    demand : Demand
    signs : tuple of Sign
        The most urgent first.
    notes : tuple of str
    """

    name: str
    entries: int
    exposure: Exposure
    checks: Counted
    trips: Counted
    false_trips: Counted
    measured: tuple[Measured, ...]
    demand: Demand
    signs: tuple[Sign, ...]
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "machine": self.name,
                "entries": self.entries,
                "counted_by": "running hours" if self.exposure.by_meter else "calendar",
                "exposure_s": self.exposure.total,
                "share_of_checks_that_tripped": self.checks.interval,
                "trips_per_s": self.trips.interval,
                "false_trips_per_s": self.false_trips.interval,
                "measured": {
                    one.key: {
                        "times_s": one.times,
                        "values": one.values,
                        "drift": one.drift,
                        "trend": one.trend,
                    }
                    for one in self.measured
                },
                "failure_on_demand": self.demand.found,
                "failures": self.demand.failures,
                "signs": self.signs,
                "notes": (*self.notes, *self.demand.notes),
            }
        )
        return made


def drift_of(machine: Machine, now: datetime | None = None, *, us: bool = False) -> Drifting:
    """How a machine drifts, from its log.

    Parameters
    ----------
    machine : Machine
    now : datetime, optional
    us : bool
        Lengths in inches in the signs' evidence.
    """
    now = now or timezone.now()
    version = newest_version(machine)
    asked, log = asked_of(version), log_of(machine, now)
    newest_plan = entries_in_force(machine, "plan").order_by("-at", "-pk").first()
    return drift_in(
        log, asked, now,
        name=machine.name, plan=plan_of(newest_plan.values if newest_plan else None),
        coverage=coverage_in(log, asked, kept_coverage(version)), us=us,
    )  # fmt: skip


def drift_in(
    log: Log, asked: Asked | None, now: datetime, *, name: str = "",
    plan: dict[str, Any] | None = None, coverage: CheckCoverage = NO_FILE, us: bool = False,
) -> Drifting:  # fmt: skip
    """The same from a log in hand; no database is asked."""
    time, exposure = now.timestamp(), exposure_of(log)
    checks = tripped_share(log)
    trips, false_trips = (event_rate(log, exposure, kind, time) for kind in ("trip", "false trip"))
    measured = (
        stop_times(log, asked, time),
        *(gaps_found(log, pawl, asked, time) for pawl in _pawls(log, asked)),
        travels(log, asked, time),
    )
    return Drifting(
        name=name,
        entries=len(log.rows),
        exposure=exposure,
        checks=checks,
        trips=trips,
        false_trips=false_trips,
        measured=measured,
        demand=demand_of(
            log, exposure, coverage=coverage,
            stop_time_every=(plan or plan_of(None))["stop_time_every_s"],
        ),
        signs=_signs(checks, false_trips, measured, exposure, us),
        notes=log.notes,
    )  # fmt: skip


def _pawls(log: Log, asked: Asked | None) -> tuple[str, ...]:
    """The pawls of the machine's file; without any, those that the log tells of."""
    if asked is not None and asked.pawls:
        return asked.pawls
    return tuple(sorted({pawl for row in log.of("adjustment") for pawl in pawls_in(row.values)}))


def _signs(
    checks: Counted, false_trips: Counted, measured: tuple[Measured, ...], exposure: Exposure,
    us: bool,
) -> tuple[Sign, ...]:  # fmt: skip
    found = signs(
        shares=[checks.lately] if isinstance(checks.lately, Share) else [],
        rates=[false_trips.lately] if isinstance(false_trips.lately, Rate) else [],
        series=[one.series for one in measured],
        # Each share and rate is looked at once, each trend against one or two limits.
        thresholds=Thresholds(looks=2 + 2 * len(measured)),
        us=us,
    )
    if exposure.by_meter:
        return found
    return tuple(
        replace(one, evidence=f"{one.evidence}\n{say(BY_CALENDAR)}") if one.kind == "rate" else one
        for one in found
    )
