"""The season's review of a fleet: how it stands, what it met, what drifts. The records are open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from math import isfinite

from tripmargin.ground.languages import language, later, say, say_many
from tripmargin.ground.units import percent, shown
from tripmargin.machine.cautions import CAUTIONS
from tripmargin.records.standing.fleet import fleet
from tripmargin.records.standing.state import DOUBTFUL, NOT, NOT_KNOWN, PROTECTED
from tripmargin.records.statistics import Interval, rate_interval, share_interval
from tripmargin.reports.paper.document import Block, Document, Heading, Listed, Table, Words
from tripmargin.reports.paper.season_log import (
    MachineSeason,
    Season,
    season_of_machine,
    things_found,
)
from tripmargin.reports.paper.season_machine import machine_part
from tripmargin.reports.paper.signing import opening

KIND = "season"
HUNDRED_HOURS = 360_000.0  # s
STATES = {
    PROTECTED: later("protected"),
    DOUBTFUL: later("doubtful"),
    NOT: later("not protected"),
    NOT_KNOWN: later("not known"),
}


def season_review(
    season: Season,
    *,
    made: datetime,
    by: str = "",
    us: bool = False,
    paper: str = "a4",
    progress: Callable[[float], None] | None = None,
) -> Document:
    """The review of every machine in the records that is not put away.

    Parameters
    ----------
    season : Season
    made : datetime
        With its zone: how each machine stands is told for this moment.
    by, us, paper, progress
        As in `commissioning_report`.

    Notes
    -----
    Intervals are exact: Clopper and Pearson's for shares, Garwood's for rates
    (`records.statistics`). Figures come from the season's own entries; state and what is due come
    from the whole log up to `made`.
    """
    visits = fleet(made, us=us)
    seasons = []
    for number, visit in enumerate(visits):
        seasons.append(season_of_machine(visit, season, made, us=us))
        if progress is not None:
            progress((number + 1) / len(visits))
    title = say("Season's review: {season}", season=season.words)
    subject = say_many("{count} machine", "{count} machines", len(seasons))
    blocks = [*opening((CAUTIONS,)), *_fleet(seasons, season, made)]
    for one in seasons:
        blocks += machine_part(one, us)
    data = {
        "from": season.first.isoformat(),
        "to": season.last.isoformat(),
        "machines": [one.to_dict() for one in seasons],
    }
    return Document(KIND, title, subject, made, by, language(), blocks, data, paper)


def _fleet(seasons: Sequence[MachineSeason], season: Season, made: datetime) -> Iterator[Block]:
    day = f"{made:%Y-%m-%d}"
    yield Words(
        [
            say(
                "State and what is due are those of {day}. Figures are of the season's entries"
                " alone, {season}. Machines that are put away are left out.",
                day=day,
                season=season.words,
            )
        ]
    )
    if not seasons:
        yield Words([say("The records hold no machine yet.")], strong=True)
        return
    states = Counter(one.visit.glance.state for one in seasons)
    yield Heading(say("How the fleet stands"), level=1)
    rows = [(say(words), f"{states[state]}") for state, words in STATES.items()]
    yield Table("", (say("State"), say("Machines")), rows, numbers=(1,))
    yield _visits(seasons)
    yield _counts(seasons)
    yield from _totals(seasons)


def _visits(seasons: Sequence[MachineSeason]) -> Table:
    headers = (say("Visit"), say("Machine"), say("State"), say("How urgent"), say("Why"))
    rows = [
        (f"{one.visit.place}", one.name, one.visit.glance.state_words,
         one.visit.urgency_words, one.visit.reason)
        for one in seasons
    ]  # fmt: skip
    return Table(say("Whom to visit first"), headers, rows, shares=(7, 18, 14, 16, 50))


def _counts(seasons: Sequence[MachineSeason]) -> Table:
    headers = (
        say("Machine"), say("Checks"), say("Tripped"), say("Passed"), say("Trips"),
        say("False trips"), say("Missed metal"), say("New parts"),
    )  # fmt: skip
    rows = [
        (
            one.name,
            f"{one.drifting.checks.tried:.0f}",
            f"{one.drifting.checks.seen}",
            f"{one.passed}",
            *(
                f"{len(one.of(kind))}"
                for kind in ("trip", "false trip", "missed metal", "part replaced")
            ),
        )
        for one in seasons
    ]
    title = say("What was entered in the season")
    return Table(title, headers, rows, numbers=(1, 2, 3, 4, 5, 6, 7))


def _totals(seasons: Sequence[MachineSeason]) -> Iterator[Block]:
    tried = sum(int(one.drifting.checks.tried) for one in seasons)
    tripped = sum(one.drifting.checks.seen for one in seasons)
    lines = []
    if tried:
        share = share_interval(tripped, tried)
        lines.append(
            say(
                "Daily checks that tripped: {share} ({limits}), {tripped} of {tried} of all"
                " machines together.",
                share=percent(share.value or 0.0),
                limits=_limits(share),
                tripped=tripped,
                tried=tried,
            )
        )
    metered = [one.drifting for one in seasons if one.drifting.exposure.by_meter]
    for kind, entered, words, not_counted in _RATES:
        seen = sum(getattr(one, kind).seen for one in metered)
        ran = sum(one.exposure.total for one in metered)
        if ran > 0:
            rate = rate_interval(seen, ran)
            low, high = (_per_hundred(end) for end in (rate.low, rate.high))
            lines.append(
                say(words, rate=_per_hundred(rate.value or 0.0), low=low, high=high, seen=seen,
                    hours=ran / 3600, machines=len(metered))
            )  # fmt: skip
            count = sum(len(one.of(entered)) for one in seasons)
            if count > seen:
                lines.append(say(not_counted, outside=count - seen, count=count))
    if lines:
        yield Heading(say("All machines together"))
        yield Listed(lines)
    found = things_found(seasons)
    if found:
        rows = [(what, f"{many}") for what, many in found.items()]
        headers = (say("What"), say("How often"))
        yield Table(say("What was found, stopped or missed"), headers, rows, numbers=(1,))


_TRIPS = later(
    "Trips: {rate} in 100 running hours (95 % interval: {low} to {high}), {seen} in {hours:.0f}"
    " hours of {machines} machines whose hour meter was read."
)
_FALSE_TRIPS = later(
    "False trips: {rate} in 100 running hours (95 % interval: {low} to {high}), {seen} in"
    " {hours:.0f} hours of {machines} machines whose hour meter was read."
)
_TRIPS_NOT_COUNTED = later(
    "Trips: {outside} of {count} entered are not counted in this rate. They came before the first"
    " or after the last reading of an hour meter, or on a machine whose hour meter was not read."
)
_FALSE_TRIPS_NOT_COUNTED = later(
    "False trips: {outside} of {count} entered are not counted in this rate. They came before the"
    " first or after the last reading of an hour meter, or on a machine whose hour meter was not"
    " read."
)
_RATES = (
    ("trips", "trip", _TRIPS, _TRIPS_NOT_COUNTED),
    ("false_trips", "false trip", _FALSE_TRIPS, _FALSE_TRIPS_NOT_COUNTED),
)


def _per_hundred(rate: float) -> str:
    return shown(rate * HUNDRED_HOURS, "number", digits=2) if isfinite(rate) else say("no bound")


def _limits(of: Interval) -> str:
    return say(
        "{confidence} interval: {low} to {high}",
        confidence=percent(of.confidence),
        low=percent(of.low),
        high=percent(of.high),
    )
