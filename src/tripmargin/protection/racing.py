"""The race: metal towards the shear bar, the stop towards its end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later
from tripmargin.ground.languages.phrases import Phrase
from tripmargin.ground.results import Spread, plain
from tripmargin.machine import Machine
from tripmargin.protection.bench import Bench
from tripmargin.protection.spots import Spot
from tripmargin.protection.stops import Stops
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping import Stage, StopChain
from tripmargin.stopping.feed import metal_speed, require_cut

Array = NDArray[np.float64]
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
    remarks: tuple[Phrase, ...]

    @property
    def notes(self) -> tuple[str, ...]:
        """What to know about the piece's pass, in the language spoken now."""
        return tuple(str(remark) for remark in self.remarks)

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
    require_cut(cut_length)
    stops = Stops(machine)
    spot = None if piece is None else Spot.of(machine, cut_length, piece, x, height)
    return race_of(stops, cut_length, spot)


def race_of(stops: Stops, cut_length: float, spot: Spot | None, *, fine: bool = True) -> Race:
    """The race of a stop at one cut, with a spot of that cut; `fine` as in `TravelChances.late`.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the race needs.
    """
    machine, chain = stops.machine, stops.chain(cut_length)
    (distance,) = machine.need(later("the race"), "feed.sensor_to_shear_bar")
    travel = stops.travel(cut_length, fine=fine)
    if spot is None:
        y: Spread | None = Spread(0.0, low=0.0, high=0.0)
        missed, late = 0.0, float(travel.late(0.0, fine=fine))
    else:
        y = spot.crossing_y
        bench = Bench(machine, [cut_length], sights=spot.sights, stops=stops)
        found = bench.chances(spot.seen, cut_length, np.ones(1), fine=fine)
        missed, late = float(found.missed[0]), float(found.too_late[0])
    bar = Spread(distance.nominal, low=distance.low, high=distance.high)
    times, lines = _positions(machine, chain, 0.0 if y is None else float(y))
    return Race(
        machine_name=machine.name,
        cut_length=cut_length,
        feed_speed=chain.feed_speed,
        metal_speed=metal_speed(machine, cut_length),
        piece=None if spot is None else spot.piece.name,
        x=None if spot is None else spot.x,
        height=None if spot is None else spot.height,
        stages=chain.stages,
        stop_time=chain.stop_time,
        travel=chain.travel,
        margin=None if y is None else _margin(bar, y, chain.travel, travel.travel()[1]),
        probability_through=min(missed + late, 1.0),
        probability_missed=missed,
        sensor_to_shear_bar=bar,
        crossing_y=None if y is None else float(y),
        times=times,
        position=lines[0],
        position_low=lines[1],
        position_high=lines[2],
        assumed=machine.assumed,
        remarks=() if spot is None else spot.remarks,
    )


def _margin(bar: Spread, y: Spread, travel: Spread, travel_sd: float) -> Spread:
    bar_sd, y_sd = ((s.high - s.low) / np.sqrt(12.0) for s in (bar, y))
    return Spread(
        bar - y - travel,
        low=bar.low - y.high - travel.high,
        high=bar.high - y.low - travel.low,
        sd=float(np.sqrt(travel_sd**2 + bar_sd**2 + y_sd**2)),
    )


def _positions(machine: Machine, chain: StopChain, start: float) -> tuple[Array, list[Array]]:
    """The metal's place from the crossing on: nominal, least and greatest (t,)."""
    (slip, turning) = machine.need(later("the race"), "feed.slip", "feed.cutterhead_speed")
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
