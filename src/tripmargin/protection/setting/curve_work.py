"""Working out the threshold's curve: the points, the range, the place to stand, what it brings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.every_language import in_every_language
from tripmargin.ground.languages import language, later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.protection.bench import Bench
from tripmargin.protection.judging import Judge
from tripmargin.protection.setting.better import better_verdict
from tripmargin.protection.setting.same_sensor import SameSensor, with_threshold
from tripmargin.protection.setting.threshold_result import (
    GROWTH,
    ThresholdCurve,
    ThresholdPoint,
)
from tripmargin.protection.setting.threshold_words import because
from tripmargin.protection.sights import Progress, Sights
from tripmargin.protection.stops import Stops
from tripmargin.protection.verdicts import CutVerdict
from tripmargin.sensing.noise import false_trips_per_hour
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping import feed_speed
from tripmargin.stopping.setting import quick_densities

Array = NDArray[np.float64]
_KNOTS = 13
_OFTENEST = 100.0  # an hour; the curve begins where noise alone trips so often
_HIGHEST = 4.0  # of today's threshold, or of the noise's place where that is higher
_WIDEST = 1e4  # of the lowest threshold that the curve runs over
_AMPLE = 2.0
"""More growth of the noise than this is not bought with later catching. Common practice, no
source."""


class CurveWork:
    """One run: the tables of passes are shared by every threshold."""

    def __init__(
        self, machine: Machine, cuts: tuple[float, ...], allowed: float, progress: Progress
    ) -> None:
        self.machine, self.cuts, self.allowed, self.progress = machine, cuts, allowed, progress
        self.piece = Piece.from_text(machine.limits.must_stop)
        self.confidence = machine.limits.confidence.nominal
        self.known = Sights(machine, list(cuts), lambda share: progress(0.5 * share))
        # Small metal is seen worst in slow feed, or behind the low-pass in the fastest.
        self.hardest = tuple(dict.fromkeys((cuts[0], cuts[-1])))
        self.fastest = max(feed_speed(machine, cut) for cut in cuts)
        (today,) = machine.need(later("the threshold"), "detector.threshold")
        self.today = float(today.nominal)
        self.judge = lru_cache(maxsize=4)(self._judge)
        self.stops: Stops | None = None
        self.verdict = lru_cache(maxsize=200)(self._verdict)

    def rate(self, threshold: float, *, noisy: bool) -> float | None:
        """False trips an hour; None where noise has no finite rate."""
        machine = with_threshold(self.machine, threshold)
        assert machine.detector is not None
        noise = machine.detector.noise
        assert noise is not None
        if noisy:
            high = Quantity.exact(noise.high, noise.dimension)
            machine = replace(machine, detector=replace(machine.detector, noise=high))
        if machine.get("detector.high_cut") is None:
            return None
        return false_trips_per_hour(machine, roll_speed=self.fastest)

    def point(self, threshold: float) -> ThresholdPoint:
        """What one threshold brings."""
        sights = SameSensor(with_threshold(self.machine, threshold), self.known, self.cuts)
        balls = [sights.smallest_ball(cut, self.confidence) for cut in self.hardest]
        return ThresholdPoint(
            threshold,
            self.rate(threshold, noisy=False),
            self.rate(threshold, noisy=True),
            max(balls),
            min(sights.seen(self.piece, cut) for cut in self.hardest),
        )

    def ball(self, threshold: float, chance: float) -> float:
        """The smallest ball seen with a chance, m, at the harder cut."""
        sights = SameSensor(with_threshold(self.machine, threshold), self.known, self.cuts)
        return max(sights.smallest_ball(cut, chance) for cut in self.hardest)

    def quiet_from(self, allowed: float) -> float | None:
        """The lowest threshold with no more false trips than allowed, the noise at its most, V."""
        noise = self.machine.get("detector.noise")
        if self.rate(1.0, noisy=True) is None:
            return None
        ripple = self.machine.get("detector.ripple")
        loud = float(noise.high) + (0.0 if ripple is None else float(ripple.high))
        if loud <= 0:
            return 0.0
        low, high = 1e-3 * loud, 1e3 * loud
        for _ in range(60):
            middle = float(np.sqrt(low * high))
            often = self.rate(middle, noisy=True)
            low, high = (middle, high) if often is not None and often > allowed else (low, middle)
        return high

    def knots(self, today: float, quiet: float | None) -> Array:
        """Thresholds that the curve goes through, V."""
        begin = self.quiet_from(_OFTENEST)
        low = min(today / 2, begin) if begin else today / 4
        high = _HIGHEST * max(today, quiet or 0.0)
        return np.geomspace(max(low, high / _WIDEST), high, _KNOTS)

    def done(self) -> ThresholdCurve:
        """The curve, the range, the place to stand, and what it brings."""
        (q,) = self.machine.need(later("the threshold"), "detector.threshold")
        quiet = self.quiet_from(self.allowed)
        points = []
        for number, knot in enumerate(self.knots(q.nominal, quiet), start=1):
            points.append(self.point(float(knot)))
            self.progress(0.5 + 0.35 * number / _KNOTS)
        today = self.point(q.nominal)
        seen_to = _seen_up_to(points, self.confidence)
        acceptable = None
        if quiet is not None and seen_to is not None and quiet < seen_to:
            acceptable = (max(quiet, points[0].threshold), seen_to)
        place = _place(acceptable, quiet, q.nominal)
        best = None if place is None else self.point(place)
        effects = () if place is None or place == q.nominal else self.effects(place)
        inside = acceptable is not None and acceptable[0] <= q.nominal <= acceptable[1]
        made = ThresholdCurve(
            machine_name=self.machine.name,
            piece=self.machine.limits.must_stop,
            confidence=self.confidence,
            cuts=self.cuts,
            points=tuple(points),
            today=today,
            acceptable=acceptable,
            recommended=best,
            leave=inside and not any(better_verdict(*pair) for pair in effects),
            allowed=self.allowed,
            effects=effects,
            because=(),
            because_us=(),
            remarks=_remarks(self.machine),
            assumed=tuple(
                a for a in self.machine.assumed if a.startswith(("feed", "sensor", "detector"))
            ),
        )
        told = in_every_language(lambda us: because(made, quiet, seen_to, us=us))
        metric, in_us = told[language()]
        return replace(made, because=metric, because_us=in_us, told=told)

    def effects(self, threshold: float) -> tuple[tuple[CutVerdict, CutVerdict], ...]:
        """Each cut today and with another threshold, V; empty where the stop is not known."""
        made = []
        try:
            for number, cut in enumerate(self.cuts, start=1):
                made.append((self.verdict(self.today, cut), self.verdict(threshold, cut)))
                self.progress(0.85 + 0.15 * number / len(self.cuts))
        except NotKnownError:
            return ()
        return tuple(made)

    def _verdict(self, threshold: float, cut: float) -> CutVerdict:
        return self.judge(threshold).verdict(self.piece, cut, fine=False)

    def _judge(self, threshold: float) -> Judge:
        if self.stops is None:  # the threshold is no part of it
            self.stops = Stops(self.machine, quick_densities(self.machine))
        machine = with_threshold(self.machine, threshold)
        sights = SameSensor(machine, self.known, self.cuts)
        return Judge(Bench(machine, [], sights=sights, stops=self.stops))


def _seen_up_to(points: Sequence[ThresholdPoint], confidence: float) -> float | None:
    """The highest threshold at which the piece is seen with the confidence, V; None: at none.

    Between two thresholds the chance of missing is taken as straight in its logarithm.
    """
    enough = [point.seen >= confidence for point in points]
    if not enough[0]:
        return None
    if all(enough):
        return points[-1].threshold
    last = enough.index(False) - 1
    pair = points[last : last + 2]
    doubt = [np.log(max(1 - point.seen, 1e-12)) for point in pair]
    share = (np.log(1 - confidence) - doubt[0]) / (doubt[1] - doubt[0])
    low, high = (np.log(point.threshold) for point in pair)
    return float(np.exp(low + np.clip(share, 0.0, 1.0) * (high - low)))


def _place(
    acceptable: tuple[float, float] | None, quiet: float | None, today: float
) -> float | None:
    """Where the threshold should stand, V; None where nothing is better than today's.

    In a range with room on both sides: in its middle, but no higher than lets the noise double, and
    never higher than today's that has some room. Without such a range: as low as the noise allows
    with some growth, where that sees more than today's.
    """
    if acceptable is not None and acceptable[1] > GROWTH**2 * acceptable[0]:
        low, high = acceptable
        best = min(float(np.sqrt(low * high)), _AMPLE * low)
        return today if GROWTH * low <= today <= best else best
    lowest = None if quiet is None else GROWTH * quiet
    return lowest if lowest is not None and 0 < lowest < today else None


def _remarks(machine: Machine) -> tuple[str, ...]:
    made = []
    if machine.get("detector.high_cut") is None:
        made.append(
            later(
                "Without a low-pass (detector.high_cut) noise has no finite rate of crossings:"
                " false trips are not known, and no threshold is recommended."
            )
        )
    else:
        made.append(
            later(
                "Only the noise that the file gives is counted, as if it were Gaussian. Knocks, a"
                " loose plug or a magnetised roll trip oftener: after setting, let it run empty"
                " and count."
            )
        )
    return tuple(made)
