"""An angle or a count of the roll's turning, that begins anew or only grows, as turns."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.recordings.recording import Channel

Floats = NDArray[np.float64]
_A_TURN = {
    "deg": 360.0, "degree": 360.0, "degrees": 360.0, "°": 360.0, "grad": 360.0, "rad": 2 * pi,
    "rev": 1.0, "revs": 1.0, "turn": 1.0, "turns": 1.0, "u": 1.0,
}  # fmt: skip
_LEVELS = 9  # different values, from which it is no line that switches
_ONE_WAY = 0.9  # of all steps, that go the same way
_LEAST = 0.1  # of a turn, that it must have turned
_END = 0.05  # of the range, at each end of it
_NEAR = 0.05  # of a counter's size, within which it is a power of two
_BITS = (8, 10, 12, 14, 16, 24, 32)


@dataclass
class Counter:
    """Values as turns, from one part to the next.

    Attributes
    ----------
    per_turn
        Of the channel's unit for one turn; below zero where the channel falls as the roll turns.
    size
        By how much the channel jumps where it begins anew; 0 where it never does.
    because
        Why it is one, for words.
    """

    per_turn: float
    size: float
    because: str
    _last: float = field(default=np.nan)
    _added: float = 0.0
    _range: tuple[float, float] = (np.inf, -np.inf)

    def unwrapped(self, values: Floats) -> Floats:
        """(n,) turns, without the jumps back."""
        if np.isnan(self._last):
            self._last = float(values[0])
        steps = np.diff(values, prepend=self._last)
        self._range = (min(self._range[0], values.min()), max(self._range[1], values.max()))
        if not self.size:  # a count that has begun anew for the first time
            way = np.sign(self.per_turn)
            back = steps[steps * way < -0.5 * (self._range[1] - self._range[0])]
            self.size = _size(np.abs(back), None, abs(self.per_turn)) if len(back) else 0.0
        jumps = -self.size * np.round(steps / self.size) if self.size else np.zeros(len(values))
        added = self._added + np.cumsum(jumps)
        self._last, self._added = float(values[-1]), float(added[-1])
        return np.asarray((values + added) / self.per_turn)


def counter_of(values: Floats, channel: Channel, per_turn: float, asked: bool) -> Counter | None:
    """What the first part of a channel shows it to be; None where it is no angle and no count.

    Parameters
    ----------
    values : ndarray, (n,)
        Not a number where there is none.
    channel : Channel
        Its unit tells an angle from a count.
    per_turn : float
        Counts for one turn, where the unit is no angle.
    asked : bool
        A user says that it is one; else its unit must say so, or values that do not rest at two
        levels as those of pulses do.
    """
    seen = values[~np.isnan(values)]
    steps = np.diff(seen)
    moving = steps[steps != 0]
    if len(moving) < _LEVELS or len(np.unique(seen[: 1 << 16])) < _LEVELS:
        return None
    way = float(np.sign(np.median(moving)))
    if np.count_nonzero(moving * way > 0) < _ONE_WAY * len(moving):
        return None
    a_turn = _A_TURN.get(channel.unit.strip().lower())
    if a_turn is None and not asked and _rests_at_ends(seen):
        return None
    back = moving[moving * way < -0.5 * np.ptp(seen)]
    step = float(np.median(np.abs(moving)))
    size = _size(np.abs(back) + step, a_turn, per_turn) if len(back) else a_turn or 0.0
    in_volts = a_turn is None and channel.unit.strip().lower() in ("v", "mv") and len(back) > 0
    each = a_turn or (size if in_volts else per_turn)
    if abs(float(moving[moving * way > 0].sum())) < _LEAST * each:
        return None
    if len(back) and way > 0:
        because = say("it grows and begins anew, as an angle or a count of turns does")
    elif len(back):
        because = say("it falls and begins anew, as an angle or a count of turns does")
    elif way > 0:
        because = say("it only grows, as an angle or a count of turns does")
    else:
        because = say("it only falls, as an angle or a count of turns does")
    return Counter(way * each, size, because)


def _rests_at_ends(values: Floats) -> bool:
    """Whether most values lie at either end of the range, as those of pulses do."""
    low, high = values.min(), values.max()
    part = (values - low) / (high - low)
    return bool(np.count_nonzero(np.abs(part - 0.5) > 0.5 - _END) > 0.5 * len(values))


def _size(jumps: Floats, a_turn: float | None, per_turn: float) -> float:
    """By how much it jumps: whole turns, a counter's size, or what it is seen to be."""
    size = float(np.median(jumps))
    if a_turn is not None:
        return max(round(size / a_turn), 1) * a_turn
    known = [per_turn, *(2.0**bits for bits in _BITS)]
    best = min(known, key=lambda each: abs(each - size))
    return best if abs(best - size) <= _NEAR * size else size
