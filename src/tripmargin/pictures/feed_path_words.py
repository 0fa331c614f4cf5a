"""What the feed path's picture says in words, and the table behind it."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

import numpy as np

from tripmargin.ground.languages import say, say_as
from tripmargin.ground.languages.lists import listed
from tripmargin.pictures.answers import race_answers
from tripmargin.pictures.axes import INCH
from tripmargin.pictures.course import runs
from tripmargin.pictures.feed_path_motion import rests_at, stands_still
from tripmargin.pictures.feed_path_parts import FeedPath, FeedRaceLike, drawn_teeth
from tripmargin.pictures.feed_path_view import ball_diameter
from tripmargin.pictures.lanes import lanes_of
from tripmargin.pictures.page import Cell, Table
from tripmargin.pictures.trade_words import stage_words
from tripmargin.pictures.words import length, length_unit

FEET_A_MINUTE = 0.3048 / 60  # m/s


def answers_of(race: FeedRaceLike | None, missing: Sequence[str], us: bool) -> list[str]:
    """The answer above the picture, or that there is none and for want of what."""
    if race is not None:
        return race_answers(race, us)
    if not missing:
        return [say("The race is not known, so no piece is drawn.")]
    return [
        say(
            "The race is not known: the machine file does not give {fields}. No piece is drawn.",
            fields=", ".join(missing),
        )
    ]


def read_it(path: FeedPath, race: FeedRaceLike | None) -> str:
    """How to read the picture, and what in it is only schematic."""
    if race is None:
        start = say(
            "metal comes from the left with the crop, over the sensor, towards the shear bar."
        )
    elif runs(race):
        start = say(
            "metal comes from the left with the crop. Where the sensor's field shows it, the stop "
            "begins; the metal must stand still before the shear bar."
        )
    else:
        start = say(
            "metal comes from the left with the crop. This piece gives too weak a signal, so "
            "nothing stops it."
        )
    return f"{start} {to_scale(path, race)}"


def to_scale(path: FeedPath, race: FeedRaceLike | None) -> str:
    """What is to scale, and what is schematic for want of a number."""
    exact = [
        (say("lower roll"), path.radius is not None),
        (say("sensor"), bool(path.blocks)),
        (say("crop's height"), path.crop is not None),
        (say("way to the shear bar"), path.bar is not None),
    ]
    known = [name for name, given in exact if given]
    guessed = [name for name, given in exact if not given and name != say("sensor")]
    ball = race is not None and ball_diameter(race.piece) is not None
    known += [say("ball")] if ball else []
    dashed = [*guessed, say("upper roll"), say("cutterhead"), say("body of the shear bar")]
    parts = [say("Nothing here is to scale.")]
    if known:
        parts = [say("To scale: {parts}.", parts=listed(known))]
    parts.append(say("Dashed is schematic: {parts}.", parts=listed(dashed)))
    loose = [say("the rolls' flutes")]
    if race is not None and race.stages and runs(race):
        loose.append(say("the size of pawls and ratchets"))
        if any(pawl.teeth != drawn_teeth(pawl) for pawl in path.pawls):
            loose.append(say("the teeth of a dashed ratchet"))
    if race is not None and not ball:
        loose.append(say("the size of the piece"))
    parts.append(say("Schematic too: {parts}. The path is drawn straight.", parts=listed(loose)))
    if not path.blocks:
        parts.append(say("The machine file does not give the sensor's parts."))
    return " ".join(parts)


def notes_of(path: FeedPath) -> list[str]:
    """What the picture leaves out."""
    notes = [say("What lies between the front rolls and the shear bar is not in the machine file.")]
    if path.crop_assumed:
        notes.append(say("The crop's height is assumed."))
    return notes


def description_of(path: FeedPath, race: FeedRaceLike | None, us: bool) -> str:
    """Places and stages in sentences, for a person who does not see the picture."""
    told = []
    if path.bar is not None:
        way = length(path.bar[0], us)
        told.append(say("The shear bar lies {way} behind the sensor's axis.", way=way))
    if race is None or not runs(race):
        return " ".join(told)
    low, high = float(race.position_low[-1]), float(race.position_high[-1])
    caught, stands = float(race.position[0]), float(race.position[-1])
    told.append(say("Caught {where}.", where=_from_axis(caught, us)))
    if stands_still(race):
        told.append(
            say(
                "It stands {where}, at the least {least}, at the most {most}.",
                where=_from_axis(stands, us),
                least=_from_axis(low, us),
                most=_from_axis(high, us),
            )
        )
    stages = ", ".join(stage_words(stage.name) for stage in race.stages)
    told.append(say("Stages: {stages}. The table gives places and times.", stages=stages))
    return " ".join(told)


def feed_path_table(race: FeedRaceLike, us: bool = False, *, frames: int = 12) -> Table:
    """The feed path played, as rows: where the metal is, how fast, what runs, how far is left.

    Parameters
    ----------
    race : FeedRaceLike
    us : bool
        Places in inches, speeds in feet a minute.
    frames : int
        Evenly spread instants from the crossing to the end; each stage's beginning and end is
        there besides.

    Returns
    -------
    (headers, rows)
        For a piece that is not caught: its way at full speed from above the sensor's axis to the
        shear bar.

    Raises
    ------
    ValueError
        If `frames` is less than 2.
    """
    if frames < 2:
        raise ValueError(
            say(
                "frames = {frames}: 2 or more are needed, for a beginning and an end.",
                frames=frames,
            )
        )
    unit, pace = (INCH, FEET_A_MINUTE) if us else (1e-3, 1.0)
    name, speeds = length_unit(us)[0], "ft/min" if us else "m/s"
    headers = (
        say("time, ms"),
        say("place past the sensor's axis, {unit}", unit=name),
        say("speed, {unit}", unit=speeds),
        say("stage"),
        say("left to the shear bar, {unit}", unit=name),
    )
    bar, caught = race.sensor_to_shear_bar.nominal, runs(race)
    ends = rests_at(race) if caught else bar / race.metal_speed
    instants = set(np.linspace(0.0, ends, frames).tolist())
    if caught:
        instants |= {t for t in _boundaries(race) if t <= ends}
    rows: list[list[Cell]] = []
    for t in _apart(sorted(instants)):
        place = float(np.interp(t, race.times, race.position)) if caught else race.metal_speed * t
        speed = _speed(race, t) if caught else race.metal_speed
        stage = _stage(race, t) if caught else say("not caught: no stage runs")
        shown = (t * 1e3, place / unit, speed / pace)
        rows.append([*(round(v, 3) for v in shown), stage, round((bar - place) / unit, 3)])
    return headers, rows


def _boundaries(race: FeedRaceLike) -> set[float]:
    lanes, _ = lanes_of(race.stages)
    return {t for lane in lanes for bar in lane.bars for t in (bar.begins, bar.ends)}


def _apart(instants: list[float]) -> list[float]:
    """Without those that only rounding sets apart."""
    kept: list[float] = []
    for t in instants:
        if not kept or t - kept[-1] > 1e-6:
            kept.append(t)
    return kept


def _speed(race: FeedRaceLike, t: float) -> float:
    """Of the metal, m/s: even until the last pawl has caught, then evenly less until rest."""
    lanes, caught = lanes_of(race.stages)
    stands = lanes[-1].bars[-1].ends if lanes and lanes[-1].name == "rest" else caught
    if t <= caught or not isfinite(caught):
        return race.metal_speed
    if not isfinite(stands):
        return race.metal_speed
    return race.metal_speed * max(1 - (t - caught) / max(stands - caught, 1e-9), 0.0)


def _stage(race: FeedRaceLike, t: float) -> str:
    """What runs from an instant on."""
    lanes, _ = lanes_of(race.stages)
    running = [
        stage_words(bar.stage.name)
        for lane in lanes
        for bar in lane.bars
        if bar.begins - 1e-6 <= t < bar.ends - 1e-6
    ]
    return listed(running) if running else say_as("metal", "at rest")


def _from_axis(place: float, us: bool) -> str:
    distance = length(abs(place), us)
    if place >= 0:
        return say("{distance} behind the sensor's axis", distance=distance)
    return say("{distance} before the sensor's axis", distance=distance)
