"""Whom to visit first, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from tripmargin.ground.languages import later, say, say_as
from tripmargin.records.standing.at_a_glance import Glance, machines_at_a_glance
from tripmargin.records.standing.due import BEFORE_WORK, NOTHING, SOON, URGENCIES
from tripmargin.records.standing.facts import Facts
from tripmargin.records.standing.state import WORSE
from tripmargin.records.statistics import Rate, Share, Sign, Thresholds, signs

HOURS_OF_CALENDAR = later("These are hours of the calendar.")


@dataclass(frozen=True, slots=True)
class Visit:
    """One machine in the order of visits.

    Attributes
    ----------
    place : int
        From 1: whom to visit first.
    glance : Glance
    signs : tuple of Sign
        Of the season's counts: fewer checks trip, or more false trips come.
    reason : str
        Why it stands here.
    urgency : int
        A key of `URGENCIES`; that of what is due or of a sign.
    """

    place: int
    glance: Glance
    signs: tuple[Sign, ...]
    reason: str
    urgency: int

    @property
    def urgency_words(self) -> str:
        """The urgency as a person reads it."""
        return (
            say_as("urgency", "Sound") if self.urgency == NOTHING else say(URGENCIES[self.urgency])
        )


def fleet(now: datetime | None = None, *, us: bool = False) -> list[Visit]:
    """All machines, whom to visit first in front.

    Notes
    -----
    By urgency of what is due or drifts, then by state, then by how many things are due, then by
    which has waited longest. Signs come from the counts that are kept beside each machine, so that
    no log is read; trends of measured values stand on each machine's own page. The chance of a
    false alarm (1 in 100) is for the whole fleet at one look together.
    """
    glances = machines_at_a_glance(now or timezone.now(), us=us)
    asked = Thresholds(looks=max(1, 2 * len(glances)))
    found = [(one, season_signs(one.facts, asked)) for one in glances]
    found.sort(key=lambda pair: _order(*pair))
    return [
        Visit(place, one, early, _reason(one, early), _urgency(one, early))
        for place, (one, early) in enumerate(found, start=1)
    ]


def season_signs(facts: Facts, asked: Thresholds) -> tuple[Sign, ...]:
    """Signs in the counts of the season: the last 30 days against what came before."""
    season = facts["season"]
    if season is None:
        return ()
    start, lately, end = (
        datetime.fromisoformat(season[name]).timestamp() for name in ("from", "lately_from", "to")
    )
    if lately <= start:
        return ()

    def split(name: str) -> tuple[int, int]:
        recent = season[f"{name}_lately"]
        return season[name] - recent, recent

    (checks, recent_checks), (tripped, recent_tripped) = split("checks"), split("tripped")
    false, recent_false = split("false_trips")
    return signs(
        shares=[Share("daily check", (tripped, checks), (recent_tripped, recent_checks), "check")],
        rates=[Rate("false trips", (false, lately - start), (recent_false, end - lately))],
        thresholds=asked,
    )


def _urgency(one: Glance, early: Sequence[Sign]) -> int:
    of_signs = min(({"now": BEFORE_WORK}.get(s.urgency, SOON) for s in early), default=NOTHING)
    return min(one.urgency, of_signs)


def _order(one: Glance, early: Sequence[Sign]) -> tuple[int, int, int, float, str]:
    urgency = _urgency(one, early)
    since = [due.since.timestamp() for due in one.due if due.since and due.urgency == urgency]
    return (
        urgency,
        -WORSE.index(one.state),
        -len(one.due) - len(early),
        min(since, default=0.0),
        one.name,
    )


def _reason(one: Glance, early: Sequence[Sign]) -> str:
    urgency = _urgency(one, early)
    said = [due.sentence for due in one.due if due.urgency == urgency]
    said += [
        f"{s.evidence} {say(HOURS_OF_CALENDAR)}" if s.kind == "rate" else s.evidence for s in early
    ]
    return " ".join(said or one.reasons)
