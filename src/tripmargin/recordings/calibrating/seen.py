"""The sensor's side of a calibration: what the passes say, and what follows from it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.ground.results import Spread
from tripmargin.ground.units import percent
from tripmargin.machine import Machine
from tripmargin.recordings.calibrating.lines import middle_of, slow_lines
from tripmargin.recordings.calibrating.observations import MetalFound, PeakRead, TestPass
from tripmargin.recordings.calibrating.sampling import Posterior, learn
from tripmargin.recordings.calibrating.seeing import SensorDoubt
from tripmargin.recordings.calibrating.signals import REFERENCE, Signal, signal
from tripmargin.recordings.recording import RecordingError
from tripmargin.sensing.piece_said import said_piece
from tripmargin.stopping import metal_speed

Floats = NDArray[np.float64]
SHARES = (0.025, 0.5, 0.975)
_SELDOM = 0.01  # a finding less likely than this by all the others does not fit them


def learned_from(dimensions: int, log_likelihood: Callable[[Floats], Floats]) -> Posterior:
    """`learn`, its refusal in the words of a yard."""
    try:
        return learn(dimensions, log_likelihood)
    except ValueError as none_fits:
        raise RecordingError(
            say(
                "{problem} Look for a wrong unit, a wrong cut length or a pass noted wrongly.",
                problem=str(none_fits),
            )
        ) from None


@dataclass(frozen=True, slots=True)
class Seen:
    """What the passes say of a sensor.

    Attributes
    ----------
    doubt
        What was not known before.
    learned
        What is known now.
    given
        The passes and peaks, each with its signal.
    places
        A reference ball on each line at the slowest cut, by its height in words.
    middle
        The one in the middle of the crop.
    """

    doubt: SensorDoubt
    learned: Posterior
    given: tuple[tuple[TestPass | PeakRead, Signal], ...]
    places: dict[str, Signal]
    middle: Signal

    @classmethod
    def of(
        cls, machine: Machine, passes: Sequence[TestPass | PeakRead], height_doubt: float
    ) -> Seen:
        """Learn from passes; without any it is what the file says."""
        doubt = SensorDoubt.of(machine, height=height_doubt)
        given = tuple((each, doubt.signal(each)) for each in passes)
        learned = learned_from(
            doubt.dimensions, lambda z: doubt.log_likelihood(given, doubt.draws(z))
        )
        lines = slow_lines(machine)
        places = {f"{1e3 * h:g} mm": signal(doubt.machine, REFERENCE, x, h, v) for x, h, v in lines}
        middle = list(places.values())[middle_of(lines)]
        return cls(doubt, learned, given, places, middle)

    def signal_spread(self) -> Spread:
        """Signal over threshold, over what the file says."""
        draws = self.doubt.draws(self.learned.points)
        return spread_of(self.learned, np.exp(draws.signal - draws.threshold))

    def height_spread(self) -> Spread:
        """Of the sensor over where the file has it, m."""
        return spread_of(self.learned, self.doubt.draws(self.learned.points).height)

    def log_size(self) -> Floats:
        """Logarithm of the ball's diameter, m, that just reaches the threshold."""
        ratio = self.doubt.log_ratio(self.middle, self.doubt.draws(self.learned.points))
        # A ball's signal goes with its volume.
        return np.asarray(np.log(0.01) - ratio / 3)

    def smallest(self) -> Spread:
        """Diameter of the ball that just reaches the threshold at the middle line, m."""
        return spread_of(self.learned, np.exp(self.log_size()))

    def crossing(self, found: MetalFound) -> tuple[float, float]:
        """Where found metal was when the threshold was reached: mean and sd, m."""
        machine = self.doubt.machine
        depth, width = machine.need(say("found metal"), "feed.crop_depth", "feed.roll_width")
        xs = [found.x] if found.x is not None else list(width.nominal * np.linspace(-0.4, 0.4, 3))
        hs = (
            [found.height]
            if found.height is not None
            else list(np.linspace(max(depth.low, 0.0), depth.high, 3))
        )
        speed = metal_speed(machine, found.cut_length)
        draws = self.doubt.draws(self.learned.some(256))
        where = []
        for x in xs:
            for h in hs:
                one = signal(machine, found.piece, float(x), float(h), speed)
                ratio = self.doubt.log_ratio(one, draws)
                where.append(one.crossing(ratio)[ratio >= 0])
        seen = np.concatenate(where)
        if not len(seen):
            raise RecordingError(
                say(
                    "{piece} found at {before_bar} m could not have tripped this machine as"
                    " it is filed. Was it another piece that tripped it?",
                    piece=said_piece(found.piece.name),
                    before_bar=found.before_bar,
                )
            )
        return float(seen.mean()), float(seen.std())

    def unlikely(self) -> tuple[str, ...]:
        """Passes that all the findings together make unlikely."""
        draws = self.doubt.draws(self.learned.points)
        made = []
        for number, (each, one) in enumerate(self.given, start=1):
            if not isinstance(each, TestPass):
                continue
            chance = self.learned.mean(self.doubt.catching(each, one, draws))
            if (chance if each.caught else 1 - chance) < _SELDOM:
                values = {
                    "number": number,
                    "piece": said_piece(each.piece.name),
                    "height": 1e3 * each.height,
                    "chance": percent(float(chance)),
                }
                if each.caught:
                    words = say(
                        "Pass {number}, {piece} at {height:g} mm, was caught; by the others its"
                        " chance of being caught is {chance}.",
                        **values,
                    )
                else:
                    words = say(
                        "Pass {number}, {piece} at {height:g} mm, was missed; by the others its"
                        " chance of being caught is {chance}.",
                        **values,
                    )
                made.append(words)
        return tuple(made)


def spread_of(learned: Posterior, values: Floats) -> Spread:
    """Median and 95 % limits of (n,) values."""
    low, middle, high = learned.quantiles(values, SHARES)
    return Spread(middle, low=low, high=high, sd=learned.sd(values))
