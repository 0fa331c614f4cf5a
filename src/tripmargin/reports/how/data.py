"""Everything that the page which plays a stop needs; JSON-ready."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine
from tripmargin.pictures.words import SAFETY, assumed_words
from tripmargin.reports.how.placing import require_place
from tripmargin.reports.how.power import power_law, power_words
from tripmargin.reports.how.runs import DRAWS, Place, what_comes
from tripmargin.reports.how.scenery import over_magnet, scenery_of
from tripmargin.reports.how.variants import Variants
from tripmargin.sensing import Piece
from tripmargin.stopping import metal_speed

Progress = Callable[[float], None]
BESIDE = {
    "title": later("Two feeds, one clock"),
    "alone": later("one feed"),
    "beside": later("two feeds"),
    "note": later(
        "The other feed stands below: the machine as it is, or as its file has it where settings"
        " are changed. In both the piece is above the sensor's axis at the same instant; without"
        " power both are cut at once."
    ),
    "pick": later("Pick a setting below: what stands here is the machine as it is."),
    "above": later("Above: what is picked."),
    "below": later("Below: the machine as it is."),
    "below_file": later("Below: as the machine's file has it."),
    "more": later("Above, {gap} more is left than below."),
    "less": later("Above, {gap} less is left than below."),
    "same": later("Both leave the same."),
    "only_above": later("Only above does the metal rest before the knives."),
    "only_below": later("Only below does the metal rest before the knives."),
    "neither": later("Neither above nor below does the metal rest before the knives."),
}
"""What the page says of two feeds beside one another; {gap} is a length that it fills in."""


def how_data(
    machine: Machine,
    *,
    cut_length: float,
    piece: Piece,
    x: float | None = None,
    height: float | None = None,
    before: Machine | None = None,
    us: bool = False,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """One machine's stop at one cut, and what changes with a few settings.

    Parameters
    ----------
    machine : Machine
    cut_length : float, m
    piece : Piece
        Where the sensor is not known, metal is taken as seen above its axis instead.
    x, height : float, m, optional
        Place of its middle across the roll, from the roll's middle, and above the lower roll; by
        default over the middle of the first magnet, at mid-height.
    before : Machine, optional
        The same machine before its settings were changed, to be shown beside.
    us : bool
        US units instead of metric.
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
        If the cut length or the place cannot be.
    """
    tell = progress or _silent
    require_place(machine, x, height, us)
    place, unseen = what_comes(machine, piece, cut_length, x, height)
    tell(0.1)
    shown, groups = Variants(machine, cut_length, place, us, before).made()
    tell(0.6)
    scenery = scenery_of(machine, place)
    tell(0.8)
    return {
        "machine": machine.name,
        "us": us,
        "words": {name: say(words) for name, words in BESIDE.items()},
        "safety": say(SAFETY),
        "scenery": scenery,
        "variants": shown,
        "groups": groups,
        "law": power_law(machine),
        "power": power_words(machine),
        "simplified": _simplified(machine, place),
        "unseen": _unseen() if place is not None else [],
        "notes": [note for note in (unseen, *_notes(machine, cut_length, place)) if note],
    }


def _silent(_: float) -> None:
    """Nobody is told."""


def _notes(machine: Machine, cut_length: float, place: Place | None) -> list[str]:
    """What is shown of what is uncertain, and what to know of the piece's pass."""
    made = [
        say(
            "Shown is the middle: every value at its middle, and each wait for a tooth half a tooth"
            " long. A real stop differs each time; best and worst of {count} drawn ones can be"
            " picked under Chance.",
            count=DRAWS,
        )
    ]
    if place is not None:
        made += [
            say(
                "Where nothing else is asked for, the piece comes over the middle of the first"
                " magnet, at half the height of the crop. The command tripmargin show takes another"
                " place with --x and --height, and so does How it works in the web app."
            ),
            *place.seen_by(machine, metal_speed(machine, cut_length)).notes,
        ]
    assumed = assumed_words(machine.assumed)
    made.append(assumed or say("Nothing is assumed: the machine's file gives every value used."))
    return made


def _unseen() -> list[str]:
    """What no setting makes the sensor see, and how to learn more of it."""
    return [
        say(
            "The sensor sees iron and steel. Stones and wood it does not see at all; brass,"
            " aluminium and most stainless steel hardly. Such pieces go to the knives, whatever is"
            " set here."
        ),
        say(
            "The command tripmargin reach, or Protection in the web app, shows what this machine's"
            " sensor sees, and at which place. A place that it is blind to can be played here too:"
            " the command tripmargin show takes it with --x, and so does How it works in the web"
            " app."
        ),
    ]


def _simplified(machine: Machine, place: Place | None) -> list[str]:
    """What is drawn and not worked out."""
    chain = machine.chain
    by_parts = chain is not None and chain.plunger.parts is not None
    made = [
        say(
            "The side view is to scale where the file gives sizes; dashed is schematic. The size of"
            " plunger, pawls and ratchets is not to scale. The path is drawn straight."
        ),
        say(
            "What is left of the winding's current after the spring has won is drawn as if the"
            " plunger sat still."
        ),
        say("The rolls slow down evenly from the last catch to rest, as in the race."),
    ]
    if not by_parts:
        made.append(
            say("Only the time of the plunger's fall is known: its way is drawn as a steady push.")
        )
    if place is not None and not over_magnet(machine, place.x):
        made.append(
            say(
                "No magnet lies under the place at which the piece comes: the sensor beside it is"
                " drawn dashed, and no flux lines are drawn."
            )
        )
    elif place is not None:
        made.append(
            say(
                "Flux lines: those of the magnets alone are worked out; how the piece bends them is"
                " drawn, and much too large."
            )
        )
    if place is not None:
        made.append(
            say(
                "The voltage is worked out for even speed, so it is drawn until the rolls slow"
                " down. The amplifier's own limit is left out."
            )
        )
    if place is not None and place.piece.kind != "ball":
        made.append(say("The piece is drawn as a ball of no size."))
    return made
