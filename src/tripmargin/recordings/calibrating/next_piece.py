"""Which test piece to pass next, so that the answer tells most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.results import plain
from tripmargin.recordings.calibrating.observations import TestPass
from tripmargin.recordings.calibrating.sampling import Posterior
from tripmargin.recordings.calibrating.seeing import LAPSE, SensorDoubt, SensorDraws
from tripmargin.recordings.calibrating.signals import REFERENCE, louder, signal
from tripmargin.sensing.pieces import Piece

Floats = NDArray[np.float64]
_DRAWS = 512
ATTITUDES = ("along", "across", "upright")
BALLS = tuple(
    Piece.ball(1e-3 * size) for size in (8, 10, 12, 14, 16, 18, 20, 22, 25, 28, 32, 36, 40)
)


@dataclass(frozen=True, slots=True)
class NextPass:
    """A pass to make.

    Attributes
    ----------
    piece
        To pass.
    x, height
        Where, m.
    speed
        How fast, m/s.
    chance
        Of being caught, by what is known now.
    bits
        What its answer tells on average.
    """

    piece: Piece
    x: float
    height: float
    speed: float
    chance: float
    bits: float

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return dict(
            plain(
                {
                    "piece": self.piece,
                    "x_m": self.x,
                    "height_m": self.height,
                    "speed_m_s": self.speed,
                    "chance_caught": self.chance,
                    "bits": self.bits,
                }
            )
        )


def as_passed(pieces: Sequence[Piece] | None) -> tuple[Piece, ...]:
    """The pieces to choose from, each as it may be passed: a bolt of no attitude in all three.

    Examples
    --------
    >>> [one.name for one in as_passed([Piece.ball(0.015)])]
    ['15 mm ball']
    """
    if pieces is None:
        return BALLS
    return tuple(dict.fromkeys(one for piece in pieces for one in _ways(piece)))


def _ways(piece: Piece) -> list[Piece]:
    """How it may be passed; how it lies stands in its name, so that an answer tells it."""
    if piece.kind == "ball":
        return [piece]
    turned = {word: piece.turned(word) for word in ATTITUDES}
    return [
        one if one.name.endswith(f" {word}") else replace(one, name=f"{one.name} {word}")
        for word, one in turned.items()
        if not piece.attitude_given or np.allclose(one.orientation, piece.orientation)
    ] or [piece]


def next_pass(
    doubt: SensorDoubt,
    learned: Posterior,
    lines: Sequence[tuple[float, float, float]],
    pieces: Sequence[Piece] | None = None,
) -> NextPass:
    """The pass whose answer is expected to tell most of the sensor.

    Parameters
    ----------
    lines : sequence of (x, height, speed), m, m, m/s
    pieces : sequence of Piece, optional
        None but these are chosen from; `BALLS` by default.

    Notes
    -----
    Mutual information of answer and parameters: the entropy of the mean chance less the mean of the
    chances' entropies (Lindley, Ann. Math. Stat. 27 (1956) 986).
    """
    draws = doubt.draws(learned.some(_DRAWS))
    chosen = as_passed(pieces)
    best: NextPass | None = None
    for x, height, speed in lines:
        chance = LAPSE / 2 + (1 - LAPSE) * _caught(doubt, draws, chosen, x, height, speed)
        told = _entropy(chance.mean(axis=1)) - _entropy(chance).mean(axis=1)
        most = int(told.argmax())
        if best is None or told[most] > best.bits + 1e-12:
            mean = float(chance[most].mean())
            best = NextPass(chosen[most], x, height, speed, mean, float(told[most]))
    assert best is not None
    return best


def _caught(
    doubt: SensorDoubt,
    draws: SensorDraws,
    pieces: tuple[Piece, ...],
    x: float,
    height: float,
    speed: float,
) -> Floats:
    """Chances of catching each piece on one line, (pieces, sensors); steel balls all at once."""
    made = np.empty((len(pieces), len(draws.strength)))
    balls = [i for i, piece in enumerate(pieces) if louder(piece) is not None]
    if balls:
        more = np.array([louder(pieces[i]) for i in balls], dtype=float)
        one = signal(doubt.machine, REFERENCE, x, height, speed)
        asked = TestPass(REFERENCE, x, height, speed, caught=True)
        made[balls] = doubt.catching_balls(asked, one, draws, more)
    for i in set(range(len(pieces))) - set(balls):
        one = signal(doubt.machine, pieces[i], x, height, speed)
        asked = TestPass(pieces[i], x, height, speed, caught=True)
        made[i] = doubt.catching(asked, one, draws)
    return made


def _entropy(chance: Any) -> Any:
    p = np.clip(chance, 1e-12, 1 - 1e-12)
    return -(p * np.log2(p) + (1 - p) * np.log2(1 - p))
