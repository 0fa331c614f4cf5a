"""A machine learned from what a yard measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tripmargin.ground.results import Spread, plain
from tripmargin.machine import Machine
from tripmargin.recordings.calibrating.next_piece import NextPass, next_pass
from tripmargin.recordings.calibrating.observations import (
    MetalFound,
    Observation,
    PeakRead,
    StopMeasured,
    TestPass,
)
from tripmargin.recordings.calibrating.seeing import UNKNOWN_HEIGHT
from tripmargin.recordings.calibrating.seen import (
    Seen,
    learned_from,
    passing_lines,
    spread_of,
)
from tripmargin.recordings.calibrating.stops import StopDoubt
from tripmargin.recordings.calibrating.writing_back import (
    CalibratedField,
    sensor_fields,
    stop_fields,
)
from tripmargin.recordings.recording import RecordingError
from tripmargin.sensing.pieces import Piece

ENOUGH = 0.04  # standard deviation of ln(ball's diameter): 4 % of the size that is just seen


@dataclass(frozen=True, slots=True)
class Calibration:
    """What was learned.

    Attributes
    ----------
    machine
        The machine file's machine with the learned fields.
    fields
        Each learned field, before and after.
    made_exact
        Fields whose own doubt is now part of the gain's: taken as exact in `machine`.
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
    """

    machine: Machine
    fields: tuple[CalibratedField, ...]
    made_exact: tuple[str, ...]
    signal: Spread | None
    height: Spread | None
    smallest_seen: Spread | None
    stop_time: Spread | None
    next_piece: NextPass | None
    enough: bool
    because: tuple[str, ...]
    unlikely: tuple[str, ...]
    assumed: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return dict(
            plain(
                {
                    "fields": self.fields,
                    "made_exact": self.made_exact,
                    "signal_over_file": self.signal,
                    "sensor_height_m": self.height,
                    "smallest_seen_m": self.smallest_seen,
                    "stop_time_s": self.stop_time,
                    "next_piece": self.next_piece,
                    "enough": self.enough,
                    "because": self.because,
                    "unlikely": self.unlikely,
                    "assumed": self.assumed,
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
    what the passes say of the crossing, and says nothing back to them.
    """
    passes = [each for each in observations if isinstance(each, (TestPass, PeakRead))]
    stops = [each for each in observations if isinstance(each, (StopMeasured, MetalFound))]
    if not observations:
        raise RecordingError(
            "Nothing to learn from. Give test passes, peaks, timed stops or found metal."
        )
    settings: dict[str, Any] = {}
    fields: list[CalibratedField] = []
    assumed: list[str] = []
    seen: Seen | None = None
    if passes or any(isinstance(each, MetalFound) for each in stops):
        seen = Seen.of(machine, passes, height_doubt)
    if seen is not None and passes:
        found, more = sensor_fields(seen.doubt, seen.learned, seen.places)
        fields += found
        settings |= more
        assumed += seen.doubt.assumed
    timed: Spread | None = None
    if stops:
        stop = StopDoubt.of(machine)
        crossings = [
            seen.crossing(each) if seen and isinstance(each, MetalFound) else None for each in stops
        ]
        learned = learned_from(stop.dimensions, lambda z: stop.log_likelihood(stops, z, crossings))
        cut = stops[0].cut_length
        found = stop_fields(stop, learned, cut)
        fields += found
        settings |= {each.path: each.after for each in found}
        assumed += (
            "Supply, temperature, cutterhead speed and slip were the same at all the stops; the"
            " file keeps its own limits for them.",
            "Which stage a change of the stop time lies in is hardly known: all are moved a little,"
            " and their doubts are drawn in together.",
        )
        timed = spread_of(learned, stop.terms(stop.values(learned.points), cut).middle())
    enough, because = _enough(seen) if seen is not None and passes else (True, ())
    following = None
    if suggest and seen is not None and passes and not enough:
        following = next_pass(seen.doubt, seen.learned, passing_lines(machine), pieces)
    return Calibration(
        machine=machine.with_settings(settings),
        fields=tuple(fields),
        made_exact=tuple(sorted(set(settings) - {each.path for each in fields})),
        signal=None if seen is None or not passes else seen.signal_spread(),
        height=None if seen is None or not passes else seen.height_spread(),
        smallest_seen=None if seen is None or not passes else seen.smallest(),
        stop_time=timed,
        next_piece=following,
        enough=enough,
        because=because,
        unlikely=() if seen is None else seen.unlikely(),
        assumed=tuple(assumed),
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
    words = (
        f"The ball that is just seen is {1e3 * size:.1f} mm, with 95 % between"
        f" {1e3 * size.low:.1f} and {1e3 * size.high:.1f} mm."
    )
    if sd <= ENOUGH:
        return True, (words, f"That is within {100 * sd:.1f} % of its size: enough.")
    return False, (words, f"That is {100 * sd:.1f} % of its size; {100 * ENOUGH:g} % is enough.")
