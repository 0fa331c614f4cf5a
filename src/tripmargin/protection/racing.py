"""The race: metal towards the shear bar, the stop towards its end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.results import Spread, plain
from tripmargin.machine import Machine
from tripmargin.protection.bench import Bench
from tripmargin.protection.seeing import Glimpse
from tripmargin.sensing.passing import simulate_pass
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.tables import LEVELS, level_of
from tripmargin.stopping import Stage, StopChain, feed_speed, stop_chain, travel_chances
from tripmargin.stopping.feed import metal_speed

Array = NDArray[np.float64]
_DRAWS = 1024
_INSTANTS = 160


@dataclass(frozen=True, slots=True, eq=False)
class Race:
    """Metal against stop, at one cut.

    Attributes
    ----------
    margin : Spread or None, m
        The metal's distance from the shear bar when the rolls stand; negative: through. None where
        the piece is not caught with every input at its middle.
    probability_through : float
        Over all tolerances: not caught, or caught and too late.
    probability_missed : float
        Of not being caught; 0 without a piece.
    stages : tuple of Stage
    crossing_y : float or None, m
        Where the piece is at the crossing; 0 without a piece.
    times, position, position_low, position_high : ndarray, (t,), s and m
        The metal's place along the path from the crossing to rest, and its limits.
    """

    machine_name: str
    cut_length: float
    feed_speed: float
    metal_speed: float
    piece: str | None
    x: float | None
    height: float | None
    stages: tuple[Stage, ...]
    stop_time: Spread
    travel: Spread
    margin: Spread | None
    probability_through: float
    probability_missed: float
    sensor_to_shear_bar: Spread
    crossing_y: float | None
    times: Array
    position: Array
    position_low: Array
    position_high: Array
    assumed: tuple[str, ...]
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "machine": self.machine_name,
                "cut_length_m": self.cut_length,
                "feed_speed_m_s": self.feed_speed,
                "metal_speed_m_s": self.metal_speed,
                "piece": self.piece,
                "x_m": self.x,
                "height_m": self.height,
                "stages": self.stages,
                "stop_time_s": self.stop_time,
                "travel_m": self.travel,
                "margin_m": self.margin,
                "probability_through": self.probability_through,
                "probability_missed": self.probability_missed,
                "sensor_to_shear_bar_m": self.sensor_to_shear_bar,
                "crossing_y_m": self.crossing_y,
                "times_s": self.times,
                "position_m": self.position,
                "position_low_m": self.position_low,
                "position_high_m": self.position_high,
                "assumed": self.assumed,
                "notes": self.notes,
            }
        )
        return made


@dataclass(frozen=True, slots=True)
class _Crossing:
    """Where and how surely the piece is caught."""

    y: Spread | None
    missed: float
    late: float
    notes: tuple[str, ...]


def race(
    machine: Machine,
    *,
    cut_length: float,
    piece: Piece | None = None,
    x: float | None = None,
    height: float | None = None,
    **settings: Any,
) -> Race:
    """The race at one cut, with or without a piece.

    Parameters
    ----------
    machine : Machine
    cut_length : float, m
    piece : Piece, optional
        Without one the crossing is taken above the sensor axis, and certain.
    x, height : float, m, optional
        Place of the piece's centre; by default over the middle of the first magnet, and mid-height.
    **settings
        Fields set otherwise for a what-if, SI; see `Machine.with_settings`.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the race needs.
    ValueError
        If the cut length, the place or a setting cannot be.

    Notes
    -----
    Models page. The probability is a sum over tolerances: stage times by convolution, tooth
    waits and the last pawl in closed form, speeds and lengths by Gauss quadrature, the sensor's
    tolerances by evenly spread draws. Noise decides whether a piece is caught; that it may bring
    the crossing forward is left out.

    Examples
    --------
    >>> import tripmargin
    >>> machine = tripmargin.load_machine("whimbrel")
    >>> one, other = (race(machine, cut_length=c).margin for c in (0.008, 0.02))
    >>> one > other
    True
    """
    if settings:
        machine = machine.with_settings(settings)
    chain = stop_chain(machine, cut_length=cut_length)
    (distance,) = machine.need("the race", "feed.sensor_to_shear_bar")
    travel = travel_chances(machine, cut_length)
    if piece is None:
        crossing = _Crossing(Spread(0.0, low=0.0, high=0.0), 0.0, float(travel.late(0.0)), ())
    else:
        x = _over_first_magnet(machine) if x is None else x
        height = _mid_height(machine) if height is None else height
        crossing = _crossing(machine, cut_length, piece, x, height)
    y = crossing.y
    bar = Spread(distance.nominal, low=distance.low, high=distance.high)
    times, lines = _positions(machine, chain, 0.0 if y is None else float(y))
    return Race(
        machine_name=machine.name,
        cut_length=cut_length,
        feed_speed=chain.feed_speed,
        metal_speed=metal_speed(machine, cut_length),
        piece=None if piece is None else piece.name,
        x=None if piece is None else x,
        height=None if piece is None else height,
        stages=chain.stages,
        stop_time=chain.stop_time,
        travel=chain.travel,
        margin=None if y is None else _margin(bar, y, chain.travel, travel.travel()[1]),
        probability_through=min(crossing.missed + crossing.late, 1.0),
        probability_missed=crossing.missed,
        sensor_to_shear_bar=bar,
        crossing_y=None if y is None else float(y),
        times=times,
        position=lines[0],
        position_low=lines[1],
        position_high=lines[2],
        assumed=machine.assumed,
        notes=crossing.notes,
    )


def _margin(bar: Spread, y: Spread, travel: Spread, travel_sd: float) -> Spread:
    bar_sd, y_sd = ((s.high - s.low) / np.sqrt(12.0) for s in (bar, y))
    return Spread(
        bar - y - travel,
        low=bar.low - y.high - travel.high,
        high=bar.high - y.low - travel.low,
        sd=float(np.sqrt(travel_sd**2 + bar_sd**2 + y_sd**2)),
    )


def _over_first_magnet(machine: Machine) -> float:
    sensor = machine.sensor
    if sensor is None or not sensor.assemblies:
        return 0.0
    return sensor.assemblies[0].centre[0].nominal


def _mid_height(machine: Machine) -> float:
    (depth,) = machine.need("the race", "feed.crop_depth")
    return depth.nominal


def _crossing(
    machine: Machine, cut_length: float, piece: Piece, x: float, height: float
) -> _Crossing:
    """The piece's crossing at one place, and how surely it is missed or stopped too late."""
    one = simulate_pass(machine, piece, x=x, height=height, speed=metal_speed(machine, cut_length))
    if machine.get("detector.noise") is None:
        machine.need("the race with a piece", "detector.noise")
    bench = Bench(machine, [cut_length])
    bench.places, bench.heights = np.array([x]), np.array([height])
    seen = bench.sight(piece, bench.sample(_DRAWS, place=x, height=height))
    found = bench.chances(seen, cut_length, np.ones(1), fine=True)
    y = None
    if one.crossing_y is not None:
        low, high = _ends(seen.at(feed_speed(machine, cut_length)), one.crossing_y)
        y = Spread(one.crossing_y, low=low, high=high)
    return _Crossing(y, float(found.missed[0]), float(found.too_late[0]), one.notes)


