"""The stops that the page plays: every value at its middle, and some drawn at random."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine
from tripmargin.pictures.trade_words import piece_words
from tripmargin.reports.how.inputs import Values, models_of
from tripmargin.reports.how.played import Run
from tripmargin.sensing import Pass, Piece, simulate_pass
from tripmargin.stopping import Stage, feed_speed, metal_speed, stop_chain
from tripmargin.stopping.feed import tooth_pitch
from tripmargin.stopping.stages import pawls_of, rest_angle

DRAWS, SEED = 20, 6


@dataclass(frozen=True, slots=True)
class Place:
    """A piece and where it travels: across the roll, and above it, m."""

    piece: Piece
    x: float
    height: float

    @classmethod
    def of(
        cls, machine: Machine, piece: Piece, x: float | None = None, height: float | None = None
    ) -> Place:
        """There; by default over the middle of the first magnet, at mid-height, as in a race.

        Raises
        ------
        NotKnownError
            If the file gives no height of the crop.
        """
        (depth,) = machine.need(later("a pass"), "feed.crop_depth")
        assemblies = machine.sensor.assemblies if machine.sensor is not None else ()
        if x is None:
            x = assemblies[0].centre[0].nominal if assemblies else 0.0
        return cls(piece, float(x), float(depth.nominal if height is None else height))

    def seen_by(self, machine: Machine, speed: float) -> Pass:
        """Its pass at a speed, m/s."""
        return simulate_pass(machine, self.piece, x=self.x, height=self.height, speed=speed)


def middle_run(machine: Machine, cut_length: float, place: Place | None) -> Run:
    """The stop with every value at its middle: the race's own stages.

    Parameters
    ----------
    machine : Machine
    cut_length : float, m
    place : Place or None
        None: the metal is taken as seen above the sensor's axis.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the stop, or the pass, needs.
    """
    chain = stop_chain(machine, cut_length=cut_length)
    speed = metal_speed(machine, cut_length)
    seen = None if place is None else place.seen_by(machine, speed)
    return _run(Values(machine), cut_length, chain.stages, (chain.feed_speed, speed), seen)


def _run(
    values: Values,
    cut_length: float,
    stages: tuple[Stage, ...],
    speeds: tuple[float, float],
    seen: Pass | None,
) -> Run:
    (bar,) = values.machine.need(later("the race"), "feed.sensor_to_shear_bar")
    start = 0.0 if seen is None or seen.crossing_y is None else seen.crossing_y
    return Run(values, cut_length, stages, *speeds, start, bar.nominal, seen)


def drawn_runs(machine: Machine, cut_length: float, place: Place | None) -> tuple[Run, ...]:
    """`DRAWS` stops with stage times, waits and speeds drawn at random, the same every time.

    The sensor's values and the way to the shear bar stay at their middles.

    Raises
    ------
    NotKnownError
        If the machine file lacks what they need.
    """
    rng = np.random.default_rng(SEED)
    return tuple(_drawn(machine, cut_length, place, rng) for _ in range(DRAWS))


def _drawn(
    machine: Machine, cut_length: float, place: Place | None, rng: np.random.Generator
) -> Run:
    drawn: dict[str, float] = {}

    def value(path: str) -> float:
        (q,) = machine.need(later("the race"), path)
        if path not in drawn:
            drawn[path] = float(q.ppf(rng.uniform(0.001, 0.999))) if q.uncertain else q.nominal
        return drawn[path]

    turning, slip = value("feed.cutterhead_speed"), value("feed.slip")
    (middle,) = machine.need(later("the race"), "feed.cutterhead_speed")
    roll = feed_speed(machine, cut_length) * turning / middle.nominal
    times: dict[str, float] = {}
    for model in models_of(machine):
        at = model.at({path: np.asarray(value(path)) for path, _ in model.uncertain})
        times |= dict(zip(model.names, (float(one) for one in at), strict=True))
    for pawl in pawls_of(machine):
        times[f"tooth {pawl.name}"] = rng.uniform() * tooth_pitch(machine, pawl.name) / roll
    rest = rest_angle(machine, roll)
    angle = float(rest.at({path: np.asarray(value(path)) for path, _ in rest.uncertain})[0])
    (diameter,) = machine.need(later("the race"), "feed.roll_diameter")
    times["rest"] = angle * diameter.nominal / roll  # 2 x angle x radius over the speed
    stages = tuple(
        Stage(s.name, times[s.name], times[s.name], times[s.name])
        for s in stop_chain(machine, cut_length=cut_length).stages
    )
    metal = roll * (1 - slip)
    seen = None if place is None else place.seen_by(machine, metal)
    return _run(Values(machine, drawn), cut_length, stages, (roll, metal), seen)


def what_comes(
    machine: Machine,
    piece: Piece,
    cut_length: float,
    x: float | None = None,
    height: float | None = None,
) -> tuple[Place | None, str]:
    """The piece where it can be seen; else None, and why not.

    Raises
    ------
    NotKnownError
        If a place was asked for, and what the sensor sees there is not known.
    """
    try:
        place = Place.of(machine, piece, x, height)
        place.seen_by(machine, metal_speed(machine, cut_length))
    except NotKnownError as error:
        if x is not None or height is not None:
            raise
        return None, say(
            "What the sensor sees is not known without {fields}: this is not the {piece}, but metal"
            " taken as seen above the sensor's axis. No voltage is drawn.",
            fields=", ".join(error.needs), piece=piece_words(piece.name),
        )  # fmt: skip
    return place, ""
