"""The feed path in motion: the metal's way on the race's own time, and animation without a script.

SVG's declarative animation (SMIL): it plays as the picture loads, rests, and plays again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, isfinite
from typing import Any

import numpy as np

from tripmargin.pictures.course import course_end, runs
from tripmargin.pictures.data import Array
from tripmargin.pictures.feed_path_parts import FeedRaceLike
from tripmargin.pictures.lanes import lanes_of
from tripmargin.pictures.svg import _MARK, Canvas, number

LEAD = 0.025  # s, the most that is shown before the crossing
PAUSE = 2.5  # s of the viewer's, before it plays again

Style = dict[str, Any]


class Group(Canvas):
    """Shapes on a canvas that are moved, clipped or lit as one."""

    def __init__(self, on: Canvas) -> None:
        super().__init__(on.width, on.look)
        self._on = on

    def pattern(self, kind: str, colour: str, weight: float = 1.0, ground: str = "none") -> str:
        """A fill, kept with the picture's other fills."""
        return self._on.pattern(kind, colour, weight, ground)

    @property
    def parts(self) -> list[str]:
        """Its elements, in the order drawn."""
        return self._parts

    def clip(self, name: str, box: tuple[float, float, float, float]) -> str:
        """A window, px: left, top, width, height; returns its url for `clip_path`.

        An inner <svg> would clip too, but browsers give it a clock of its own.
        """
        x, y, wide, high = (number(part) for part in box)
        window = f'<rect x="{x}" y="{y}" width="{wide}" height="{high}"/>'
        self._on.element("clipPath", window, id=f"{_MARK}-{name}")
        return f"url(#{_MARK}-{name})"

    def close(self, name: str = "g", **attributes: Any) -> None:
        """Put the group on its canvas, as an element of that name."""
        self._on.element(name, "".join(self._parts), **attributes)


@dataclass(frozen=True, slots=True)
class Way:
    """Where the metal is, and how far the lower roll has still to turn.

    Attributes
    ----------
    times : ndarray, (n,), s
        From the crossing, or from the start of a way that nothing stops; negative before.
    places : ndarray, (n,), m
        Along the path from above the sensor's axis.
    turns : ndarray, (n,), rad
        Of the lower roll; it ends with 0.
    """

    times: Array
    places: Array
    turns: Array

    def turn_at(self, instant: float) -> float:
        """Of the lower roll at an instant, rad."""
        return float(np.interp(instant, self.times, self.turns))


def way_of(race: FeedRaceLike, radius: float, start: float, end: float) -> Way:
    """The metal's way, from a place on the left: to rest, or to a place on the right.

    Parameters
    ----------
    race : FeedRaceLike
    radius : float, m
        Of the lower roll.
    start, end : float, m
        Between which a way that nothing stops is shown; a caught one begins at `start` too, but
        not sooner than `LEAD` before the crossing.

    Notes
    -----
    From the crossing on these are the race's own instants and places. The rolls' surface runs
    ahead of the metal by the slip.
    """
    speed = race.metal_speed
    if runs(race):
        until = rests_at(race)
        given, position = np.asarray(race.times, float), np.asarray(race.position, float)
        times = np.append(given[given < until], until)
        places = np.interp(times, given, position)
        if not stands_still(race) and places[-1] < end:  # the feed runs on, out of the picture
            times = np.append(times, times[-1] + (end - places[-1]) / speed)
            places = np.append(places, end)
        lead = min(max((places[0] - start) / speed, 0.0), LEAD)
        times = np.concatenate([[times[0] - lead], times])
        places = np.concatenate([[places[0] - speed * lead], places])
    else:
        times = np.array([0.0, (end - start) / speed])
        places = np.array([start, end], dtype=float)
    turns = (places - places[-1]) * race.feed_speed / speed / radius
    return Way(times, places, turns)


def stands_still(race: FeedRaceLike) -> bool:
    """Whether the piece is caught and the feed comes to rest, with every input at its middle."""
    return runs(race) and race.margin is not None and isfinite(race.margin.nominal)


def rests_at(race: FeedRaceLike) -> float:
    """When the metal stands, s; the end of the race's times where it never does."""
    lanes, caught = lanes_of(race.stages)
    stands = lanes[-1].bars[-1].ends if lanes and lanes[-1].name == "rest" else caught
    last = float(race.times[-1])
    if not lanes:
        return course_end(race)
    return min(stands, last) if isfinite(stands) else last


@dataclass(frozen=True, slots=True)
class Motion:
    """A stretch of a race's time, slowed, with a pause behind it."""

    begins: float  # s of the race
    ends: float
    slow: float

    @property
    def lasts(self) -> float:
        """Of one round, s of the viewer's."""
        return (self.ends - self.begins) * self.slow + PAUSE

    def part(self, instant: float) -> float:
        """An instant of the race as a part of one round."""
        return float(np.clip((instant - self.begins) * self.slow / self.lasts, 0.0, 1.0))

    def animate(
        self,
        on: Canvas,
        name: str,
        keys: Sequence[tuple[float, str]],
        *,
        kind: str = "",
        steps: bool = False,
    ) -> None:
        """Change an attribute of the group that it is put on.

        Parameters
        ----------
        on : Canvas
        name : str
            The attribute.
        keys : sequence of (float, str)
            Instants of the race, s, rising, and the values there; held before and after.
        kind : str
            For a transform: "translate" or "rotate".
        steps : bool
            Jump from value to value.
        """
        parts = [self.part(instant) for instant, _ in keys]
        values = [value for _, value in keys]
        if parts[0] > 0:
            parts, values = [0.0, *parts], [values[0], *values]
        if not steps:
            parts, values = [*parts, 1.0], [*values, values[-1]]
        on.element(
            "animateTransform" if kind else "animate",
            attributeName=name,
            **({"type": kind} if kind else {}),
            dur=f"{self.lasts:.6f}s",
            repeatCount="indefinite",
            calcMode="discrete" if steps else "linear",
            keyTimes=";".join(f"{part:.6f}".rstrip("0").rstrip(".") for part in parts),
            values=";".join(values),
        )

    def turning(self, on: Canvas, way: Way, sign: int) -> None:
        """Turn a group about its own zero as the lower roll turns, or against it."""
        angles = zip(way.times, sign * np.degrees(way.turns), strict=True)
        self.animate(on, "transform", [(t, f"{a:.2f}") for t, a in angles], kind="rotate")


def wheel_keys(way: Way, caught: float, ratio: float) -> list[tuple[float, str]]:
    """Instants and angles, degrees, of a ratchet that stands from when its pawl has caught."""
    instants = [*(float(t) for t in way.times if t < caught)]
    if caught <= way.times[-1]:
        instants.append(caught)
    stands = way.turn_at(min(caught, float(way.times[-1])))
    return [(t, f"{degrees(ratio * (way.turn_at(t) - stands)):.2f}") for t in instants]