def _ends(glimpse: Glimpse, nominal: float) -> tuple[float, float]:
    """Least and greatest crossing among the draws that are caught."""
    threshold = glimpse.sample.get("detector.threshold")
    caught = glimpse.peak >= threshold
    if not caught.any():
        return nominal, nominal
    q = level_of(threshold[caught] / glimpse.peak[caught])
    rows = glimpse.crossing[caught]
    where = [np.interp(level, LEVELS, row) for level, row in zip(q, rows, strict=True)]
    return float(min(*where, nominal)), float(max(*where, nominal))


def _positions(machine: Machine, chain: StopChain, start: float) -> tuple[Array, list[Array]]:
    """The metal's place from the crossing on: nominal, least and greatest (t,)."""
    (slip, turning) = machine.need("the race", "feed.slip", "feed.cutterhead_speed")
    spread = turning.high / turning.nominal, turning.low / turning.nominal
    speed = chain.feed_speed * (1 - slip.nominal)
    slow = chain.feed_speed * spread[1] * (1 - slip.high)
    fast = chain.feed_speed * spread[0] * (1 - slip.low)
    longest = chain.stop_time.high if np.isfinite(chain.stop_time.high) else 0.15
    end = max(longest, 1e-3)
    times = np.linspace(0.0, end, _INSTANTS)
    lines = []
    for v, catch, travel in (
        (speed, chain.catch_time.nominal, chain.travel.nominal),
        (slow, chain.catch_time.low, chain.travel.low),
        (fast, chain.catch_time.high, chain.travel.high),
    ):
        if not np.isfinite(catch):  # a part sticks: the metal goes on
            lines.append(start + v * times)
            continue
        # The catch and the travel fix the way to rest; the rolls slow down evenly over it.
        catch = min(catch, travel / v)
        way = max(travel - v * catch, 0.0)
        rest = 2 * way / v if way > 0 else 0.0
        braking = np.clip((times - catch) / rest, 0.0, 1.0) if rest > 0 else 1.0 * (times > catch)
        lines.append(start + v * np.minimum(times, catch) + way * braking * (2 - braking))
    return times, lines
