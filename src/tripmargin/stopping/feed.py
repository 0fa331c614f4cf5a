"""The feed: how fast the rolls turn for a cut length, and how fast the metal comes."""

from __future__ import annotations

from math import isfinite, pi

from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine

_NEEDS = later("the feed speed")


def feed_speed(machine: Machine, cut_length: float) -> float:
    """Surface speed of the feed rolls for a cut length, every input at its middle.

    Parameters
    ----------
    machine : Machine
    cut_length : float, m
        Theoretical length of cut: the advance between two cuts.

    Returns
    -------
    float, m/s

    Raises
    ------
    NotKnownError
        If the knives or the cutterhead's speed are not given.
    ValueError
        If the cut length is not positive and finite.

    Notes
    -----
    cut length x knives x revolutions per second: theoretical length of cut, ISO 8909-1:2021 term
    5.24 and ANSI/ASAE S472 (titles seen, formula from memory).

    Examples
    --------
    >>> import tripmargin
    >>> machine = tripmargin.load_machine("whimbrel")
    >>> feed_speed(machine, 0.01) == 2 * feed_speed(machine, 0.005)
    True
    """
    require_cut(cut_length)
    knives, speed = machine.need(_NEEDS, "feed.knives", "feed.cutterhead_speed")
    return cut_length * knives.nominal * speed.nominal


def metal_speed(machine: Machine, cut_length: float) -> float:
    """Speed of the crop and of any metal in it, m/s: the rolls' speed less the slip."""
    (slip,) = machine.need(_NEEDS, "feed.slip")
    return feed_speed(machine, cut_length) * (1 - slip.nominal)


def require_cut(cut_length: float) -> None:
    """Refuse a cut length that cannot be.

    Raises
    ------
    ValueError
        If it is not positive and finite.
    """
    if not isfinite(cut_length) or cut_length <= 0:
        raise ValueError(
            say(
                "cut length: {cut!r} m. Allowed: a positive, finite length, such as 0.009 m.",
                cut=cut_length,
            )
        )


def tooth_pitch(machine: Machine, pawl: str) -> float:
    """Advance of the roll's surface while the ratchet turns by one tooth, m.

    The ratchet turns v / (pi D) times its ratio, so one tooth is pi D / (ratio x teeth) of surface,
    at any speed (models page, Stopping).
    """
    place = f"chain.pawls.{pawl}"
    diameter, teeth, ratio = machine.need(
        later("the tooth wait"),
        "feed.roll_diameter",
        f"{place}.ratchet_teeth",
        f"{place}.ratchet_turns_per_roll_turn",
    )
    return pi * diameter.nominal / (ratio.nominal * teeth.nominal)
