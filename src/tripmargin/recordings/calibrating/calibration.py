"""A machine learned from what a yard measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tripmargin.ground.languages import later, say
from tripmargin.ground.results import Spread, plain
from tripmargin.machine import Machine
from tripmargin.recordings.calibrating.keeping import as_measured, simplified
from tripmargin.recordings.calibrating.lines import passing_lines
from tripmargin.recordings.calibrating.next_piece import NextPass, next_pass
from tripmargin.recordings.calibrating.observations import (
    MetalFound,
    Observation,
    PeakRead,
    StopMeasured,
    TestPass,
)
from tripmargin.recordings.calibrating.seeing import UNKNOWN_HEIGHT
from tripmargin.recordings.calibrating.seen import Seen, learned_from, spread_of
from tripmargin.recordings.calibrating.sensor_widths import SensorWritten, sensor_written
from tripmargin.recordings.calibrating.stop_widths import StopWritten, stop_written
from tripmargin.recordings.calibrating.stops import StopDoubt
from tripmargin.recordings.calibrating.writing_back import CalibratedField
from tripmargin.recordings.recording import RecordingError
from tripmargin.sensing.pieces import Piece

TRAVEL_ONLY = later(
    "Found metal is learned from for its travel. That it tripped says next to nothing of"
    " the sensor: how high, where and how it lay is not known, and what does not trip is"
    " seldom found."
)
ENOUGH = 0.04  # standard deviation of ln(ball's diameter): 4 % of the size that is just seen


@dataclass(frozen=True, slots=True)
class AsWritten:
    """What a machine file with the learned fields says; None where nothing was learned of it.

    Attributes
    ----------
    smallest_seen : Spread or None, m
    stop_time : Spread or None, s
        To be set beside `Calibration.stop_time_any_day`.
    """

    smallest_seen: Spread | None
    stop_time: Spread | None


@dataclass(frozen=True, slots=True)
class Calibration:
    """What was learned.

    Attributes
    ----------
    machine
        The machine file's machine with the learned fields, marked as measured today.
    fields
        Each learned field, before and after.
    signal : Spread or None
        Signal over threshold, over what the file says (1: as filed); 95 %. None without passes.
    height : Spread or None, m
        Of the sensor over where the file has it; 95 %.
    smallest_seen : Spread or None, m
        Ball that just reaches the threshold over an assembly, in the middle of the crop, at the
        first cut; 95 %.
    stop_time : Spread or None, s
        At the first timed or tripped cut, each tooth waited for half its pitch; 95 %. None without
        stops.
    stop_time_any_day : Spread or None, s
        The same, with supply, temperature, cutterhead speed and slip anywhere within the file's
        limits and not as they were at those stops. This is what a machine file says.
    as_written : AsWritten
        What the file with the learned fields says.
    next_piece : NextPass or None
        What to pass next for most information; None where enough is known.
    enough
        Whether more passes would change little.
    because
        Plain sentences on it.
    unlikely
        Findings that do not fit the others, in words.
    assumed
        Plain sentences.
    simplified
        What the file cannot say as it was learned, in plain sentences.
    """

    machine: Machine
    fields: tuple[CalibratedField, ...]
    signal: Spread | None
    height: Spread | None
    smallest_seen: Spread | None
    stop_time: Spread | None
    stop_time_any_day: Spread | None
    as_written: AsWritten
    next_piece: NextPass | None
    enough: bool
    because: tuple[str, ...]
    unlikely: tuple[str, ...]
    assumed: tuple[str, ...]
    simplified: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return dict(
            plain(
                {
                    "fields": self.fields,
                    "signal_over_file": self.signal,
                    "sensor_height_m": self.height,
                    "smallest_seen_m": self.smallest_seen,
                    "stop_time_s": self.stop_time,
                    "stop_time_any_day_s": self.stop_time_any_day,
                    "as_written": {
                        "smallest_seen_m": self.as_written.smallest_seen,
                        "stop_time_any_day_s": self.as_written.stop_time,
                    },
                    "next_piece": self.next_piece,
                    "enough": self.enough,
                    "because": self.because,
                    "unlikely": self.unlikely,
                    "assumed": self.assumed,
                    "simplified": self.simplified,
                }
            )
        )


def calibrate(
    machine: Machine,
    observations: Sequence[Observation],
    *,
    pieces: Sequence[Piece] | None = None,
    height_doubt: float = UNKNOWN_HEIGHT,
    suggest: bool = True,
) -> Calibration:
    """Learn a machine from test pieces, peaks, timed stops and found metal.

    Parameters
    ----------
    machine : Machine
        As it is filed: its tolerances are what is believed before.
    observations : sequence
        `TestPass`, `PeakRead`, `StopMeasured` and `MetalFound`, in any order.
    pieces : sequence of Piece, optional
        Test pieces that the yard has, for the next one to pass; balls of 8 to 40 mm by default.
    height_doubt : float, m
        How far the sensor may stand off its height in the file, either way.
    suggest : bool
        Whether to work out the next piece.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the observations need.
    RecordingError
        If there is nothing to learn from, or no setting of the machine could have given it.

    Notes
    -----
    The same models as `prove`. Importance sampling, see `sampling.learn`. Found metal is read with
    what the passes say of the crossing, and says nothing back to them: in simulation ten pieces
    that tripped narrow the signal by less than 1 %, three that went through by less than a tenth,
    one chosen pass by more than a quarter (tests/recordings/test_found_metal_tells.py).
    """
    passes = [each for each in observations if isinstance(each, (TestPass, PeakRead))]
    stops = [each for each in observations if isinstance(each, (StopMeasured, MetalFound))]
    if not observations:
        raise RecordingError(
            say("Nothing to learn from. Give test passes, peaks, timed stops or found metal.")
        )
    assumed: list[str] = []
    seen: Seen | None = None
    if passes or any(isinstance(each, MetalFound) for each in stops):
        seen = Seen.of(machine, passes, height_doubt)
    sensor: SensorWritten | None = None
    if seen is not None and passes:
        sensor = sensor_written(seen)
        assumed += seen.doubt.assumed
    stop: StopWritten | None = None
    timed: Spread | None = None
    if stops:
        doubt = StopDoubt.of(machine)
        crossings = [
            seen.crossing(each) if seen and isinstance(each, MetalFound) else None for each in stops
        ]
        learned = learned_from(
            doubt.dimensions, lambda z: doubt.log_likelihood(stops, z, crossings)
        )
        stop = stop_written(doubt, learned, [each.cut_length for each in stops])
        assumed += (
            say(
                "Supply, temperature, cutterhead speed and slip were the same at all the"
                " stops; the file keeps its own limits for them."
            ),
            say(
                "Which stage a change of the stop time lies in is hardly known: all are"
                " moved a little, and their doubts are drawn in together."
            ),
        )
        if any(isinstance(each, MetalFound) for each in stops):
            assumed.append(say(TRAVEL_ONLY))
        timed = spread_of(
            learned, doubt.terms(doubt.values(learned.points), stops[0].cut_length).middle()
        )
    fields = (*(sensor.fields if sensor else ()), *(stop.fields if stop else ()))
    enough, because = _enough(seen) if seen is not None and passes else (True, ())
    following = None
    if suggest and seen is not None and passes and not enough:
        following = next_pass(seen.doubt, seen.learned, passing_lines(machine), pieces)
    return Calibration(
        machine=as_measured(machine, fields),
        fields=fields,
        signal=None if seen is None or not passes else seen.signal_spread(),
        height=None if seen is None or not passes else seen.height_spread(),
        smallest_seen=None if seen is None or not passes else seen.smallest(),
        stop_time=timed,
        stop_time_any_day=stop.any_day if stop else None,
        as_written=AsWritten(
            sensor.smallest_seen if sensor else None, stop.stop_time if stop else None
        ),
        next_piece=following,
        enough=enough,
        because=because,
        unlikely=() if seen is None else seen.unlikely(),
        assumed=tuple(assumed),
        simplified=simplified(fields, sensor.notes if sensor else ()),
    )


def first_pass(
    machine: Machine,
    *,
    pieces: Sequence[Piece] | None = None,
    height_doubt: float = UNKNOWN_HEIGHT,
) -> NextPass:
    """The pass that tells most before any is made.

    Raises
    ------
    NotKnownError
        If the machine file lacks what a pass needs.
    """
    seen = Seen.of(machine, (), height_doubt)
    return next_pass(seen.doubt, seen.learned, passing_lines(machine), pieces)


def _enough(seen: Seen) -> tuple[bool, tuple[str, ...]]:
    sd = seen.learned.sd(seen.log_size())
    size = seen.smallest()
    words = say(
        "The ball that is just seen is {size:.1f} mm, with 95 % between {low:.1f} and"
        " {high:.1f} mm.",
        size=1e3 * size,
        low=1e3 * size.low,
        high=1e3 * size.high,
    )
    values = {"sd": 100 * sd, "least": 100 * ENOUGH}
    if sd <= ENOUGH:
        known = say(
            "Its standard deviation is {sd:.2g} % of it, not more than {least:g} %: enough.",
            **values,
        )
    else:
        known = say(
            "Its standard deviation is {sd:.2g} % of it; from {least:g} % down no more passes are"
            " needed.",
            **values,
        )
    return sd <= ENOUGH, (words, known)
