"""What a yard can tell of a machine: pieces passed, peaks read, metal found, stops timed."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TypeAlias

from tripmargin.ground.languages import say
from tripmargin.recordings.recording import RecordingError
from tripmargin.sensing.pieces import Piece

LARGEST = 2.0  # m; no roll or feed path is longer


@dataclass(frozen=True, slots=True)
class TestPass:
    """A test piece sent over the sensor, and whether the detector tripped.

    Attributes
    ----------
    piece
        With its attitude.
    x, height
        Of the piece's centre, m: across the roll from its middle, above the roll's top.
    speed
        m/s, along the crop's path.
    caught
        Whether it tripped.
    place_doubt
        Standard uncertainty of x and of height, m: a piece on a stick is not put down to the
        millimetre. The value taken where none is said is common practice, no source.
    speed_doubt
        Standard uncertainty of the speed, as a share of it.
    """

    __test__ = False  # not a test of ours, whatever its name begins with

    piece: Piece
    x: float
    height: float
    speed: float
    caught: bool
    place_doubt: float = 0.003
    speed_doubt: float = 0.02

    def __post_init__(self) -> None:
        _of_a_pass(self)


@dataclass(frozen=True, slots=True)
class PeakRead:
    """The greatest voltage that a passing piece made, read from a logger.

    Attributes
    ----------
    piece, x, height, speed, place_doubt, speed_doubt
        As of a `TestPass`.
    peak
        Greatest magnitude, V.
    at
        "output": behind the amplifier; "coil": at the sensor's own leads.
    peak_doubt
        Standard uncertainty of the reading, as a share of it.
    """

    piece: Piece
    x: float
    height: float
    speed: float
    peak: float
    at: str = "output"
    peak_doubt: float = 0.02
    place_doubt: float = 0.003
    speed_doubt: float = 0.02

    def __post_init__(self) -> None:
        _of_a_pass(self)
        _within("peak", self.peak, 1e-9, 1e3, "V")
        _within("peak_doubt", self.peak_doubt, 1e-4, 1.0, say("of the peak"))
        if self.at not in ("output", "coil"):
            raise RecordingError(say("at = {at!r}. Allowed: 'output' or 'coil'.", at=self.at))


@dataclass(frozen=True, slots=True)
class MetalFound:
    """Where metal lay when the feed stood after a trip: a measured travel.

    Attributes
    ----------
    piece
        What was found.
    cut_length
        In use when it tripped, m.
    before_bar
        How far short of the shear bar it lay, m; negative: past it.
    x, height
        Where it came along, m, where that is known.
    doubt
        Standard uncertainty of `before_bar`, m.
    """

    piece: Piece
    cut_length: float
    before_bar: float
    x: float | None = None
    height: float | None = None
    doubt: float = 0.01

    def __post_init__(self) -> None:
        _within("cut_length", self.cut_length, 1e-4, 0.2, "m")
        _within("before_bar", self.before_bar, -LARGEST, LARGEST, "m")
        _within("doubt", self.doubt, 1e-4, 0.5, "m")


@dataclass(frozen=True, slots=True)
class StopMeasured:
    """A stop that was timed: from the threshold's crossing until the rolls stood.

    Attributes
    ----------
    cut_length
        In use, m.
    value, low, high
        s; the limits hold it with 95 %.
    """

    cut_length: float
    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        _within("cut_length", self.cut_length, 1e-4, 0.2, "m")
        _within("value", self.value, 1e-4, 10.0, "s")
        if not self.low < self.value < self.high:
            raise RecordingError(
                say(
                    "A stop time of {value} s within {low} to {high} s: the limits must lie"
                    " on either side of it.",
                    value=self.value,
                    low=self.low,
                    high=self.high,
                )
            )


Observation: TypeAlias = TestPass | PeakRead | MetalFound | StopMeasured


def _of_a_pass(seen: TestPass | PeakRead) -> None:
    if seen.piece.kind != "ball" and not seen.piece.attitude_given:
        raise RecordingError(
            say(
                "{name}: how it lay is not said, and that changes its signal many times. Say"
                ' it behind the piece: "along", "across" or "upright".',
                name=seen.piece.name,
            )
        )
    _within("x", seen.x, -LARGEST, LARGEST, "m")
    _within("height", seen.height, 0.0, LARGEST, "m")
    _within("speed", seen.speed, 1e-3, 100.0, "m/s")
    _within("place_doubt", seen.place_doubt, 0.0, 0.1, "m")
    _within("speed_doubt", seen.speed_doubt, 0.0, 0.5, say("of the speed"))


def _within(name: str, value: float, least: float, most: float, unit: str) -> None:
    if not (isfinite(value) and least <= value <= most):
        raise RecordingError(
            say(
                "{name} = {value!r} {unit}. Allowed: {least:g} to {most:g} {unit}.",
                name=name,
                value=value,
                unit=unit,
                least=least,
                most=most,
            )
        )
