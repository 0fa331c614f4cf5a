"""Where the piece comes, and how likely it goes through there: in words."""

from __future__ import annotations

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.machine import Machine
from tripmargin.pictures.margins import too_large
from tripmargin.pictures.words import chance, length
from tripmargin.protection import race
from tripmargin.reports.how.runs import Place

_IN_THE_MIDDLE = 0.5e-3  # m, a piece no further off comes over the middle


def require_place(
    machine: Machine, x: float | None, height: float | None, us: bool = False
) -> None:
    """See that a place asked for lies where crop comes.

    Parameters
    ----------
    machine : Machine
    x, height : float or None, m
        Across the roll from its middle, and above it; None: not asked for.
    us : bool
        Whether the refusal is told in US units.

    Raises
    ------
    ValueError
        If it lies beside the roll, in the roll, or above the crop.
    """
    width, depth = machine.get("feed.roll_width"), machine.get("feed.crop_depth")
    if x is not None and width is not None and not abs(x) <= width.nominal / 2:
        raise ValueError(
            say(
                "The place across the roll, {x}, lies beside the roll. Allowed: {low} to {high},"
                " counted from the roll's middle.",
                x=length(x, us),
                low=length(-width.nominal / 2, us),
                high=length(width.nominal / 2, us),
            )
        )
    if height is None or depth is None or 0 <= height <= depth.high:
        return  # a pass refuses what no file allows
    raise ValueError(
        say(
            "At the height {height} no crop comes. Allowed: 0 mm to {high} above the roll.",
            height=length(height, us),
            high=length(depth.high, us),
        )
    )


def comes_words(place: Place, us: bool) -> str:
    """Where the piece comes, in one sentence; left and right as seen the way that the crop goes."""
    above, aside = length(place.height, us), length(abs(place.x), us)
    if abs(place.x) < _IN_THE_MIDDLE:
        return say("It comes over the roll's middle, {height} above the roll.", height=above)
    if place.x < 0:
        return say(
            "It comes {way} left of the roll's middle, {height} above the roll.",
            way=aside, height=above,
        )  # fmt: skip
    return say(
        "It comes {way} right of the roll's middle, {height} above the roll.",
        way=aside, height=above,
    )  # fmt: skip


def odds_words(machine: Machine, cut_length: float, place: Place | None, us: bool) -> str:
    """How likely the piece goes through at its one place, in sentences; empty: not known.

    Parameters
    ----------
    machine : Machine
        As it is set.
    cut_length : float, m
    place : Place or None
    us : bool
    """
    if place is None:
        return ""
    try:
        run = race(
            machine, cut_length=cut_length, piece=place.piece, x=place.x, height=place.height
        )
    except (TripmarginError, ValueError):
        return ""  # without the noise, for one, nothing is known of chances
    if too_large(run.notes):
        return ""  # it does not pass, so there is no chance to tell
    return say(
        "At this one place (x {x}, height {height}), over all tolerances and set as shown here, the"
        " chance that it goes through: {odds}. At other places it is another: the command"
        " tripmargin prove, or Protection in the web app, judges the machine as a whole.",
        x=length(place.x, us), height=length(place.height, us),
        odds=chance(run.probability_through),
    )  # fmt: skip
