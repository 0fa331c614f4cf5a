"""The verdict on one piece at one cut."""

from __future__ import annotations

import numpy as np

from tripmargin.ground.languages import later
from tripmargin.ground.results import Spread
from tripmargin.protection.bench import REFERENCE_BALL, Bench, Chances
from tripmargin.protection.mapping import smallest_ball
from tripmargin.protection.places import Places
from tripmargin.protection.verdicts import CutVerdict, trips_by_itself, verdict_of
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping import feed_speed


def attitudes(piece: Piece) -> tuple[Piece, ...]:
    """The piece as it lies, or across, along and upright where nobody knows."""
    if piece.attitude_given or piece.kind == "ball":
        return (piece,)
    return tuple(piece.turned(axis) for axis in ("x", "y", "z"))


def tabulated(piece: Piece) -> tuple[tuple[Piece, ...], float]:
    """The pieces to tabulate for one piece, and the signal's scale: balls share one table."""
    if (
        piece.kind == "ball"
        and piece.relative_permeability == 200.0
        and not np.any(piece.remanent_moment)
    ):
        return (Piece.ball(REFERENCE_BALL),), (piece.dimensions[0] / REFERENCE_BALL) ** 3
    return attitudes(piece), 1.0


class Judge:
    """Judges pieces and cuts of one machine, all on one bench and one sample."""

    def __init__(self, bench: Bench) -> None:
        self.bench, self.machine = bench, bench.machine
        self.sample = bench.sample()
        self.confidence = self.machine.limits.confidence.nominal

    def chances(self, piece: Piece, cut: float, *, fine: bool = True) -> Chances:
        """The three chances of a piece at one cut, over every attitude that it may have."""
        lying, scale = tabulated(piece)
        each = [
            self.bench.chances(
                self.bench.sight(one, self.sample), cut, np.array([scale]), fine=fine
            )
            for one in lying
        ]
        missed, late, stopped = (
            float(np.mean([getattr(c, part)[0] for c in each]))
            for part in ("missed", "too_late", "protected")
        )
        return Chances(np.array(missed), np.array(late), np.array(stopped))

    def verdict(self, piece: Piece, cut: float, *, fine: bool = True) -> CutVerdict:
        """The verdict on a piece at one cut; `fine` as in `TravelChances.late`."""
        chance = self.chances(piece, cut, fine=fine)
        stopped, late = float(chance.protected), float(chance.too_late)
        seen = stopped + late
        chain = self.bench.stops.chain(cut)
        lying, scale = tabulated(piece)
        sizes = np.geomspace(4e-3, 80e-3, 24)
        ball = Piece.ball(REFERENCE_BALL)
        spread = self.bench.chances(
            self.bench.sight(ball, self.sample), cut, (sizes / REFERENCE_BALL) ** 3, fine=False
        )
        balls = Places.of(self.bench, ball, cut, (sizes / REFERENCE_BALL) ** 3)
        places = [Places.of(self.bench, one, cut, np.array([scale])) for one in lying]
        crossing = self._crossing(lying, scale, cut)
        (bar,) = self.machine.need(later("the race"), "feed.sensor_to_shear_bar")
        return CutVerdict(
            cut_length=cut,
            piece=piece.name,
            verdict="not known"
            if trips_by_itself(self.machine)
            else verdict_of(stopped, self.confidence),
            seen=seen,
            stopped_if_seen=stopped / seen if seen > 0 else None,
            protected=stopped,
            too_late=late,
            worst_place=min((p.worst() for p in places), key=lambda w: w[2]),
            share_of_places=float(np.mean([p.share(self.confidence) for p in places])),
            unprotected_across=Places.least(places).unprotected_across(self.confidence),
            smallest_ball=smallest_ball(sizes, spread.protected, self.confidence),
            smallest_ball_worst=None
            if self.bench.table(ball).nulls
            else balls.smallest_ball(sizes, self.confidence),
            crossing_y=crossing,
            margin=None
            if crossing is None
            else Spread(
                bar.nominal - crossing - chain.travel,
                low=bar.low - crossing.high - chain.travel.high,
                high=bar.high - crossing.low - chain.travel.low,
            ),
            stop_time=chain.stop_time,
            travel=chain.travel,
            stop_time_ok=chain.stop_time.nominal <= self.machine.limits.stop_time.nominal,
        )

    def _crossing(self, lying: tuple[Piece, ...], scale: float, cut: float) -> Spread | None:
        """Where the piece is caught, over the sample: mean, and the middle 98 %."""
        where, share = [], []
        for one in lying:
            _, chance, y = self.bench.sights.caught(
                self.bench.sight(one, self.sample),
                feed_speed(self.machine, cut),
                np.array([scale]),
            )
            where.append(y[0])
            share.append(chance[0] * self.sample.weights)
        y, weight = np.concatenate(where), np.concatenate(share)
        if weight.sum() < 1e-9:
            return None
        order = np.argsort(y)
        below = np.cumsum(weight[order]) / weight.sum()
        low, high = np.interp([0.01, 0.99], below, y[order])
        return Spread(float(y @ weight / weight.sum()), low=float(low), high=float(high))
