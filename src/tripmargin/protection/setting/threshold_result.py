"""A threshold and what it brings: the numbers of the curve."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tripmargin.ground.languages import language, say
from tripmargin.ground.results import plain
from tripmargin.protection.verdicts import CutVerdict

GROWTH = 1.25
"""By this the noise must be able to grow before it trips too often. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class ThresholdPoint:
    """One threshold and what it brings.

    Attributes
    ----------
    threshold : float, V
    false_trips_per_hour, false_trips_high : float or None, 1/h
        By noise alone, with the noise at its middle and at its upper limit; None: not known.
    smallest_ball : float, m
        Seen with the file's confidence at every cut asked about; infinite where none is.
    seen : float
        Chance that the must-stop piece is seen, at the cut that suits it least.
    """

    threshold: float
    false_trips_per_hour: float | None
    false_trips_high: float | None
    smallest_ball: float
    seen: float

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI; null where no ball is seen."""
        made: dict[str, Any] = plain(
            {
                "threshold_V": self.threshold,
                "false_trips_per_hour": self.false_trips_per_hour,
                "false_trips_per_hour_noise_high": self.false_trips_high,
                "smallest_ball_m": self.smallest_ball,
                "probability_seen": self.seen,
            }
        )
        return made


@dataclass(frozen=True, slots=True, eq=False)
class ThresholdCurve:
    """False trips against reach, over the threshold.

    Attributes
    ----------
    points : tuple of ThresholdPoint
        From the lowest threshold to the highest.
    today : ThresholdPoint
    acceptable : (lowest, highest) or None, V
        Where false trips are few enough and the must-stop piece is seen. None: nowhere, or the
        false trips are not known.
    recommended : ThresholdPoint or None
        See `threshold_curve`; today's where that stands well. None where nothing is better.
    leave : bool
        Whether today's is acceptable, and the verdict no better at the recommended one.
    allowed : float, 1/h
        False trips that are put up with.
    effects : tuple of (CutVerdict, CutVerdict)
        Each cut today, and at the recommended threshold; empty where nothing is changed, or the
        stop is not known.
    because, because_us : tuple of str
        The reasons in metric and in US units, in the language of whoever asked; `because_in` gives
        them in the reader's.
    remarks : tuple of str
        Marked for the catalogues; `notes` says them.
    assumed : tuple of str
        Fields; and what was taken where nobody said, marked for the catalogues.
    told : mapping
        The reasons in every language: its code to those in metric and in US units.
    """

    machine_name: str
    piece: str
    confidence: float
    cuts: tuple[float, ...]
    points: tuple[ThresholdPoint, ...]
    today: ThresholdPoint
    acceptable: tuple[float, float] | None
    recommended: ThresholdPoint | None
    leave: bool
    allowed: float
    effects: tuple[tuple[CutVerdict, CutVerdict], ...]
    because: tuple[str, ...]
    because_us: tuple[str, ...]
    remarks: tuple[str, ...]
    assumed: tuple[str, ...]
    told: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = field(default_factory=dict)

    @property
    def notes(self) -> tuple[str, ...]:
        """What the numbers leave out."""
        return tuple(say(remark) for remark in self.remarks)

    def because_in(self, us: bool) -> tuple[str, ...]:
        """The reasons in metric or in US units, in the language spoken now where it is known."""
        metric, in_us = self.told.get(language(), (self.because, self.because_us))
        return in_us if us else metric

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "machine": self.machine_name,
                "piece": self.piece,
                "confidence": self.confidence,
                "cut_lengths_m": self.cuts,
                "points": self.points,
                "today": self.today,
                "acceptable_V": self.acceptable,
                "recommended": self.recommended,
                "leave": self.leave,
                "false_trips_allowed_per_hour": self.allowed,
                "effects": [
                    {"cut_length_m": old.cut_length, "before": old, "after": new}
                    for old, new in self.effects
                ],
                "because": self.because_in(us=False),
                "notes": self.notes,
                "assumed": [say(field) for field in self.assumed],
            }
        )
        return made
