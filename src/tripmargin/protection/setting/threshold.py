"""Setting the detector's threshold: false trips against reach, and where to stand between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine
from tripmargin.protection.setting.curve_work import CurveWork
from tripmargin.protection.setting.threshold_result import (
    ThresholdCurve,
    ThresholdPoint,
)
from tripmargin.protection.sights import Progress
from tripmargin.protection.verdicts import CutVerdict
from tripmargin.stopping.setting.in_time import cuts_of

ALLOWED = 0.01
"""False trips an hour that are put up with where nobody says: one in a hundred hours. Common
practice, no source."""


def threshold_curve(
    machine: Machine,
    *,
    cut_lengths: Sequence[float] | None = None,
    allowed: float | None = None,
    progress: Progress | None = None,
) -> ThresholdCurve:
    """False trips an hour against the smallest ball seen, over the threshold.

    Parameters
    ----------
    machine : Machine
    cut_lengths : sequence of float, m, optional
        Those in use; by default all on offer.
    allowed : float, 1/h, optional
        False trips by noise that are put up with; one in a hundred hours without it.
    progress : callable, optional
        Told the share done, 0 to 1.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the sensor, the detector or the feed need.
    ValueError
        If a cut length or `allowed` cannot be.

    Notes
    -----
    False trips by Rice's formula (`sensing.false_trips_per_hour`), every crossing counted; what the
    sensor sees over places and heights evenly spread and all tolerances, as in a proof. Recommended
    is the geometric mean of the range's ends, at which the noise may grow, and the signal fall, by
    the same factor; but no more than twice the lower end, for a higher threshold catches later, and
    never more than today's where that leaves the noise a quarter. Where the range has no such room
    it is the lowest threshold that leaves the noise a quarter, if that sees more than today's.
    """
    return ThresholdWork(machine, cut_lengths=cut_lengths, allowed=allowed, progress=progress).curve


class ThresholdWork:
    """The curve of one machine, and any other threshold beside it: the tables of passes are shared.

    Parameters
    ----------
    machine, cut_lengths, allowed, progress
        As for `threshold_curve`.

    Attributes
    ----------
    curve : ThresholdCurve

    Raises
    ------
    NotKnownError, ValueError
        As `threshold_curve`.
    """

    def __init__(
        self,
        machine: Machine,
        *,
        cut_lengths: Sequence[float] | None = None,
        allowed: float | None = None,
        progress: Progress | None = None,
    ) -> None:
        rate, said = (
            (ALLOWED, (later("false trips put up with (1 in 100 h)"),))
            if allowed is None
            else (float(allowed), ())
        )
        if not 1e-9 <= rate <= 1e3:
            raise ValueError(
                say(
                    "false trips allowed: {allowed!r} an hour. Allowed: above zero, up to 1000,"
                    " such as 0.01 for one in a hundred hours.",
                    allowed=allowed,
                )
            )
        cuts = cuts_of(machine, cut_lengths)
        if not cuts:
            raise NotKnownError(later("the threshold"), ["feed.cut_lengths"])
        machine.need(later("the threshold"), "detector.threshold", "detector.noise")
        self._work = CurveWork(machine, cuts, rate, progress or (lambda share: None))
        made = self._work.done()
        self.curve = replace(made, assumed=(*made.assumed, *said))

    def at(self, threshold: float) -> ThresholdPoint:
        """What another threshold brings, V: a tenth of a second.

        Raises
        ------
        ValueError
            If it is not above zero.
        """
        if not 0 < threshold < float("inf"):
            raise ValueError(
                say("threshold = {threshold!r} V. Allowed: above zero.", threshold=threshold)
            )
        return self._work.point(threshold)

    def ball(self, threshold: float, chance: float) -> float:
        """The smallest ball seen with a chance, m, at the cut that suits it least; V.

        Infinite where none is. Places, heights and tolerances as for the curve, so that the balls
        of several chances say how sharp the reach is.
        """
        return self._work.ball(threshold, chance)

    def effects(self, threshold: float) -> tuple[tuple[CutVerdict, CutVerdict], ...]:
        """Each cut today, and with another threshold, V; empty where the stop is not known."""
        return self._work.effects(threshold)
