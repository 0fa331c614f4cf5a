"""The threshold's curve made ready for a page: in words, as a picture, as a table to pick from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite
from typing import Any

from tripmargin.ground.languages import later, say, say_as
from tripmargin.ground.units import percent
from tripmargin.pictures.setting_words import Compared, compared
from tripmargin.pictures.threshold_curve import threshold_curve_picture
from tripmargin.pictures.trade_words import piece_title
from tripmargin.pictures.words import length, said
from tripmargin.protection.setting import ThresholdCurve, ThresholdPoint
from tripmargin.protection.setting.threshold import ThresholdWork
from tripmargin.protection.setting.threshold_words import rate_words, volts
from tripmargin.sensing.piece_said import said_piece
from tripmargin.web.setting.curve_form import CurveForm

_HALF, _NEARLY_ALL = 0.5, 0.999
_SAME = 1e-6  # of a threshold
TODAY, RECOMMENDED, PICKED = later("today"), later("recommended"), later("picked")
"""Which threshold a row is; `said` says it."""


@dataclass(frozen=True, slots=True)
class PointRow:
    """One threshold: `query` asks for it, `name` says which it is."""

    threshold: str
    query: str
    name: str
    often: str
    ball: str
    seen: str
    picked: bool = False


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that the threshold changes: today and then, each in words."""

    what: str
    today: str
    then: str


def curve_page(
    form: CurveForm, work: ThresholdWork, *, us: bool, look: dict[str, Any]
) -> dict[str, Any]:
    """All that the page shows of a curve and of the threshold that is looked at."""
    curve = work.curve
    typed = None if form.threshold is None else work.at(form.threshold)
    then = typed or curve.recommended
    if then is not None and same(then.threshold, curve.today.threshold):
        then = None
    page: dict[str, Any] = {
        "curve": curve,
        "piece": piece_title(curve.piece),
        "because": curve.because_in(us),
        "notes": (
            *curve.notes,
            *(say("Assumed: {what}.", what=said(one)) for one in curve.assumed),
        ),
        "rows": _rows(form, curve, typed, us),
        "today": volts(curve.today.threshold),
        "headline": headline(curve),
        "picture": _picture(curve, typed, look),
    }
    if then is not None:
        page |= {
            "then": volts(then.threshold),
            "then_name": say(PICKED if typed else RECOMMENDED),
            "then_at": f"{then.threshold:.4g}",
            "changes": _changes(work, then, us),
            "effects": _effects(work, then, us),
        }
    return page


def headline(curve: ThresholdCurve) -> str:
    """What is to be done, in one line."""
    today = volts(curve.today.threshold)
    if curve.today.false_trips_high is None:
        return say("No threshold is recommended; today's is {today}", today=today)
    if curve.leave:
        return say("Today's {today} may stay", today=today)
    if curve.recommended is None:
        return say("No threshold is better than today's {today}", today=today)
    better = volts(curve.recommended.threshold)
    return say("Better than today's {today}: {better}", today=today, better=better)


def same(one: float, other: float) -> bool:
    """Whether two thresholds are one."""
    return abs(one - other) <= _SAME * max(abs(one), abs(other))


def _picture(curve: ThresholdCurve, typed: ThresholdPoint | None, look: dict[str, Any]) -> str:
    try:
        only = (headline(curve),)  # the reasons stand on the page
        short = replace(curve, because=only, because_us=only, told={})
        return threshold_curve_picture(short, chosen=typed, **look)
    except ValueError:  # false trips are not known, or no ball is seen: words and table say so
        return ""


def _rows(
    form: CurveForm, curve: ThresholdCurve, typed: ThresholdPoint | None, us: bool
) -> list[PointRow]:
    named = [("", point) for point in curve.points] + [(TODAY, curve.today)]
    if curve.recommended is not None:
        named.append((RECOMMENDED, curve.recommended))
    if typed is not None:
        named.append((PICKED, typed))
    return [
        PointRow(
            volts(point.threshold), form.query(point.threshold), said(name),
            _often(point), _ball(point.smallest_ball, us), percent(point.seen, curve.confidence),
            name == PICKED,
        )
        for name, point in sorted(named, key=lambda pair: (pair[1].threshold, pair[0]))
    ]  # fmt: skip


def _often(point: ThresholdPoint) -> str:
    """False trips, and with the noise at its most where that is another number."""
    middle, high = (rate_words(r) for r in (point.false_trips_per_hour, point.false_trips_high))
    if middle == high:
        return middle
    return say("{middle}; {high} with the noise at its most", middle=middle, high=high)


def _ball(value: float, us: bool) -> str:
    return length(value, us) if isfinite(value) else say_as("a size", "none")


def _changes(work: ThresholdWork, then: ThresholdPoint, us: bool) -> list[Change]:
    curve = work.curve
    pair = (curve.today, then)

    def both(what: str, words: Any) -> Change:
        return Change(what, words(pair[0]), words(pair[1]))

    def ball(chance: float) -> Any:
        return lambda point: _ball(work.ball(point.threshold, chance), us)

    sure = percent(curve.confidence)
    return [
        both(say("Threshold"), lambda point: volts(point.threshold)),
        both(say("Smallest ball seen, {chance}", chance=sure), ball(curve.confidence)),
        both(say("Smallest ball seen, {chance}", chance=percent(_HALF)), ball(_HALF)),
        both(say("Smallest ball seen, {chance}", chance=percent(_NEARLY_ALL)), ball(_NEARLY_ALL)),
        both(
            say("The {piece} is seen", piece=said_piece(curve.piece)),
            lambda p: percent(p.seen, curve.confidence),
        ),
        both(say("False trips by noise"), lambda p: rate_words(p.false_trips_per_hour)),
        both(say("The same, the noise at its most"), lambda p: rate_words(p.false_trips_high)),
    ]


def _effects(work: ThresholdWork, then: ThresholdPoint, us: bool) -> list[Compared]:
    return [compared(old, new, us) for old, new in work.effects(then.threshold)]
