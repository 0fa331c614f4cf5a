"""Invented results with the shape of real ones: slow feeding misses, fast feeding is too late."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import erf
from typing import Any

import numpy as np

normal = np.vectorize(lambda z: 0.5 * (1 + erf(z / 2**0.5)))


@dataclass(frozen=True)
class Spread:
    nominal: float
    low: float
    high: float


@dataclass(frozen=True)
class Stage(Spread):
    name: str = ""


@dataclass(frozen=True)
class Blind:
    x_low: float
    x_high: float
    height: float
    kind: str


@dataclass(frozen=True)
class Map:
    cut_lengths: Any
    diameters: Any
    missed: Any
    too_late: Any
    protected: Any
    machine_name: str = "Plover"
    confidence: float = 0.99
    cuts_on_offer: tuple[float, ...] = (0.005, 0.007, 0.010, 0.014, 0.019, 0.026)
    must_stop: str = "20 mm ball"
    must_stop_diameter: float | None = 0.020
    longest_protected_cut: float | None = 0.0147
    smallest_protected_ball: float | None = 0.0103
    assumed: tuple[str, ...] = ("feed.slip", "chain.rest.roll_angle")


@dataclass(frozen=True)
class Race:
    stages: tuple[Stage, ...]
    margin: Spread | None
    probability_through: float
    sensor_to_shear_bar: Spread
    crossing_y: float | None
    times: Any
    position: Any
    position_low: Any
    position_high: Any
    machine_name: str = "Plover"
    cut_length: float = 0.014
    assumed: tuple[str, ...] = ("feed.slip",)
    piece: str | None = "20 mm ball"
    x: float | None = -0.12
    height: float | None = 0.04
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reach:
    places: Any
    heights: Any
    smallest_ball: Any
    machine_name: str = "Plover"
    speed: float = 1.7
    blind: tuple[Blind, ...] = ()
    must_stop_diameter: float | None = 0.020
    probability: float | None = 0.99
    assumed: tuple[str, ...] = field(default_factory=tuple)


def window(cuts: Any = None, diameters: Any = None, late: float = 0.0185, **more: Any) -> Map:
    """A map with a window: the smallest ball seen falls with speed, the stop fails with speed."""
    cut_lengths = np.linspace(0.004, 0.028, 61) if cuts is None else np.asarray(cuts, dtype=float)
    balls = np.geomspace(0.003, 0.06, 61) if diameters is None else np.asarray(diameters)
    c, d = np.meshgrid(cut_lengths, balls, indexing="ij")
    seen = normal(np.log(d / (0.0078 * (0.012 / c) ** 0.45)) / 0.16)
    # A big piece is seen a little sooner, so it may come a little faster.
    stopped = normal((late * (d / 0.02) ** 0.06 - c) / 0.0017)
    return Map(cut_lengths, balls, 1 - seen, seen * (1 - stopped), seen * stopped, **more)


def constant(missed: float, too_late: float, **more: Any) -> Map:
    """A map that is the same everywhere."""
    cuts, balls = np.linspace(0.004, 0.028, 9), np.geomspace(0.003, 0.06, 8)
    whole = np.ones((9, 8))
    more = {"longest_protected_cut": None, "smallest_protected_ball": None, **more}
    return Map(
        cuts, balls, missed * whole, too_late * whole, (1 - missed - too_late) * whole, **more
    )


STAGES = (
    Stage(0.003, 0.002, 0.004, "decision_delay"),
    Stage(0.0065, 0.004, 0.009, "relay_release"),
    Stage(0.0121, 0.0093, 0.0158, "release"),
    Stage(0.007, 0.005, 0.009, "plunger"),
    Stage(0.007, 0.0053, 0.0084, "swing lower"),
    Stage(0.0071, 0.0, 0.0142, "tooth lower"),
    Stage(0.0074, 0.0056, 0.0089, "swing upper"),
    Stage(0.0071, 0.0, 0.0142, "tooth upper"),
    Stage(0.0063, 0.0042, 0.0084, "rest"),
)


def _run(speed: float, lasts: tuple[float, float], start: float, times: Any) -> Any:
    caught, rest = lasts
    slowing = np.clip(times - caught, 0, 2 * rest)
    return start + speed * (np.minimum(times, caught) + slowing - slowing**2 / (4 * rest))


def race(speed: float = 2.2, bar: float = 0.33, caught: bool = True, **more: Any) -> Race:
    """A stop with a fan; at a speed of 6 m/s it goes through."""
    times = np.linspace(0, 0.09, 91)
    nominal, low, high = (
        _run(speed * f, (c, 0.0063), y, times)
        for f, c, y in ((1.0, 0.0431, 0.028), (0.95, 0.029, 0.02), (1.02, 0.060, 0.037))
    )
    margin = Spread(bar - nominal[-1], bar - 0.004 - high[-1], bar + 0.004 - low[-1])
    given: dict[str, Any] = {
        "stages": STAGES,
        "margin": margin if caught else None,
        "probability_through": 3.1e-4 if caught and margin.low > 0 else (0.45 if caught else 1.0),
        "sensor_to_shear_bar": Spread(bar, bar - 0.004, bar + 0.004),
        "crossing_y": 0.028 if caught else None,
        "times": times if caught else times[:0],
        "position": nominal if caught else nominal[:0],
        "position_low": low if caught else low[:0],
        "position_high": high if caught else high[:0],
    }
    return Race(**{**given, **more})


def reach(blind_line: bool = True, **more: Any) -> Reach:
    """Two magnets side by side, with or without a line in the middle that sees nothing."""
    places, heights = np.linspace(-0.32, 0.32, 41), np.linspace(0.010, 0.090, 21)
    x, h = np.meshgrid(places, heights)
    near = np.hypot(np.maximum(np.abs(np.abs(x) - 0.15) - 0.09, 0.0), h + 0.035)
    ball = 0.0035 * (near / 0.05) ** 2.0
    blind: tuple[Blind, ...] = ()
    if blind_line:
        ball = ball / np.maximum(np.abs(np.tanh(x / 0.035)), 1e-9) ** (1 / 3)
        ball = np.where(np.abs(x) < 0.004, np.inf, ball)
        blind = tuple(Blind(-0.008, 0.008, height, "windings cancel") for height in heights)
    given = {"places": places, "heights": heights, "smallest_ball": ball, "blind": blind}
    return Reach(**{**given, **more})
