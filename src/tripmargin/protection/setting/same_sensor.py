"""A machine with another threshold: its sensor sees the same passes, and only judges otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.protection.judging import tabulated
from tripmargin.protection.sights import REFERENCE_BALL, Sights
from tripmargin.protection.strength import Strength
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.tables import Passes
from tripmargin.stopping import feed_speed

_BALLS = np.geomspace(3e-3, 90e-3, 60)  # m


class SameSensor(Sights):
    """Sights of a machine that differs from another in its threshold and noise alone.

    Parameters
    ----------
    machine : Machine
    known : Sights
        Of the other, with the same cuts: its tables of passes owe nothing to the threshold.
    cut_lengths : sequence of float, m
    """

    def __init__(self, machine: Machine, known: Sights, cut_lengths: Sequence[float]) -> None:
        super().__init__(machine, cut_lengths, remember=4)
        self.known = known

    def table(self, piece: Piece) -> Passes:
        """The other's table of passes."""
        return self.known.table(piece)

    @property
    def strength(self) -> Strength:
        """The other's: the threshold scales no signal."""
        return self.known.strength

    def seen(self, piece: Piece, cut_length: float) -> float:
        """Chance that a piece is caught, over places and heights evenly spread."""
        lying, scale = tabulated(piece)
        speed = feed_speed(self.machine, cut_length)
        missed = [float(self.missed(one, speed, np.array([scale]))[0]) for one in lying]
        return 1.0 - float(np.mean(missed))

    def smallest_ball(self, cut_length: float, confidence: float) -> float:
        """Diameter from which on a ball is caught with a confidence, m; infinite where none is.

        Over places and heights evenly spread. Between two diameters the chance of missing is taken
        as straight in its logarithm.
        """
        speed = feed_speed(self.machine, cut_length)
        ball = Piece.ball(REFERENCE_BALL)
        missed = self.missed(ball, speed, (_BALLS / REFERENCE_BALL) ** 3)
        short = np.flatnonzero(missed > 1 - confidence)
        if not len(short):
            return float(_BALLS[0])
        last = int(short[-1])
        if last == len(_BALLS) - 1:
            return float("inf")
        doubt = np.log(np.maximum(missed[last : last + 2], 1e-12))
        share = (np.log(1 - confidence) - doubt[0]) / (doubt[1] - doubt[0])
        return float(_BALLS[last] + share * (_BALLS[last + 1] - _BALLS[last]))


def with_threshold(machine: Machine, threshold: float) -> Machine:
    """The machine with its threshold set otherwise, V; its tolerance goes along in proportion.

    Raises
    ------
    NotKnownError
        If the file gives none.
    """
    (q,) = machine.need(later("the threshold"), "detector.threshold")
    assert machine.detector is not None
    factor = threshold / q.nominal
    made = Quantity(
        threshold, q.low * factor, q.high * factor, q.shape, q.dimension, f"{threshold:.4g} V"
    )
    return replace(machine, detector=replace(machine.detector, threshold=made))
