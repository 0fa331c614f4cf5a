"""What findings of the log say in words, and which were left out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tripmargin.ground.languages import say, say_many
from tripmargin.ground.units import shown
from tripmargin.records.kinds.shared_fields import found_said
from tripmargin.sensing.piece_said import said_piece

if TYPE_CHECKING:
    from tripmargin.recordings import MetalFound, StopMeasured, TestPass
    from tripmargin.records.store.models import Entry

    Observation = TestPass | StopMeasured | MetalFound


def finding_words(entry: Entry, *, us: bool) -> str:
    """What a finding says, in a line."""
    values: dict[str, Any] = entry.values

    def size(key: str) -> str:
        return shown(values[key], "length", us=us)

    if entry.kind == "test pass":
        side = across_words(values["across_m"], us=us)
        speed = shown(values["speed_m_s"], "speed", us=us, digits=3)
        told = {
            "piece": said_piece(values["piece"]),
            "side": side,
            "height": size("height_m"),
            "speed": speed,
        }
        if values["caught"]:
            return say("{piece}, {side}, {height} high, {speed}: caught", **told)
        return say("{piece}, {side}, {height} high, {speed}: missed", **told)
    if entry.kind == "stop time":
        time, sd = (shown(values[key], "time", us=us) for key in ("stop_time_s", "sd_s"))
        return say(
            "{time}, standard deviation {sd}, at cut {cut}",
            time=time,
            sd=sd,
            cut=size("cut_length_m"),
        )
    where = shown(abs(values["left_m"]), "length", us=us)
    told = {
        "found": found_said(values["found"]),
        "size": size("size_m"),
        "where": where,
        "cut": size("cut_length_m"),
    }
    if values["left_m"] < 0:
        return say("{found}, {size} across, lay {where} past the shear bar at cut {cut}", **told)
    return say("{found}, {size} across, lay {where} before the shear bar at cut {cut}", **told)


def across_words(x: float, *, us: bool) -> str:
    """A place across the roll, seen the way that the crop goes.

    >>> across_words(-0.163, us=False), across_words(0.0, us=False)
    ('163 mm left of the middle', 'in the middle')
    """
    if abs(x) < 0.5e-3:
        return say("in the middle")
    away = shown(abs(x), "length", us=us)
    if x < 0:
        return say("{away} left of the middle", away=away)
    return say("{away} right of the middle", away=away)


def left_out(count: int, kind: str, why: str) -> str:
    """How many entries of a kind are left out, and why."""
    if kind == "test pass":
        return say_many(
            "1 test pass is left out: {why}",
            "{count} test passes are left out: {why}",
            count,
            why=why,
        )
    if kind == "stop time":
        return say_many(
            "1 stop time is left out: {why}",
            "{count} stop times are left out: {why}",
            count,
            why=why,
        )
    return say_many(
        "1 trip is left out: {why}", "{count} trips are left out: {why}", count, why=why
    )
