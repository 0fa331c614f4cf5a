"""Which drills there are, and which of them a machine is fit for."""

from __future__ import annotations

from tripmargin.faultfinding.wording.standing_words import lacking
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine
from tripmargin.records.keeping.practices import FAULT, KINDS, SETTING, STOP
from tripmargin.stopping.setting import adjusters_of

__all__ = ["FAULT", "KINDS", "SETTING", "STOP", "fit_kinds", "why_not"]

ABOUT = {
    FAULT: later(
        "One fault is hidden. The operator complains; you look, measure, mend, test and declare."
    ),
    SETTING: later("The true gaps are hidden. You measure, turn and place until you are sure."),
    STOP: later(
        "Pieces of metal come with the crop. Say what comes of each, and how sure you are."
    ),
}

NEEDED = ("feed.roll_width", "feed.crop_depth", "feed.sensor_to_shear_bar")


def why_not(kind: str, machine: Machine) -> str:
    """What a machine's file lacks for a drill of this kind; empty where it lacks nothing."""
    if kind == FAULT:
        missing = lacking(machine)
        return say("Its file lacks {what}.", what="; ".join(missing)) if missing else ""
    if kind == SETTING:
        try:
            adjusters_of(machine)
        except TripmarginError as error:
            return str(error).partition("\n")[0]
        return ""
    if kind == STOP:
        return _why_not_stop(machine)
    return say("There is no such drill.")


def _why_not_stop(machine: Machine) -> str:
    """What is lacking at first sight; the rest is told when the pieces are chosen."""
    try:
        machine.need("would it stop?", *NEEDED)
    except TripmarginError as error:
        return str(error).partition("\n")[0]
    return ""


def fit_kinds(machine: Machine) -> list[tuple[str, str, str, str]]:
    """Kind, name, what it is about, and why this machine is not fit for it; all kinds."""
    return [
        (kind, say(name), say(ABOUT[kind]), why_not(kind, machine)) for kind, name in KINDS.items()
    ]
