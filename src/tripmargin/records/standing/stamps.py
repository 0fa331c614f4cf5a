"""When something in the log happened, as facts keep it, and how far its clock may be trusted."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.records.standing.newest import Found

CLOCKS_DIFFER = timedelta(minutes=10)
Stamp = Mapping[str, Any]


def stamp(entry: Found, **more: Any) -> dict[str, Any]:
    """An entry as facts keep it: when, which, how far the clock was ahead, and what is added."""
    return {
        "at": entry.at.astimezone(UTC).isoformat(),
        "number": entry.number,
        "uid": str(entry.uid),
        "ahead_s": entry.ahead_s,
        **more,
    }


def written_at(one: Stamp) -> datetime:
    """The moment as it was entered."""
    return datetime.fromisoformat(one["at"])


def moment(one: Stamp | None, now: datetime) -> datetime | None:
    """When it happened at the latest; None: never, or at a time that has not come yet.

    A clock that was well ahead made the entry look newer than it is, so that is taken off; one that
    was behind made it look older, which errs on the safe side and stays.
    """
    if one is None:
        return None
    at = _at_the_latest(one)
    return None if at > now + CLOCKS_DIFFER else min(at, now)


def _at_the_latest(one: Stamp) -> datetime:
    ahead = timedelta(seconds=max(0.0, one["ahead_s"]))
    return written_at(one) - (ahead if ahead > CLOCKS_DIFFER else timedelta())


def clock_trouble(one: Stamp | None, now: datetime) -> str:
    """What is wrong with the clock of an entry, in a sentence; empty where nothing is."""
    if one is None:
        return ""
    written = f"{written_at(one):%Y-%m-%d %H:%M}"
    if _at_the_latest(one) > now + CLOCKS_DIFFER:
        return say(
            "The time of an entry, {written}, lies in the future and does not count: set the clock"
            " right and correct the entry.",
            written=written,
        )
    off = timedelta(seconds=one["ahead_s"])
    if abs(off) <= CLOCKS_DIFFER:
        return ""
    time = how_long(abs(off))
    if off > timedelta():
        return say(
            "The time of an entry, {written}, came from a clock that was {time} ahead.",
            written=written,
            time=time,
        )
    return say(
        "The time of an entry, {written}, came from a clock that was {time} behind.",
        written=written,
        time=time,
    )


def is_later(one: Stamp | None, other: Stamp | None) -> bool:
    """Whether one is there, and came after the other or the other never came."""
    if one is None or other is None:
        return one is not None
    return (_at_the_latest(one), one["number"]) > (_at_the_latest(other), other["number"])


def how_long(gone: timedelta) -> str:
    """A stretch of time in one unit.

    >>> how_long(timedelta(days=3)), how_long(timedelta(hours=30)), how_long(timedelta(0))
    ('3 d', '30 h', '0 min')
    """
    seconds = max(gone.total_seconds(), 0.0)
    if seconds >= 2 * 86400.0:
        return say("{days:.0f} d", days=seconds // 86400.0)
    if seconds >= 2 * 3600.0:
        return say("{hours:.0f} h", hours=seconds // 3600.0)
    return say("{minutes:.0f} min", minutes=seconds // 60)


def day_of(moment_: datetime) -> str:
    """The day, UTC, as logs are read: 2026-05-03."""
    return f"{moment_.astimezone(UTC):%Y-%m-%d}"
