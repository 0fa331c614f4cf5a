"""Why a threshold is recommended, in a sentence or two."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tripmargin.ground.units import percent, shown
from tripmargin.protection.setting.better import better_verdict
from tripmargin.protection.setting.threshold_result import GROWTH

if TYPE_CHECKING:
    from tripmargin.protection.setting.threshold_result import ThresholdCurve

CAUTIONS = (
    "Engine off, key out, everything at rest before hands go to the module or its wiring.",
    "Never set the threshold so high that it stops tripping, to get through the day: the machine"
    " then runs unprotected.",
    "Afterwards pass the test piece and do the daily check as the operator's manual says: guards"
    " shut, everybody clear.",
)


def rate_words(rate: float | None) -> str:
    """False trips as a person counts them.

    >>> rate_words(0.01), rate_words(3.2), rate_words(1e-9), rate_words(None)
    ('1 in 100 h', '3.2 an hour', 'practically none', 'not known')
    """
    if rate is None:
        return "not known"
    if rate < 1e-6:
        return "practically none"
    if rate >= 1:
        return f"{float(f'{rate:.2g}'):g} an hour" if rate < 1e3 else "again and again"
    return f"1 in {float(f'{1 / rate:.2g}'):.0f} h"


def volts(value: float) -> str:
    """A threshold with its unit.

    >>> volts(0.8234)
    '0.823 V'
    """
    return shown(value, "voltage", digits=3)


def because(
    curve: ThresholdCurve, quiet: float | None, seen_to: float | None, *, us: bool
) -> tuple[str, ...]:
    """What bounds the range, and where to stand in it."""
    sure = percent(curve.confidence)
    piece = f"the {curve.piece}"
    often = rate_words(curve.allowed)
    if quiet is None:
        top = "" if seen_to is None else f" Up to {volts(seen_to)} {piece} is seen with {sure}."
        return (f"How often noise alone trips it is not known.{top}",)
    if seen_to is None:
        return (
            f"{piece[:1].upper()}{piece[1:]} is not seen with {sure} at any threshold that noise"
            " leaves open: the sensor, not the threshold, is what holds it back.",
        )
    today = volts(curve.today.threshold)
    ends = (
        f"{volts(quiet)} noise alone trips it oftener than {often}",
        f"above {volts(seen_to)} {piece} is seen with less than {sure} at some cut",
    )
    if curve.acceptable is None:
        bounds = f"No threshold does both: below {ends[0]}, and {ends[1]}."
    else:
        bounds = f"Below {ends[0]}; {ends[1]}."
    if curve.leave:
        return (f"Today's {today} is inside the range: it may stay.", bounds, *_place(curve, us))
    return (bounds, *_place(curve, us))


def _place(curve: ThresholdCurve, us: bool) -> tuple[str, ...]:
    """Where to stand, and why there."""
    best, sure, today = curve.recommended, percent(curve.confidence), curve.today
    if best is None:
        return (
            "A lower threshold would trip by noise, so less noise comes first: a magnetised or bent"
            " roll, a loose plug, a chafed wire.",
        )
    low, high = curve.acceptable or (0.0, 0.0)
    ball = shown(best.smallest_ball, "length", us=us, digits=3)
    if not low < best.threshold < high or high <= GROWTH**2 * low:
        return (
            f"There is no room between the two. {volts(best.threshold)} is the lowest that lets the"
            f" noise grow by a quarter: there the {curve.piece} is seen with {percent(best.seen)},"
            f" today with {percent(today.seen)}. For more, less noise comes first: a magnetised or"
            " bent roll, a loose plug, a chafed wire.",
        )
    said = (
        f"At {volts(best.threshold)} the noise may grow by a factor of {best.threshold / low:.2g},"
        f" or the signal fall by one of {high / best.threshold:.2g}, before an end is reached; the"
        f" smallest ball seen with {sure} is {ball} there."
    )
    if best.threshold < today.threshold:
        said += " Higher is no better: metal is then caught later."
    better = [
        shown(new.cut_length, "length", us=us, digits=3)
        for old, new in curve.effects
        if better_verdict(old, new)
    ]
    if not better or not low <= today.threshold <= high:
        return (said,)
    return (
        said,
        f"Today's {volts(today.threshold)} sees enough, but {volts(best.threshold)} catches metal"
        f" sooner, which makes the verdict better at the {' and '.join(better)}"
        f" cut{'s' if len(better) > 1 else ''}.",
    )
