"""Why a threshold is recommended, in a sentence or two."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tripmargin.ground.languages import later, say, say_many
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.units import percent, shown
from tripmargin.protection.setting.better import better_verdict
from tripmargin.protection.setting.threshold_result import GROWTH
from tripmargin.sensing.piece_said import said_piece

if TYPE_CHECKING:
    from tripmargin.protection.setting.threshold_result import ThresholdCurve

CAUTIONS = (
    later("Engine off, key out, everything at rest before hands go to the module or its wiring."),
    later(
        "Never set the threshold so high that it stops tripping, to get through the day: the"
        " machine then runs unprotected."
    ),
    later(
        "Afterwards pass the test piece and do the daily check as the operator's manual says:"
        " guards shut, everybody clear."
    ),
)
"""Marked for the catalogues: `say(caution)`."""


def rate_words(rate: float | None) -> str:
    """False trips as a person counts them.

    >>> rate_words(0.01), rate_words(3.2), rate_words(1e-9), rate_words(None)
    ('1 in 100 h', '3.2 an hour', 'practically none', 'not known')
    """
    if rate is None:
        return say("not known")
    if rate < 1e-6:
        return say("practically none")
    if rate >= 1e3:
        return say("again and again")
    if rate >= 1:
        return say("{rate:g} an hour", rate=float(f"{rate:.2g}"))
    return say("1 in {hours:.0f} h", hours=float(f"{1 / rate:.2g}"))


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
    bounds = _bounds(curve, quiet, seen_to)
    if quiet is None or seen_to is None:
        return (bounds,)
    if curve.leave:
        stay = say(
            "Today's {threshold} is inside the range: it may stay.",
            threshold=volts(curve.today.threshold),
        )
        return (stay, bounds, *_place(curve, us))
    return (bounds, *_place(curve, us))


def _bounds(curve: ThresholdCurve, quiet: float | None, seen_to: float | None) -> str:
    """What bounds the range on either side."""
    sure, piece = percent(curve.confidence), said_piece(curve.piece)
    if quiet is None:
        said = say("How often noise alone trips it is not known.")
        if seen_to is None:
            return said
        top = say(
            "Up to {threshold} the {piece} is seen with {sure}.",
            threshold=volts(seen_to),
            piece=piece,
            sure=sure,
        )
        return f"{said} {top}"
    if seen_to is None:
        return say(
            "The {piece} is not seen with {sure} at any threshold that noise leaves open: the"
            " sensor, not the threshold, is what holds it back.",
            piece=piece,
            sure=sure,
        )
    values = {
        "quiet": volts(quiet),
        "often": rate_words(curve.allowed),
        "high": volts(seen_to),
        "piece": piece,
        "sure": sure,
    }
    if curve.acceptable is None:
        return say(
            "No threshold does both: below {quiet} noise alone trips it oftener than {often}, and"
            " above {high} the {piece} is seen with less than {sure} at some cut.",
            **values,
        )
    return say(
        "Below {quiet} noise alone trips it oftener than {often}; above {high} the {piece} is seen"
        " with less than {sure} at some cut.",
        **values,
    )


def _place(curve: ThresholdCurve, us: bool) -> tuple[str, ...]:
    """Where to stand, and why there."""
    best, today = curve.recommended, curve.today
    if best is None:
        return (
            say(
                "A lower threshold would trip by noise, so less noise comes first: a magnetised or"
                " bent roll, a loose plug, a chafed wire."
            ),
        )
    low, high = curve.acceptable or (0.0, 0.0)
    if not low < best.threshold < high or high <= GROWTH**2 * low:
        return (
            say(
                "There is no room between the two. {threshold} is the lowest that lets the noise"
                " grow by a quarter: there the {piece} is seen with {seen}, today with {today}. For"
                " more, less noise comes first: a magnetised or bent roll, a loose plug, a chafed"
                " wire.",
                threshold=volts(best.threshold),
                piece=said_piece(curve.piece),
                seen=percent(best.seen),
                today=percent(today.seen),
            ),
        )
    said = say(
        "At {threshold} the noise may grow by a factor of {noise:.2g}, or the signal fall by one"
        " of {signal:.2g}, before an end is reached; the smallest ball seen with {sure} is {ball}"
        " there.",
        threshold=volts(best.threshold),
        noise=best.threshold / low,
        signal=high / best.threshold,
        sure=percent(curve.confidence),
        ball=shown(best.smallest_ball, "length", us=us, digits=3),
    )
    if best.threshold < today.threshold:
        higher = say("Higher is no better: metal is then caught later.")
        said = f"{said} {higher}"
    better = [
        shown(new.cut_length, "length", us=us, digits=3)
        for old, new in curve.effects
        if better_verdict(old, new)
    ]
    if not better or not low <= today.threshold <= high:
        return (said,)
    return (
        said,
        say_many(
            "Today's {today} sees enough, but {threshold} catches metal sooner, which makes the"
            " verdict better at the {cuts} cut.",
            "Today's {today} sees enough, but {threshold} catches metal sooner, which makes the"
            " verdict better at the {cuts} cuts.",
            len(better),
            today=volts(today.threshold),
            threshold=volts(best.threshold),
            cuts=listed(better),
        ),
    )
