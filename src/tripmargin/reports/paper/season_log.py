"""What a machine's log holds of one season, and what its figures say. The records are open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.ground.results import plain
from tripmargin.pictures.words import said
from tripmargin.records.kinds import KINDS
from tripmargin.records.standing.asked import asked_of, newest_version
from tripmargin.records.standing.daily_coverage import coverage_in, kept_coverage
from tripmargin.records.standing.drift import Drifting, drift_in
from tripmargin.records.standing.fleet import Visit
from tripmargin.records.standing.in_force import entries_in_force
from tripmargin.records.standing.log_rows import Log, Row, log_of
from tripmargin.records.standing.meanings import PASSED, outcome
from tripmargin.records.standing.plan import plan_of
from tripmargin.records.standing.stamps import CLOCKS_DIFFER
from tripmargin.records.statistics import FigureError
from tripmargin.reports.paper.entry_words import entry_words
from tripmargin.reports.paper.reading import ReportError

EVENTS = ("trip", "false trip", "missed metal", "part replaced")
"""What is told entry by entry; checks and measurements are told by their figures."""


EARLIEST, LATEST = date(1970, 1, 1), date(9998, 12, 31)
"""Days that a log can hold."""


@dataclass(frozen=True, slots=True)
class Season:
    """The days that a review is about, both of them included; days of UTC, as logs are read."""

    first: date
    last: date

    def __post_init__(self) -> None:
        for day in (self.first, self.last):
            if not EARLIEST <= day <= LATEST:
                raise ReportError(
                    say(
                        "{day} is no day of a season.\n  Allowed: from {earliest} to {latest}.",
                        day=day.isoformat(),
                        earliest=EARLIEST.isoformat(),
                        latest=LATEST.isoformat(),
                    )
                )
        if self.last < self.first:
            raise ReportError(
                say(
                    "The season ends on {last}, before it begins on {first}.\n"
                    "  Allowed: a last day that is not before the first.",
                    last=self.last.isoformat(),
                    first=self.first.isoformat(),
                )
            )

    @property
    def words(self) -> str:
        """From when to when."""
        return say("{first} to {last}", first=self.first.isoformat(), last=self.last.isoformat())

    @property
    def ends(self) -> tuple[float, float]:
        """The first moment, and the first one after it; s since 1970."""
        return _midnight(self.first), _midnight(self.last + timedelta(days=1))


def _midnight(day: date) -> float:
    return datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp()


@dataclass(frozen=True, slots=True)
class MachineSeason:
    """One machine's season.

    Attributes
    ----------
    visit : Visit
        How it stands on the day of the review.
    drifting : Drifting
        Its figures, from the season's entries alone.
    events : tuple of Row
        Trips, false trips, missed metal, parts; the oldest first.
    passed : int
        Daily checks that passed: a check may trip and fail all the same.
    """

    visit: Visit
    drifting: Drifting
    events: tuple[Row, ...]
    passed: int

    @property
    def name(self) -> str:
        """The machine's."""
        return self.visit.glance.name

    def of(self, kind: str) -> list[Row]:
        """The events of a kind."""
        return [row for row in self.events if row.kind == kind]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        glance = self.visit.glance
        made: dict[str, Any] = plain(
            {
                "machine": self.name,
                "place": self.visit.place,
                "state": glance.state_words,
                "urgency": self.visit.urgency_words,
                "reasons": glance.reasons,
                "due": [one.to_dict() for one in glance.due],
                "season": self.drifting.to_dict(),
                "checks_passed": self.passed,
                "events": [
                    {"kind": row.kind, "time_s": row.time, "values": row.values}
                    for row in self.events
                ],
            }
        )
        return made


def season_of_machine(visit: Visit, season: Season, now: datetime, *, us: bool) -> MachineSeason:
    """A machine's season, from its entries in force: three queries."""
    machine = visit.glance.machine
    first, after = season.ends
    whole = log_of(machine, now)
    rows = tuple(row for row in whole.rows if first <= row.time < after)
    log = Log(rows, whole.notes)
    version = newest_version(machine)
    asked = asked_of(version)
    newest_plan = entries_in_force(machine, "plan").order_by("-at", "-pk").first()
    end = min(datetime.fromtimestamp(after, UTC), now + CLOCKS_DIFFER)

    def drifting(of: Log) -> Drifting:
        plan = plan_of(newest_plan.values if newest_plan else None)
        coverage = coverage_in(of, asked, kept_coverage(version))
        return drift_in(of, asked, end, name=str(machine.name), plan=plan, coverage=coverage, us=us)

    try:
        found = drifting(log)
    except FigureError as error:  # one odd log must not cost the review of a whole fleet
        why = say("The figures of the season cannot be worked out: {why}", why=str(error))
        found = drifting(Log((), (*log.notes, " ".join(why.split()))))
    passed = sum(outcome(row.values) == PASSED for row in log.of(KINDS["daily check"].name))
    return MachineSeason(visit, found, tuple(log.of(*EVENTS)), passed)


def event_words(row: Row, us: bool) -> tuple[str, str, str]:
    """An event's day, its kind, and what was entered."""
    day = f"{datetime.fromtimestamp(row.time, UTC):%Y-%m-%d}"
    return day, said(KINDS[row.kind].title), entry_words(row.kind, row.values, us)


def things_found(seasons: Sequence[MachineSeason]) -> dict[str, int]:
    """How often each kind of thing stopped a feed or was missed, in the kinds' own words."""
    found: dict[str, int] = {}
    for one in seasons:
        for row in (*one.of("trip"), *one.of("missed metal")):
            field, value = KINDS[row.kind].field_of("found"), row.values.get("found")
            if field is not None and value is not None:
                what = field.words(value, us=False)
                found[what] = found.get(what, 0) + 1
    return dict(sorted(found.items(), key=lambda item: (-item[1], item[0])))
