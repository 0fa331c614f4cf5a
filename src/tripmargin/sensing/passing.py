"""A pass: one piece drifts over the sensor, and what the detector makes of it."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.phrases import Phrase
from tripmargin.ground.results import plain
from tripmargin.ground.tables.table_words import MATERIAL_FIRST
from tripmargin.machine import Machine
from tripmargin.sensing.detector import Filter, settling_time, through_filter
from tripmargin.sensing.eddy import sphere_polarizability
from tripmargin.sensing.lines import MU0, REACH, Grid, averaged_fields, grid, linkage, on_grid
from tripmargin.sensing.noise import crossing_chance
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.sensor import sensor_of, sources

Array = NDArray[np.float64]
_STEP = 5e-4  # m
FASTEST = 100.0  # m/s; rolls feed at a few
_POINTS = 241
_NEARLY_MAGNETIC = 1.5  # below this relative permeability eddy currents may outdo it


@dataclass(frozen=True, slots=True, eq=False)
class Pass:
    """What one pass does.

    Attributes
    ----------
    t, y : ndarray, (n,), s and m
        Time and the piece's place along the flow; both zero above the roll's axis.
    linkage : ndarray, (n,), Wb
    emf, output : ndarray, (n,), V
        At the windings and at the amplifier's output.
    crossing_y : float or None, m
        Where the piece is when the output first reaches the threshold, either sign.
    peak : float, V
        Greatest |output|.
    probability : float or None
        Of being caught in the machine's noise.
    remarks : tuple of Phrase
        What to know about this pass; `notes` says it.
    """

    piece: Piece
    t: Array
    y: Array
    linkage: Array
    emf: Array
    output: Array
    threshold: float
    crossing_y: float | None
    peak: float
    probability: float | None
    remarks: tuple[Phrase, ...]

    @property
    def notes(self) -> tuple[str, ...]:
        """What to know about this pass, in the language spoken now."""
        return tuple(str(remark) for remark in self.remarks)

    @property
    def caught(self) -> bool:
        """Whether the output reaches the threshold without noise."""
        return self.crossing_y is not None

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "piece": self.piece,
                "t_s": self.t,
                "y_m": self.y,
                "linkage_Wb": self.linkage,
                "emf_V": self.emf,
                "output_V": self.output,
                "threshold_V": self.threshold,
                "crossing_y_m": self.crossing_y,
                "peak_V": self.peak,
                "probability": self.probability,
                "notes": self.notes,
            }
        )
        return made


def simulate_pass(machine: Machine, piece: Piece, *, x: float, height: float, speed: float) -> Pass:
    """One pass of a piece over the sensor.

    Parameters
    ----------
    machine : Machine
    piece : Piece
    x : float, m
        Place of the piece's centre across the roll, from its middle.
    height : float, m
        Of the piece's centre above the top of the lower front roll.
    speed : float, m/s
        Of the piece, with the crop.

    Raises
    ------
    NotKnownError
        If the machine file lacks the sensor, the gain, the threshold or the roll's diameter.
    ValueError
        If the place, the height or the speed cannot be.

    Notes
    -----
    Models page. Steel answers at once with its static polarizability. A piece that is hardly
    magnetic answers by its eddy currents, computed for a ball (Wait 1951); another shape is taken
    as the ball of its volume, and a note says so.

    Examples
    --------
    >>> import tripmargin
    >>> machine = tripmargin.load_machine("curlew")
    >>> one = simulate_pass(machine, Piece.ball(0.02), x=0.1, height=0.03, speed=1.5)
    >>> one.caught
    True
    """
    _require_place(x, height, speed)
    diameter, threshold = machine.need(later("a pass"), "feed.roll_diameter", "detector.threshold")
    sensor = sensor_of(machine, later("a pass"))
    filter_ = Filter.of(machine)
    on = grid(step=_STEP, behind=REACH + settling_time(filter_) * speed, points=_POINTS)
    angle = 0.0 if sensor.rotation is None else sensor.rotation.nominal
    where = np.array([x]), np.array([diameter.nominal / 2 + height])
    magnets, windings = averaged_fields(sources(sensor), angle, piece, *where, on)
    remarks = _remarks(machine, piece, height)
    if by_eddy_currents(piece):
        remarks = (*remarks, *_eddy_remarks(piece))
    flux = flux_linkage(piece, magnets, windings, on, speed)
    dt = on.step / speed
    emf, output = through_filter(flux, dt, filter_)
    shown = slice(int(np.searchsorted(on.y, -REACH)), int(np.searchsorted(on.y, 2 * REACH)))
    y, seen = on.y[shown], output[shown]
    return Pass(
        piece=piece,
        t=y / speed,
        y=y,
        linkage=flux[shown],
        emf=emf[shown],
        output=seen,
        threshold=threshold.nominal,
        crossing_y=first_crossing(y, seen, threshold.nominal),
        peak=float(peaks(seen[None])[0]),
        probability=_probability(machine, seen, dt, filter_),
        remarks=remarks,
    )


def _require_place(x: float, height: float, speed: float) -> None:
    for name, value, allowed in (
        ("x", x, say("a finite length")),
        ("height", height, say("0 m or more")),
        ("speed", speed, say("a positive speed up to {fastest:g} m/s", fastest=FASTEST)),
    ):
        bad = not isfinite(value) or (name == "speed" and not 0 < value <= FASTEST)
        if bad or (name == "height" and value < 0):
            unit = "m/s" if name == "speed" else "m"
            raise ValueError(
                say(
                    "{name} = {value!r} {unit}. Allowed: {allowed}.",
                    name=name,
                    value=value,
                    unit=unit,
                    allowed=allowed,
                )
            )


def peaks(output: Array) -> Array:
    """Greatest |output| of traces (..., n), by a parabola through the three highest samples."""
    size = np.abs(output)
    at = np.clip(size.argmax(axis=-1), 1, size.shape[-1] - 2)[..., None]
    before, top, after = (np.take_along_axis(size, at + k, -1)[..., 0] for k in (-1, 0, 1))
    bend = before - 2 * top + after
    rise = np.where(bend < 0, (before - after) ** 2 / (-8 * np.minimum(bend, -1e-300)), 0.0)
    # A corner of |output| is no parabola: never add more than the samples' own difference.
    return np.asarray(top + np.minimum(rise, np.maximum(top - np.minimum(before, after), 0.0) / 2))


def first_crossing(y: Array, output: Array, threshold: float) -> float | None:
    """Where |output| first reaches the threshold, between samples along a straight line."""
    size = np.abs(output)
    reached = np.flatnonzero(size >= threshold)
    if not len(reached):
        top = int(size.argmax())
        return float(y[top]) if peaks(output[None])[0] >= threshold else None
    k = int(reached[0])
    if k == 0:
        return float(y[0])
    share = (threshold - size[k - 1]) / (size[k] - size[k - 1])
    return float(y[k - 1] + share * (y[k] - y[k - 1]))


def _probability(machine: Machine, output: Array, dt: float, filter_: Filter) -> float | None:
    noise, threshold = machine.get("detector.noise"), machine.get("detector.threshold")
    if noise is None:
        return None
    rate = filter_.noise_crossing_rate() if filter_.high_cut is not None else None
    part = near_pass(output)
    chance = crossing_chance(
        output[part],
        dt,
        threshold=threshold.nominal,
        noise=noise.nominal,
        rate=rate,
        narrowness=filter_.narrowness,
    )
    return float(chance)


def near_pass(output: Array) -> slice:
    """The part of a trace in which the piece is seen at all: over 2 % of its peak."""
    size = np.abs(output)
    seen = np.flatnonzero(size >= 0.02 * size.max())
    return slice(int(seen[0]), int(seen[-1]) + 1) if len(seen) > 2 else slice(None)


def by_eddy_currents(piece: Piece) -> bool:
    """Whether a piece is seen by the currents driven in it, and not by its permeability."""
    return piece.relative_permeability < _NEARLY_MAGNETIC and piece.conductivity > 0


def flux_linkage(piece: Piece, magnets: Array, windings: Array, on: Grid, speed: float) -> Array:
    """Flux linkage of a piece along one line, Wb (n,); fields (1, k, 3) at the grid's points."""
    return np.asarray(flux_linkages(piece, magnets, windings, on, speed)[0])


