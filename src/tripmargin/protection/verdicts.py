"""The verdict per cut, and the proof of a whole machine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tripmargin.ground.languages import language, later
from tripmargin.ground.results import Spread, plain
from tripmargin.machine import Machine
from tripmargin.machine.ageing import MeasuredInput
from tripmargin.protection.costs import Cost
from tripmargin.protection.doubt import Measure
from tripmargin.protection.mapping import ProtectionMap

VERDICT_WORDS = {
    "protected": later("protected"),
    "doubtful": later("doubtful"),
    "not protected": later("not protected"),
    "not known": later("not known"),
}
"""What each verdict is called: `say(VERDICT_WORDS[verdict])`."""


@dataclass(frozen=True, slots=True)
class CutVerdict:
    """The verdict for one piece at one cut.

    Attributes
    ----------
    seen, stopped_if_seen, protected : float or None
        P(caught), P(stopped in time, given caught), P(caught and stopped); over places and heights
        evenly spread and all tolerances. None: not known.
    worst_place : (x m, height m, P(stopped)) or None
    share_of_places : float or None
        Of places and heights that is protected at the confidence asked.
    unprotected_across : tuple of (from, to), m
        Stretches across the roll that are not protected at mid height.
    smallest_ball, smallest_ball_worst : float or None, m
        Protected for an even spread of places; even at the worst place. None: none up to the map's
        largest.
    crossing_y : Spread or None, m
        Where the piece is caught: the mean over places and tolerances, and the middle 98 %.
    margin : Spread or None, m
        At the mean crossing: distance to the shear bar when the rolls stand.
    stop_time : Spread, s;  travel : Spread, m, of the metal from the crossing
    stop_time_ok : bool
        Whether the nominal stop time is within `limits.stop_time`.
    """

    cut_length: float
    piece: str
    verdict: str
    seen: float | None = None
    stopped_if_seen: float | None = None
    protected: float | None = None
    too_late: float | None = None
    worst_place: tuple[float, float, float] | None = None
    share_of_places: float | None = None
    unprotected_across: tuple[tuple[float, float], ...] = ()
    smallest_ball: float | None = None
    smallest_ball_worst: float | None = None
    crossing_y: Spread | None = None
    margin: Spread | None = None
    stop_time: Spread | None = None
    travel: Spread | None = None
    stop_time_ok: bool | None = None

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "cut_length_m": self.cut_length,
                "piece": self.piece,
                "verdict": self.verdict,
                "probability_seen": self.seen,
                "probability_stopped_if_seen": self.stopped_if_seen,
                "probability_protected": self.protected,
                "probability_too_late": self.too_late,
                "worst_place": None
                if self.worst_place is None
                else dict(
                    zip(("x_m", "height_m", "probability_protected"), self.worst_place, strict=True)
                ),
                "share_of_places_protected": self.share_of_places,
                "unprotected_across_m": self.unprotected_across,
                "smallest_ball_m": self.smallest_ball,
                "smallest_ball_worst_place_m": self.smallest_ball_worst,
                "crossing_y_m": self.crossing_y,
                "margin_m": self.margin,
                "stop_time_s": self.stop_time,
                "travel_m": self.travel,
                "stop_time_ok": self.stop_time_ok,
            }
        )
        return made


@dataclass(frozen=True, slots=True, eq=False)
class Proof:
    """The answer to "is this machine protected?".

    Attributes
    ----------
    verdict : "protected", "doubtful", "not protected" or "not known"
        Of the worst cut.
    cuts : tuple of CutVerdict
    protection_map : ProtectionMap or None
    longest_protected_cut, smallest_protected_ball : float or None, m
        For an even spread of places; see `ProtectionMap`. `..._worst`: even at the worst place.
    because, because_us : tuple of str
        The reasons, most telling first, in metric and in US units, in the language of whoever
        asked; `because_in` gives them in the reader's.
    told : mapping
        The same in every language: its code to the reasons in metric and in US units.
    measure_next : tuple of Measure
    costs : tuple of Cost
        At the worst cut.
    nulls : tuple of float, m
        Places that are blind to every piece.
    needs, assumed : tuple of str
        Fields missing; fields filled in with wide limits.
    measured : tuple of MeasuredInput
        Inputs that somebody measured, their limits as wide as they are by now.
    on : date or None
        The day for which it was proved: what was measured is that much older.
    """

    machine_name: str
    verdict: str
    cuts: tuple[CutVerdict, ...]
    protection_map: ProtectionMap | None = None
    longest_protected_cut: float | None = None
    longest_protected_cut_worst: float | None = None
    smallest_protected_ball: float | None = None
    smallest_protected_ball_worst: float | None = None
    because: tuple[str, ...] = ()
    because_us: tuple[str, ...] = ()
    told: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = field(default_factory=dict)
    measure_next: tuple[Measure, ...] = ()
    costs: tuple[Cost, ...] = ()
    nulls: tuple[float, ...] = ()
    needs: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    measured: tuple[MeasuredInput, ...] = ()
    on: date | None = None

    def because_in(self, us: bool) -> tuple[str, ...]:
        """The reasons in metric or in US units, in the language spoken now where it is known."""
        if language() in self.told:
            metric, in_us = self.told[language()]
            return in_us if us and in_us else metric
        return self.because_us if us and self.because_us else self.because

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "machine": self.machine_name,
                "verdict": self.verdict,
                "cuts": self.cuts,
                "longest_protected_cut_m": self.longest_protected_cut,
                "longest_protected_cut_worst_place_m": self.longest_protected_cut_worst,
                "smallest_protected_ball_m": self.smallest_protected_ball,
                "smallest_protected_ball_worst_place_m": self.smallest_protected_ball_worst,
                "because": self.because_in(us=False),
                "measure_next": self.measure_next,
                "costs": self.costs,
                "blind_places_m": self.nulls,
                "needs": self.needs,
                "assumed": self.assumed,
                "changed": self.changed,
                "measured": self.measured,
                "on": None if self.on is None else self.on.isoformat(),
                "protection_map": self.protection_map,
            }
        )
        return made


def trips_by_itself(machine: Machine) -> bool:
    """Whether noise alone trips the detector again and again: over a third of the threshold.

    Rice's rate is then over a trip a second behind usual filters, and what the sensor sees cannot
    be told from what it makes up.
    """
    noise, threshold = machine.get("detector.noise"), machine.get("detector.threshold")
    return noise is not None and threshold is not None and 3 * noise.nominal > threshold.nominal


def verdict_of(protected: float, confidence: float) -> str:
    """The verdict for P(caught and stopped) (models page, Protected)."""
    if protected >= confidence:
        return "protected"
    return "doubtful" if protected >= 0.5 else "not protected"
