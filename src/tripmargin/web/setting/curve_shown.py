"""The threshold's curve made ready for a page: in words, as a picture, as a table to pick from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite
from typing import Any

from tripmargin.ground.units import percent
from tripmargin.pictures.setting_words import Compared, compared
from tripmargin.pictures.threshold_curve import threshold_curve_picture
from tripmargin.pictures.words import length
from tripmargin.protection.setting import ThresholdCurve, ThresholdPoint
from tripmargin.protection.setting.threshold import ThresholdWork
from tripmargin.protection.setting.threshold_words import rate_words, volts
from tripmargin.web.setting.curve_form import CurveForm

_HALF, _NEARLY_ALL = 0.5, 0.999
_SAME = 1e-6  # of a threshold


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
        "because": curve.because_us if us else curve.because,
        "notes": (*curve.notes, *(f"Assumed: {one}." for one in curve.assumed)),
        "rows": _rows(form, curve, typed, us),
        "today": volts(curve.today.threshold),
        "headline": headline(curve),
        "picture": _picture(curve, typed, look),
    }
    if then is not None:
        page |= {
            "then": volts(then.threshold),
            "then_name": "picked" if typed else "recommended",
            "then_at": f"{then.threshold:.4g}",
            "changes": _changes(work, then, us),
            "effects": _effects(work, then, us),
        }
    return page


def headline(curve: ThresholdCurve) -> str:
    """What is to be done, in one line."""
    today = volts(curve.today.threshold)
    if curve.today.false_trips_high is None:
        return f"No threshold is recommended; today's is {today}"
    if curve.leave:
        return f"Today's {today} may stay"
    if curve.recommended is None:
        return f"No threshold is better than today's {today}"
    return f"Better than today's {today}: {volts(curve.recommended.threshold)}"


def same(one: float, other: float) -> bool:
    """Whether two thresholds are one."""
    return abs(one - other) <= _SAME * max(abs(one), abs(other))


def _picture(curve: ThresholdCurve, typed: ThresholdPoint | None, look: dict[str, Any]) -> str:
    try:
        said = (headline(curve),)  # the reasons stand on the page
        short = replace(curve, because=said, because_us=said)
        return threshold_curve_picture(short, chosen=typed, **look)
    except ValueError:  # false trips are not known, or no ball is seen: words and table say so
        return ""


def _rows(
    form: CurveForm, curve: ThresholdCurve, typed: ThresholdPoint | None, us: bool
) -> list[PointRow]:
    named = [("", point) for point in curve.points] + [("today", curve.today)]
    if curve.recommended is not None:
        named.append(("recommended", curve.recommended))
    if typed is not None:
        named.append(("picked", typed))
    return [
        PointRow(
            volts(point.threshold), form.query(point.threshold), name,
            _often(point), _ball(point.smallest_ball, us), percent(point.seen, curve.confidence),
            name == "picked",
        )
        for name, point in sorted(named, key=lambda pair: (pair[1].threshold, pair[0]))
    ]  # fmt: skip


def _often(point: ThresholdPoint) -> str:
    """False trips, and with the noise at its most where that is another number."""
    middle, high = (rate_words(r) for r in (point.false_trips_per_hour, point.false_trips_high))
    return middle if middle == high else f"{middle}; {high} with the noise at its most"


def _ball(value: float, us: bool) -> str:
    return length(value, us) if isfinite(value) else "none"


def _changes(work: ThresholdWork, then: ThresholdPoint, us: bool) -> list[Change]:
    curve = work.curve
    pair = (curve.today, then)

    def both(what: str, said: Any) -> Change:
        return Change(what, said(pair[0]), said(pair[1]))

    def ball(chance: float) -> Any:
        return lambda point: _ball(work.ball(point.threshold, chance), us)

    sure = percent(curve.confidence)
    return [
        both("Threshold", lambda point: volts(point.threshold)),
        both(f"Smallest ball seen, {sure}", ball(curve.confidence)),
        both(f"Smallest ball seen, {percent(_HALF)}", ball(_HALF)),
        both(f"Smallest ball seen, {percent(_NEARLY_ALL)}", ball(_NEARLY_ALL)),
        both(f"The {curve.piece} is seen", lambda p: percent(p.seen, curve.confidence)),
        both("False trips by noise", lambda p: rate_words(p.false_trips_per_hour)),
        both("The same, the noise at its most", lambda p: rate_words(p.false_trips_high)),
    ]


def _effects(work: ThresholdWork, then: ThresholdPoint, us: bool) -> list[Compared]:
    return [compared(old, new, us) for old, new in work.effects(then.threshold)]
