"""What of a machine's settings and state a verdict names: too slow, too thick, too noisy."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from tripmargin.ground.languages import say
from tripmargin.ground.units import shown
from tripmargin.machine import Machine
from tripmargin.protection.verdicts import CutVerdict
from tripmargin.sensing.piece_said import a_piece_first
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping.pawl_words import pawl_words


def slow_stop(machine: Machine, verdicts: Sequence[CutVerdict], us: bool) -> list[str]:
    """The longest stop, where it takes longer than the file asks for."""
    slow = [v for v in verdicts if v.stop_time_ok is False and v.stop_time is not None]
    if not slow:
        return []
    longest = max(slow, key=lambda v: v.stop_time or 0.0)
    if longest.stop_time is None or not isfinite(longest.stop_time):
        return []
    return [
        say(
            "The stop takes {time:.0f} ms at {cut}, more than the {most:.0f} ms asked for.",
            time=longest.stop_time * 1e3,
            cut=_length(longest.cut_length, us),
            most=machine.limits.stop_time.nominal * 1e3,
        )
    ]


def clearances(machine: Machine, us: bool) -> list[str]:
    """Each pawl whose clearance is outside the window."""
    lines, window, chain = [], machine.limits.clearance, machine.chain
    for pawl in chain.pawls if chain is not None else ():
        gap = pawl.clearance
        if gap is None or window.low - 1e-9 <= gap.nominal <= window.high + 1e-9:
            continue
        lines.append(
            say(
                "The {pawl} pawl's clearance of {gap} is outside the window of {low} to {high}.",
                pawl=pawl_words(pawl.name),
                gap=_length(gap.nominal, us),
                low=_length(window.low, us),
                high=_length(window.high, us),
            )
        )
    return lines


def low_supply(machine: Machine) -> list[str]:
    """A supply that may be too low for the detector."""
    least = machine.get("detector.supply_minimum")
    supply = machine.get("chain.supply")
    if least is None or supply is None or supply.low >= least.nominal:
        return []
    return [
        say(
            "The supply may fall to {low:.1f} V, below the detector's {least:.1f} V: it then"
            " trips or stays tripped, and the feed stands.",
            low=supply.low,
            least=least.nominal,
        )
    ]


def loud_noise(machine: Machine) -> list[str]:
    """Noise that trips the detector by itself."""
    noise = machine.get("detector.noise")
    threshold = machine.get("detector.threshold")
    if noise is None or threshold is None or noise.nominal * 4 <= threshold.nominal:
        return []
    return [
        say(
            "The noise of {noise:.3g} V is over a quarter of the threshold of {threshold:.3g} V:"
            " the detector trips by itself, and part of what is called caught here is that.",
            noise=noise.nominal,
            threshold=threshold.nominal,
        )
    ]


def too_thick(machine: Machine, pieces: Sequence[Piece], us: bool = False) -> tuple[str, ...]:
    """A sentence for each piece that does not fit between the rolls."""
    depth = machine.get("feed.crop_depth")
    return tuple(
        say(
            "{piece} is thicker than the opening between the rolls ({opening}): it cannot pass.",
            piece=a_piece_first(piece.name),
            opening=_length(depth.high, us),
        )
        for piece in pieces
        if depth is not None and 2 * piece.semi_axes.min() > depth.high
    )


def _length(value: float, us: bool) -> str:
    return shown(value, "length", us=us, digits=3)
