"""The steps in words, metric or US."""

from __future__ import annotations

from tripmargin.ground.languages import later, numeral, say, say_many
from tripmargin.ground.unit_words import unit_words
from tripmargin.ground.units import INCH
from tripmargin.stopping.pawl_words import pawl_words
from tripmargin.stopping.setting.adjusters import Adjuster

CAUTIONS = (
    later("Engine off, key out, everything at rest."),
    later("Release stored energy: springs, pressure, anything wound up or lifted."),
    later("Block the feed rolls before hands go near rolls, knives, springs or wiring."),
    later(
        "The pawls are spring-loaded and snap in: block each before fingers come near, and switch"
        " nothing on while a hand is in there."
    ),
    later(
        "Knives cut at rest too. The operator's manual, local codes and licensed practice come"
        " first."
    ),
)
"""Before every step: hands go to the pawls. Marked for the catalogues: `say(caution)`."""
_LITTLE = 0.02e-3  # m, a shift that is not worth a word


def gap_words(gap: float, us: bool = False) -> str:
    """A gap to the hundredth of a millimetre, or the thousandth of an inch.

    >>> gap_words(0.003456), gap_words(0.003456, us=True)
    ('3.46 mm', '0.136 in')
    """
    return f"{_number(gap, us)} {unit_words('in') if us else 'mm'}"


def gap_written(gap: float, us: bool = False) -> str:
    """The same as it is kept or typed, whatever the language; it can be read back.

    >>> gap_written(0.0062), gap_written(0.0062, us=True)
    ('6.2 mm', '0.244 in')
    """
    value, form = _digits(gap, us)
    return f"{value:{form}} {'in' if us else 'mm'}"


def _number(gap: float, us: bool) -> str:
    return numeral(*_digits(gap, us))


def _digits(gap: float, us: bool) -> tuple[float, str]:
    """A gap in its unit, and the form to write it in."""
    if us:
        return gap / INCH, ".3f"
    decimals = len(f"{gap * 1e3:.2f}".rstrip("0").partition(".")[2])
    return gap * 1e3, f".{decimals}f"


def between(low: float, high: float, us: bool = False) -> str:
    """A range of gaps.

    >>> between(0.0035, 0.0037)
    '3.5 to 3.7 mm'
    """
    return say("{low} to {high}", low=_number(max(low, 0.0), us), high=gap_words(high, us))


def turns_words(turns: float, smallest: float) -> str:
    """Turns, with the count of smallest turns where these are less than half a turn.

    >>> turns_words(1.5, 0.5), turns_words(1.0, 0.5), turns_words(0.5, 1 / 6)
    ('1.5 turns', '1 turn', '0.5 turns (3 steps of 60 deg)')
    """
    count = abs(turns)
    one = abs(count - 1) < 1e-9
    said = say("1 turn") if one else say("{turns:.3g} turns", turns=count)
    if smallest >= 0.5 - 1e-9:
        return said
    return say_many(
        "{turns} ({count} step of {angle:.3g} deg)",
        "{turns} ({count} steps of {angle:.3g} deg)",
        round(count / smallest),
        turns=said,
        angle=360 * smallest,
    )


def way_of(each: Adjuster, opens: bool) -> str | None:
    """Whether the clevis goes out or in; None where the file does not say."""
    if each.turned_out is None:
        return None
    return "out" if (each.turned_out == "opens") == opens else "in"


def turn_words(each: Adjuster, turns: float, before: float, after: float, us: bool) -> str:
    """Turning a clevis."""
    values = {
        "pawl": pawl_words(each.pawl),
        "turn": _turn(each, turns),
        "gap": _gap_moves(turns > 0, before, after, us),
    }
    if each.smallest_turn > 0.5 - 1e-9:
        return say(
            "Loosen the jam nut of the {pawl} pawl's clevis, take its pin out and {turn}: {gap}."
            " Put the pin back and secure it.",
            **values,
        )
    return say("Loosen the jam nut of the {pawl} pawl's clevis and {turn}: {gap}.", **values)


def _turn(each: Adjuster, turns: float) -> str:
    """What is done to the clevis."""
    how, opens = turns_words(turns, each.smallest_turn), turns > 0
    way = way_of(each, opens)
    if way == "out":
        return say("turn the clevis out by {turns}", turns=how)
    if way == "in":
        return say("turn the clevis in by {turns}", turns=how)
    if opens:
        return say("turn the clevis by {turns}, the way that opens the gap", turns=how)
    return say("turn the clevis by {turns}, the way that closes the gap", turns=how)


def _gap_moves(opens: bool, before: float, after: float, us: bool) -> str:
    values = {"before": gap_words(before, us), "after": gap_words(after, us)}
    if opens:
        return say("the gap opens from {before} to about {after}", **values)
    return say("the gap closes from {before} to about {after}", **values)


def place_words(each: Adjuster, gap: float, before: float, us: bool) -> str:
    """Placing a clamp."""
    values = {
        "pawl": pawl_words(each.pawl),
        "blade": gap_words(gap, us),
        "before": gap_words(before, us),
    }
    if gap > before:
        return say(
            "Loosen the {pawl} pawl's clamp and slide it until the {blade} blade just passes; the"
            " gap opens from {before}.",
            **values,
        )
    return say(
        "Loosen the {pawl} pawl's clamp and slide it until the {blade} blade just passes; the gap"
        " closes from {before}.",
        **values,
    )


def tighten_words(each: Adjuster, us: bool) -> str:
    """Tightening, and what it does to the gap."""
    shift, scatter = each.shift.mean, 2 * (each.shift.sd**2 + each.shift_scatter**2) ** 0.5
    if abs(shift) <= max(_LITTLE, 0.25 * scatter):
        moved = gap_words(scatter + abs(shift), us)
        means = say("that may move the gap by up to {moved}", moved=moved)
    elif shift > 0:
        means = say("that opens the gap by about {moved}", moved=gap_words(shift, us))
    else:
        means = say("that closes the gap by about {moved}", moved=gap_words(-shift, us))
    if each.kind == "clevis":
        return say("Tighten the jam nut, holding the clevis still: {means}.", means=means)
    return say("Tighten the clamp's bolt: {means}.", means=means)


def measure_words(
    pawl: str,
    expect: tuple[float, float],
    leave: tuple[float, float] | None,
    *,
    last: bool,
    again: bool,
    us: bool,
) -> str:
    """Measuring, and what to do if it is otherwise."""
    values = {"pawl": pawl_words(pawl), "gaps": between(*expect, us)}
    if again:
        said = say("Measure the {pawl} pawl's gap again: expect {gaps}.", **values)
    else:
        said = say("Measure the {pawl} pawl's gap: expect {gaps}.", **values)
    if last and leave is not None:
        then = say(
            "Leave it anywhere from {gaps}; outside that, run this again with the new measures.",
            gaps=between(*leave, us),
        )
    else:
        then = say("If it is otherwise, stop here and run this again with the new measures.")
    return f"{said} {then}"


def prove_words() -> str:
    """The end of the work."""
    return say(
        "Tools and blocks out, guards shut, everybody clear; then the daily check as the operator's"
        " manual says: it must trip, stop and reset."
    )
