"""Reach: the smallest ball that the sensor catches, place by place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.phrases import Phrase
from tripmargin.ground.results import plain
from tripmargin.machine import Machine
from tripmargin.sensing.blind_spots import BlindSpot, blind_spots
from tripmargin.sensing.detector import Filter, output_only, settling_time
from tripmargin.sensing.lines import REACH, grid, line_fields, linkage
from tripmargin.sensing.noise import crossing_chance, false_trips_per_hour
from tripmargin.sensing.passing import FASTEST, peaks
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.sensor import sensor_of, sources
from tripmargin.sensing.tables import STEP

Array = NDArray[np.float64]
_REFERENCE = 0.01  # m; a ball's signal goes with its volume, so one size tells all
_PLACES, _HEIGHTS = 41, 21
_SILENT = 1e-6  # of the strongest place's signal: nothing at all


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """What the sensor sees at one speed.

    Attributes
    ----------
    places : ndarray, (x,), m;  heights : ndarray, (h,), m above the roll
    smallest_ball : ndarray, (h, x), m
        Diameter of the smallest steel ball caught; infinite where none up to the roll's width is.
    probability : float or None
        Asked of the catching, noise included; None: without noise.
    blind : tuple of BlindSpot
        Where the must-stop ball is not caught.
    bottom_to_top : float
        Signal at the lowest height over the signal at the highest, mid across the sensor's best.
    false_trips_per_hour : float or None
        By noise alone; None where noise has no finite rate or is not given.
    """

    machine_name: str
    speed: float
    places: Array
    heights: Array
    smallest_ball: Array
    probability: float | None
    must_stop_diameter: float | None
    blind: tuple[BlindSpot, ...]
    bottom_to_top: float
    false_trips_per_hour: float | None
    remarks: tuple[Phrase, ...]
    assumed: tuple[str, ...]

    @property
    def notes(self) -> tuple[str, ...]:
        """What to know about the noise, in the language spoken now."""
        return tuple(str(remark) for remark in self.remarks)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI; null where no ball is caught."""
        made: dict[str, Any] = plain(
            {
                "machine": self.machine_name,
                "speed_m_s": self.speed,
                "places_m": self.places,
                "heights_m": self.heights,
                "smallest_ball_m": self.smallest_ball,
                "probability": self.probability,
                "must_stop_diameter_m": self.must_stop_diameter,
                "blind": self.blind,
                "bottom_to_top": self.bottom_to_top,
                "false_trips_per_hour": self.false_trips_per_hour,
                "notes": self.notes,
                "assumed": self.assumed,
            }
        )
        return made


def reach(
    machine: Machine,
    *,
    speed: float,
    places: Sequence[float] | Array | None = None,
    heights: Sequence[float] | Array | None = None,
    probability: float | None = None,
) -> Reach:
    """The smallest ball caught at each place and height.

    Parameters
    ----------
    machine : Machine
    speed : float, m/s
        Of the metal.
    places, heights : sequence of float, m, optional
        Across the roll, and above it; by default 41 over its width and 21 over `crop_depth`.
    probability : float, optional
        How surely it must be caught, the machine's noise included; without it noise is left out.

    Raises
    ------
    NotKnownError
        If the machine file lacks the sensor, the gain, the threshold or a length needed.
    ValueError
        If the speed or the probability cannot be.

    Notes
    -----
    A ball is a point of moment 3 V (mu - 1) / (mu + 2) B0 / mu0, so its signal goes with its
    diameter cubed, and the smallest ball follows from one pass of any. It reads low for a large
    ball near the sensor: the safe side.

    Examples
    --------
    >>> import tripmargin
    >>> machine = tripmargin.load_machine("curlew")
    >>> seen = reach(machine, speed=2.0, places=[0.1], heights=[0.03, 0.06])
    >>> bool(seen.smallest_ball[0, 0] < seen.smallest_ball[1, 0])
    True
    """
    _require(speed, probability)
    at, above = _where(machine, places, heights)
    threshold, diameter, width = machine.need(
        later("reach"), "detector.threshold", "feed.roll_diameter", "feed.roll_width"
    )
    filter_ = Filter.of(machine)
    output, dt = _outputs(machine, at, above + diameter.nominal / 2, speed, filter_)
    top = peaks(output).reshape(len(above), len(at))
    with np.errstate(divide="ignore"):
        size = _REFERENCE * np.cbrt(threshold.nominal / top)
    if probability is not None:
        size = size * _surer(machine, output, dt, filter_, probability).reshape(size.shape)
    size[(size > width.nominal) | (top <= _SILENT * top.max())] = np.inf
    must_stop = ball_of(machine)
    return Reach(
        machine_name=machine.name,
        speed=speed,
        places=at,
        heights=above,
        smallest_ball=size,
        probability=probability,
        must_stop_diameter=must_stop,
        blind=blind_spots(at, above, size, must_stop),
        bottom_to_top=float(top[0].max() / top[-1].max()) if top[-1].max() > 0 else float("inf"),
        false_trips_per_hour=_false_trips(machine, speed),
        remarks=_remarks(machine),
        assumed=tuple(a for a in machine.assumed if a.startswith(("feed", "sensor", "detector"))),
    )


