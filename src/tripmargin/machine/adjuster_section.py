"""How a pawl's gap is set, in the machine file: a clevis on a thread, or a clamp slid by hand."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.fields import measured, number, other

Q = Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PawlAdjuster:
    """What sets a pawl's gap.

    Nothing here changes an answer about protection: only the steps to another gap use it. So a
    file that leaves it out is not told of as assuming anything, but the steps are.
    """

    kind: str = other(
        "choice",
        later(
            "clevis: turned on its thread and held by a jam nut; clamp: slid by hand and held by a"
            " bolt"
        ),
        choices=("clevis", "clamp"),
        required=True,
    )
    thread_pitch: Q = measured(
        later("way of the clevis along its thread in one turn; without it 1.5 mm are assumed"),
        "length",
        2e-4,
        6e-3,
    )
    leverage: Q = number(
        later("change of the gap over the way along the thread; without it 0.7 to 1.3 is assumed"),
        0.02,
        20.0,
    )
    turned_out: str | None = other(
        "choice",
        later(
            "what turning the clevis out, off its thread, does to the gap; without it the steps say"
            " only which way the gap must go"
        ),
        choices=("opens", "closes"),
    )
    smallest_turn: Q = measured(
        later(
            "the least by which the clevis can be turned, half a turn where its pin must"
            " fit; without it half a turn is assumed"
        ),
        "angle",
        pi / 180,
        2 * pi,
    )
    placed_within: Q = measured(
        later(
            "how near a hand places the clamp to the gap wanted, either way; without it 0.2 mm are"
            " assumed"
        ),
        "length",
        0.0,
        3e-3,
    )
    tightening_shift: Q = measured(
        later(
            "how far the gap opens as the jam nut or the clamp's bolt is tightened, below"
            " zero where it closes; without it -0.2 to 0.2 mm are assumed"
        ),
        "length",
        -3e-3,
        3e-3,
    )
    coupling: Q = measured(
        later(
            "share of this pawl's move by which the gap of every other pawl moves too, below"
            " zero the other way; without it 0 to 20 % are assumed"
        ),
        "fraction",
        -0.9,
        0.9,
    )
    season_drift: Q = measured(
        later(
            "how far the gap opens in a season's work, below zero where it closes; without"
            " it -0.1 to 0.3 mm are assumed"
        ),
        "length",
        -5e-3,
        5e-3,
    )
    setting_range: Q = measured(
        later(
            "by how much the gap can be set from end to end; farther off a part is bent, worn or"
            " wrong; without it 8 mm are assumed"
        ),
        "length",
        1e-3,
        0.05,
    )


OF_A_CLEVIS = ("thread_pitch", "leverage", "turned_out", "smallest_turn")
OF_A_CLAMP = ("placed_within",)