def flux_linkages(piece: Piece, magnets: Array, windings: Array, on: Grid, speed: float) -> Array:
    """As `flux_linkage`, along many lines: fields (p, k, 3), linkages (p, n)."""
    if by_eddy_currents(piece):
        return _eddy_linkage(piece, magnets, windings, on, speed)
    return linkage(piece, magnets, windings, on)


def _eddy_linkage(piece: Piece, magnets: Array, windings: Array, on: Grid, speed: float) -> Array:
    """Linkage by the currents that the changing field drives in a ball of the piece's volume.

    The moment follows the field with the ball's complex polarizability, frequency by frequency.
    """
    radius = float(np.cbrt(3 * piece.volume / (4 * np.pi)))
    field, sensitivity = (on_grid(np.swapaxes(b, 1, 2), on) for b in (magnets, windings))
    frequency = np.fft.rfftfreq(len(on.y), on.step / speed)
    alpha = np.full(len(frequency), complex(0.0))
    alpha[1:] = sphere_polarizability(
        radius, piece.conductivity, piece.relative_permeability, frequency[1:]
    )
    alpha[0] = (
        4
        * np.pi
        * radius**3
        * (piece.relative_permeability - 1)
        / (piece.relative_permeability + 2)
    )
    moment = np.fft.irfft(np.fft.rfft(field) * alpha, len(on.y)) / MU0
    return np.asarray(np.einsum("pcn,pcn->pn", moment, sensitivity))


_AS_BALL = {
    "rod": later("The rod is taken as the ball of its volume for this."),
    "plate": later("The plate is taken as the ball of its volume for this."),
    "ellipsoid": later("The ellipsoid is taken as the ball of its volume for this."),
}


def _eddy_remarks(piece: Piece) -> tuple[Phrase, ...]:
    first = Phrase(
        later(
            "{material} is hardly magnetic: what signal there is comes from the currents that the"
            " moving field drives in it."
        ),
        {"material": Phrase(MATERIAL_FIRST[piece.material])},
    )
    if piece.kind == "ball":
        return (first,)
    return (first, Phrase(_AS_BALL[piece.kind]))


def _remarks(machine: Machine, piece: Piece, height: float) -> tuple[Phrase, ...]:
    depth = machine.get("feed.crop_depth")
    thin = 2 * float(np.min(piece.semi_axes))
    remarks = []
    if depth is not None and thin > depth.high:
        remarks.append(
            Phrase(
                later(
                    "The piece is thicker ({thin:.0f} mm) than the opening between the rolls"
                    " ({opening:.0f} mm): it cannot pass."
                ),
                {"thin": thin * 1e3, "opening": depth.high * 1e3},
            )
        )
    if piece.kind == "ball" and piece.dimensions[0] / 2 > height + 1e-9:
        remarks.append(
            Phrase(later("The ball's centre is lower than its radius: it would touch the roll."))
        )
    return tuple(remarks)
