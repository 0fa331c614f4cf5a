"""Everything that the page which plays a stop needs; JSON-ready."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import Machine
from tripmargin.pictures.words import SAFETY, assumed_words, chance
from tripmargin.protection import race
from tripmargin.reports.how.power import power_words
from tripmargin.reports.how.runs import Place, what_comes
from tripmargin.reports.how.scenery import scenery_of
from tripmargin.reports.how.telling import mm
from tripmargin.reports.how.variants import Variants
from tripmargin.sensing import Piece

Progress = Callable[[float], None]


def how_data(
    machine: Machine, *, cut_length: float, piece: Piece, progress: Progress | None = None
) -> dict[str, Any]:
    """One machine's stop at one cut, and what changes with a few settings.

    Parameters
    ----------
    machine : Machine
    cut_length : float, m
    piece : Piece
        Where the sensor is not known, metal is taken as seen above its axis instead.
    progress : callable, optional
        Told the share that is done, 0 to 1.

    Returns
    -------
    dict
        SI, times from the crossing; `variants` holds timelines (`timeline_of`) by id.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the stop needs.
    ValueError
        If the cut length cannot be.
    """
    tell = progress or _silent
    place, unseen = what_comes(machine, piece, cut_length)
    tell(0.1)
    shown, groups = Variants(machine, cut_length, place).made()
    tell(0.6)
    scenery = scenery_of(machine, place)
    tell(0.8)
    return {
        "machine": machine.name,
        "safety": SAFETY,
        "scenery": scenery,
        "variants": shown,
        "groups": groups,
        "power": power_words(machine),
        "simplified": _simplified(machine, place),
        "notes": [note for note in (unseen, *_notes(machine, cut_length, place)) if note],
    }


def _silent(_: float) -> None:
    """Nobody is told."""


def _notes(machine: Machine, cut_length: float, place: Place | None) -> list[str]:
    """What is shown of what is uncertain, and how likely it ends otherwise."""
    made = [
        "Shown is the middle: every value at its middle, and each wait for a tooth half a tooth"
        " long. A real stop differs each time; best and worst of 20 drawn ones can be picked"
        " under Chance."
    ]
    if place is not None:
        made.append(
            f"The {place.piece.name} passes {mm(abs(place.x))} from the roll's middle, its own"
            f" middle {mm(place.height)} above the roll."
        )
        try:
            run = race(
                machine, cut_length=cut_length, piece=place.piece, x=place.x, height=place.height
            )
        except NotKnownError:
            pass  # without the noise nothing is known of chances
        else:
            odds = chance(run.probability_through)
            made += [f"Over all tolerances the chance that it goes through: {odds}.", *run.notes]
    assumed = assumed_words(machine.assumed)
    made.append(assumed or "Nothing is assumed: the machine's file gives every value used.")
    return made


def _simplified(machine: Machine, place: Place | None) -> list[str]:
    """What is drawn and not worked out."""
    chain = machine.chain
    by_parts = chain is not None and chain.plunger.parts is not None
    made = [
        "The side view is to scale where the file gives sizes; dashed is schematic. The size of"
        " plunger, pawls and ratchets is not to scale. The path is drawn straight.",
        "What is left of the winding's current after the spring has won is drawn as if the plunger"
        " sat still.",
        "The rolls slow down evenly from the last catch to rest, as in the race.",
    ]
    if not by_parts:
        made.append(
            "Only the time of the plunger's fall is known: its way is drawn as a steady push."
        )
    if place is not None:
        made += [
            "Flux lines: those of the magnets alone are worked out; how the piece bends them is"
            " drawn, and much too large.",
            "The voltage is worked out for even speed, so it is drawn until the rolls slow down."
            " The amplifier's own limit is left out.",
        ]
    if place is not None and place.piece.kind != "ball":
        made.append("The piece is drawn as a ball of no size.")
    return made