def _require(speed: float, probability: float | None) -> None:
    if not 0 < speed <= FASTEST:
        raise ValueError(
            say(
                "speed = {speed!r} m/s. Allowed: a positive speed up to {fastest:g} m/s.",
                speed=speed,
                fastest=FASTEST,
            )
        )
    if probability is not None and not 0 < probability < 1:
        raise ValueError(
            say(
                "probability = {probability!r}. Allowed: between 0 and 1, such as 0.99.",
                probability=probability,
            )
        )


def _where(
    machine: Machine,
    places: Sequence[float] | Array | None,
    heights: Sequence[float] | Array | None,
) -> tuple[Array, Array]:
    if places is None:
        (width,) = machine.need(later("reach"), "feed.roll_width")
        places = np.linspace(-0.5, 0.5, _PLACES) * width.nominal
    if heights is None:
        (depth,) = machine.need(later("reach"), "feed.crop_depth")
        heights = np.linspace(max(depth.low, 0.0), depth.high, _HEIGHTS)
    made = []
    for name, values in (("places", places), ("heights", heights)):
        one = np.atleast_1d(np.asarray(values, dtype=float))
        if one.ndim != 1 or not len(one) or not np.isfinite(one).all():
            raise ValueError(say("{name}: finite lengths in metres are needed.", name=name))
        made.append(one)
    return made[0], made[1]


def _outputs(
    machine: Machine, at: Array, z: Array, speed: float, filter_: Filter
) -> tuple[Array, float]:
    """Traces (heights x places, n) of the reference ball, and their time step."""
    sensor = sensor_of(machine, later("reach"))
    on = grid(step=STEP, behind=REACH + settling_time(filter_) * speed)
    angle = 0.0 if sensor.rotation is None else sensor.rotation.nominal
    height, place = (a.ravel() for a in np.meshgrid(z, at, indexing="ij"))
    fields = line_fields(sources(sensor), angle, place, height, on, np.zeros(3))
    flux = linkage(Piece.ball(_REFERENCE), *fields, on)
    dt = on.step / speed
    shown = slice(int(np.searchsorted(on.y, -REACH)), int(np.searchsorted(on.y, 2 * REACH)))
    return output_only(flux, dt, filter_)[:, shown], dt


def _surer(
    machine: Machine, output: Array, dt: float, filter_: Filter, probability: float
) -> Array:
    """How many times larger a ball must be than the barely caught one, place by place."""
    noise, threshold = machine.need(
        later("reach with noise"), "detector.noise", "detector.threshold"
    )
    rate = filter_.noise_crossing_rate() if filter_.high_cut is not None else None
    size = np.abs(output).max(axis=1)
    shape = output / np.where(size > 0, size, 1.0)[:, None] * threshold.nominal
    low, high = np.full(len(output), 0.0), np.full(len(output), 3.0)
    for _ in range(22):
        middle = 0.5 * (low + high)
        chance = crossing_chance(
            shape * (middle**3)[:, None],
            dt,
            threshold=threshold.nominal,
            noise=noise.nominal,
            rate=rate,
            narrowness=filter_.narrowness,
        )
        low, high = (
            np.where(chance < probability, middle, low),
            np.where(chance < probability, high, middle),
        )
    return high


def ball_of(machine: Machine) -> float | None:
    """Diameter of the must-stop piece where it is a ball, m."""
    piece = Piece.from_text(machine.limits.must_stop)
    return piece.dimensions[0] if piece.kind == "ball" else None


def _false_trips(machine: Machine, speed: float) -> float | None:
    if machine.get("detector.noise") is None or machine.get("detector.high_cut") is None:
        return None
    return false_trips_per_hour(machine, roll_speed=speed)


def _remarks(machine: Machine) -> tuple[Phrase, ...]:
    made = []
    noise, threshold = machine.get("detector.noise"), machine.get("detector.threshold")
    if noise is not None and noise.nominal * 4 > threshold.nominal:
        made.append(
            Phrase(
                later(
                    "The noise ({noise}) is over a quarter of the threshold ({threshold}): the"
                    " detector trips by itself all the time."
                ),
                {"noise": noise.text, "threshold": threshold.text},
            )
        )
    if noise is not None and noise.nominal > 0 and machine.get("detector.high_cut") is None:
        made.append(
            Phrase(
                later(
                    "Without a low-pass (detector.high_cut) the noise has no finite rate of"
                    " crossings: false trips are not known, and the chance of catching counts the"
                    " strongest instant only, a lower bound."
                )
            )
        )
    if noise is not None and noise.nominal == 0:
        made.append(
            Phrase(later("The file gives no noise at all: catching is all or nothing here."))
        )
    return tuple(made)
