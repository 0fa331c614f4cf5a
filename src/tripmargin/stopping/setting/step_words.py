"""The steps in words, metric or US."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from tripmargin.ground.units import percent, shown
from tripmargin.stopping.setting.adjusters import Adjuster, Adjusters
from tripmargin.stopping.setting.aiming import Aim, Aims

CAUTIONS = (
    "Engine off, key out, everything at rest.",
    "Release stored energy: springs, pressure, anything wound up or lifted.",
    "Block the feed rolls before hands go near rolls, knives, springs or wiring.",
    "The pawls are spring-loaded and snap in: block each before fingers come near, and switch"
    " nothing on while a hand is in there.",
    "Knives cut at rest too. The operator's manual, local codes and licensed practice come first.",
)
"""Before every step: hands go to the pawls."""
AGAIN = "run this again with the new measures"
_LITTLE = 0.02e-3  # m, a shift that is not worth a word


def gap_words(gap: float, us: bool = False) -> str:
    """A gap to the hundredth of a millimetre, or the thousandth of an inch.

    >>> gap_words(0.003456), gap_words(0.003456, us=True)
    ('3.46 mm', '0.136 in')
    """
    if us:
        return f"{gap / 0.0254:.3f} in"
    return f"{gap * 1e3:.2f}".rstrip("0").rstrip(".") + " mm"


def between(low: float, high: float, us: bool = False) -> str:
    """A range of gaps.

    >>> between(0.0035, 0.0037)
    '3.5 to 3.7 mm'
    """
    first = gap_words(max(low, 0.0), us).rpartition(" ")[0]
    return f"{first} to {gap_words(high, us)}"


def turns_words(turns: float, smallest: float) -> str:
    """Turns, with the count of smallest turns where these are less than half a turn.

    >>> turns_words(1.5, 0.5), turns_words(1.0, 0.5), turns_words(0.5, 1 / 6)
    ('1.5 turns', '1 turn', '0.5 turns (3 steps of 60 deg)')
    """
    count = abs(turns)
    said = f"{count:.3g} turn{'' if abs(count - 1) < 1e-9 else 's'}"
    if smallest < 0.5 - 1e-9:
        said += f" ({round(count / smallest)} steps of {360 * smallest:.3g} deg)"
    return said


def way_of(each: Adjuster, opens: bool) -> str | None:
    """Whether the clevis goes out or in; None where the file does not say."""
    if each.turned_out is None:
        return None
    return "out" if (each.turned_out == "opens") == opens else "in"


def turn_words(each: Adjuster, turns: float, before: float, after: float, us: bool) -> str:
    """Turning a clevis."""
    opens = turns > 0
    does = "opens" if opens else "closes"
    how = turns_words(turns, each.smallest_turn)
    way = way_of(each, opens)
    which = f"{way} by {how}" if way else f"by {how}, the way that {does} the gap"
    pin = each.smallest_turn > 0.5 - 1e-9
    taken, back = (", take its pin out", " Put the pin back and secure it.") if pin else ("", "")
    return (
        f"Loosen the jam nut of the {each.pawl} pawl's clevis{taken} and turn the clevis {which}:"
        f" the gap {does} from {gap_words(before, us)} to about {gap_words(after, us)}.{back}"
    )


def place_words(each: Adjuster, gap: float, before: float, us: bool) -> str:
    """Placing a clamp."""
    does = "opens" if gap > before else "closes"
    return (
        f"Loosen the {each.pawl} pawl's clamp and slide it until the {gap_words(gap, us)} blade"
        f" just passes; the gap {does} from {gap_words(before, us)}."
    )


def tighten_words(each: Adjuster, us: bool) -> str:
    """Tightening, and what it does to the gap."""
    shift, scatter = each.shift.mean, 2 * (each.shift.sd**2 + each.shift_scatter**2) ** 0.5
    what = "the jam nut, holding the clevis still" if each.kind == "clevis" else "the clamp's bolt"
    if abs(shift) > max(_LITTLE, 0.25 * scatter):
        way = "opens" if shift > 0 else "closes"
        means = f"that {way} the gap by about {gap_words(abs(shift), us)}"
    else:
        means = f"that may move the gap by up to {gap_words(scatter + abs(shift), us)}"
    return f"Tighten {what}: {means}."


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
    said = f"Measure the {pawl} pawl's gap{' again' if again else ''}: expect"
    said += f" {between(*expect, us)}."
    if last and leave is not None:
        return f"{said} Leave it anywhere from {between(*leave, us)}; outside that, {AGAIN}."
    return f"{said} If it is otherwise, stop here and {AGAIN}."


def prove_words() -> str:
    """The end of the work."""
    return (
        "Tools and blocks out, guards shut, everybody clear; then the daily check as the operator's"
        " manual says: it must trip, stop and reset."
    )


def aim_words(
    adjusters: Adjusters, aims: Aims, costs: Sequence[tuple[float, float]], us: bool = False
) -> tuple[str, ...]:
    """Why the aim lies where it does: one sentence for each gap aimed at."""
    alike: dict[str, list[Aim]] = {}
    for each in aims.pawls:
        alike.setdefault(gap_words(each.gap, us), []).append(each)
    several = len(aims.pawls) > 1
    return tuple(
        _aim(group, gap, adjusters, aims, costs, several, us) for gap, group in alike.items()
    )


def _aim(
    group: list[Aim],
    gap: str,
    adjusters: Adjusters,
    aims: Aims,
    costs: Sequence[tuple[float, float]],
    several: bool,
    us: bool,
) -> str:
    whom = f" for the {' and the '.join(each.pawl for each in group)} pawl" if several else ""
    begin = f"Aim at {gap}{whom}"
    sure = percent(adjusters.confidence)
    low, high = adjusters.window
    if not all(each.sure_enough for each in group):
        least = min(each.inside for each in group)
        return (
            f"{begin}: no gap is inside {between(low, high, us)} with {sure} until it is set again,"
            f" for feeler, tightening and drift take too much of it; this is the surest, with"
            f" {percent(least)}."
        )
    room = "the most room for feeler, tightening and a season's drift"
    if aims.needs or not aims.cuts:
        needs = f" without {', '.join(aims.needs)}" if aims.needs else ", as no cut is on offer"
        return f"{begin}: what the race says is not known{needs}, so it is the gap with {room}."
    if not any(each.race_matters for each in group):
        return (
            f"{begin}: anywhere in the window the stop is in time as surely, so it is the gap with"
            f" {room}."
        )
    known = [pair for pair in costs if isfinite(pair[1])]
    if not known:  # a part that sticks: the stop may never come about, whatever the gap
        return f"{begin}: the smallest gap that leaves room for feeler, tightening and drift."
    cut, cost = max(known, key=lambda pair: pair[1])
    each_unit = "each 0.04 in" if us else "each millimetre"
    way = gap_words(cost * (0.04 * 0.0254 if us else 1e-3), us)
    return (
        f"{begin}: {each_unit} of gap costs {way} of travel at the"
        f" {shown(cut, 'length', us=us, digits=3)} cut, and still less would leave too little room"
        f" above {gap_words(low, us)} for feeler, tightening and drift."
    )
