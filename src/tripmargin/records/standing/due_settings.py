"""What is due of pawl gaps and of the stop time."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from tripmargin.ground.languages import say, say_many
from tripmargin.ground.units import shown
from tripmargin.records.standing.conditions import (
    stop_time_beyond,
)
from tripmargin.records.standing.due_thing import BEFORE_WORK, GAP_IN_FILE, SOON, Due
from tripmargin.records.standing.facts import Facts
from tripmargin.records.standing.gaps_in_file import all_words, to_be_filed
from tripmargin.records.standing.pawl_names import pawl_said
from tripmargin.records.standing.stamps import (
    Stamp,
    day_of,
    how_long,
    moment,
    written_at,
)


def gaps_due(facts: Facts, now: datetime, us: bool) -> Iterator[Due]:
    """Gaps outside the window, never measured, or measured too long ago."""
    asked, gaps = facts["asked"], facts["gaps"]
    pawls = asked["pawls"] if asked else []
    if asked:
        for pawl, gap in gaps.items():
            yield from _gap_outside(pawl, gap, asked, us)
    never = [pawl for pawl in pawls if pawl not in gaps]
    if never:
        yield Due(
            "pawl gaps",
            SOON,
            say_many(
                "Never measured: the gap of the {pawls} pawl.",
                "Never measured: the gap of the {pawls} pawls.",
                len(never),
                pawls=_pawls(never),
            ),
            None,
            "adjustment",
        )
    every = timedelta(seconds=facts["plan"]["gaps_every_s"])
    old = {pawl: at for pawl, gap in gaps.items() if (at := moment(gap, now)) and now - at > every}
    if old:
        oldest = min(old.values())
        yield Due(
            "pawl gaps",
            SOON,
            say_many(
                "The gap of the {pawls} pawl was last measured on {day}, {ago} ago (every"
                " {every}).",
                "The gap of the {pawls} pawls was last measured on {day}, {ago} ago (every"
                " {every}).",
                len(old),
                pawls=_pawls(list(old)),
                day=day_of(oldest),
                ago=how_long(now - oldest),
                every=how_long(every),
            ),
            oldest + every,
            "adjustment",
        )


def _gap_outside(pawl: str, gap: Stamp, asked: dict[str, Any], us: bool) -> Iterator[Due]:
    low, high = asked["clearance_m"]
    value = gap["m"]
    if low <= value <= high:
        return
    near = gap["step_m"] and min(abs(value - low), abs(value - high)) <= gap["step_m"] / 2
    window = say(
        "{low} to {high}", low=shown(low, "length", us=us), high=shown(high, "length", us=us)
    )
    if "limits.clearance" in asked["assumed"]:
        window = say("{window}, assumed", window=window)
    values = {
        "pawl": pawl_said(pawl),
        "gap": shown(value, "length", us=us),
        "day": day_of(written_at(gap)),
        "window": window,
    }
    if value > high:
        words = say(
            "The gap of the {pawl} pawl was left at {gap} on {day}, outside {window}: it hits"
            " late.",
            **values,
        )
    else:
        words = say(
            "The gap of the {pawl} pawl was left at {gap} on {day}, outside {window}: it may drag"
            " on the ratchet.",
            **values,
        )
    if near:
        hidden = say("By half a step of the gauge it may still be inside.")
        words = f"{words} {hidden}"
    yield Due("pawl gaps", BEFORE_WORK, words, written_at(gap), "adjustment")


def gaps_in_file_due(facts: Facts, now: datetime, us: bool) -> Iterator[Due]:
    """Gaps that the machine's file has otherwise."""
    apart = to_be_filed(facts, now)
    if apart:
        yield Due(GAP_IN_FILE, SOON, all_words(apart, us=us), min(gap.at for gap in apart))


def _pawls(names: list[str]) -> str:
    """Their names in a row, as they stand behind "the"."""
    said = pawl_said(names[0])
    for name in names[1:]:
        said = say("{pawls} and the {pawl}", pawls=said, pawl=pawl_said(name))
    return said


def stop_time_due(facts: Facts, now: datetime) -> Iterator[Due]:
    """A stop time never measured, beyond what is allowed, or measured too long ago."""
    last, kind = facts["stop_time"], "stop time"
    if last is None:
        yield Due(kind, SOON, say("The stop time was never measured."), None, kind)
        return
    if stop_time_beyond(facts):
        limit = facts["asked"]["stop_time_s"]
        values = {
            "time": shown(last["s"], "time"),
            "day": day_of(written_at(last)),
            "limit": shown(limit, "time"),
        }
        if "limits.stop_time" in facts["asked"]["assumed"]:
            words = say(
                "The stop took {time} on {day}, longer than the {limit} allowed, assumed.", **values
            )
        else:
            words = say("The stop took {time} on {day}, longer than the {limit} allowed.", **values)
        yield Due(kind, BEFORE_WORK, words, written_at(last), kind)
    at, every = moment(last, now), timedelta(seconds=facts["plan"]["stop_time_every_s"])
    if at is not None and now - at > every:
        yield Due(
            kind,
            SOON,
            say(
                "The stop time was last measured on {day}, {ago} ago (every {every}).",
                day=day_of(at),
                ago=how_long(now - at),
                every=how_long(every),
            ),
            at + every,
            kind,
        )
