"""What the phone card of one machine holds: forms, the daily check, faults, pawls, protection."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any

from tripmargin.faultfinding import MachineProblem, machine_problem
from tripmargin.faultfinding.cases.cautions import AT_REST, FIRST, said
from tripmargin.faultfinding.wording.lamp_words import Lamps, lamp_words
from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.machine import Machine, digest_of
from tripmargin.pictures.words import SAFETY
from tripmargin.protection import Proof
from tripmargin.records.standing.meanings import STOP
from tripmargin.reports.card.fault_data import fault_data
from tripmargin.reports.card.form_data import form_data
from tripmargin.reports.card.pawl_data import pawl_data

Progress = Callable[[float], None]
_VERDICTS = {
    "protected": later("Protected."),
    "doubtful": later("Doubtful."),
    "not protected": later("Not protected."),
    "not known": later("Not known."),
}


def card_data(
    machine: Machine,
    proof: Proof,
    made: datetime,
    *,
    us: bool = False,
    history: Iterable[Any] = (),
    version: int | None = None,
    problem: MachineProblem | None = None,
    no_faults: str = "",
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Everything that the card's scripts need; JSON-ready.

    Parameters
    ----------
    machine : Machine
    proof : Proof
        Of this machine.
    made : datetime
        With its zone.
    us : bool
        Whether the card asks and shows in US units.
    history : iterable of Adjustment
        Past settings of the pawls, to learn from.
    version : int, optional
        Number of the machine's version in the yard's records.
    problem : MachineProblem, optional
        Where it is worked out already.
    no_faults : str
        Why it cannot be worked out, where that is known already.
    progress : callable, optional
        Told the share that is done, 0 to 1.
    """
    tell = progress or _silent
    tell(0.2)
    lamps = lamp_words(machine)
    tell(0.25)
    pawls = pawl_data(machine, history)
    tell(0.4)
    faults = None if problem is None else fault_data(problem)
    if faults is None and not no_faults:
        faults, no_faults = _faults(machine)
    names = () if pawls is None else tuple(each["pawl"] for each in pawls["pawls"])
    return {
        "machine": machine.name,
        "digest": digest_of(machine),
        "us": us,
        "safety": say(SAFETY),
        "stop": say(STOP),
        "cautions": list(said((*AT_REST, FIRST))),
        "forms": form_data(names, tuple(lamps.steps), us=us),
        "daily": _daily(lamps),
        "faults": faults,
        "no_faults": no_faults,
        "pawls": pawls,
        "protection": {"verdict": say(_VERDICTS[proof.verdict]), "as_of": _as_of(made)},
        "about": _about(machine, made, version),
    }


def _silent(_: float) -> None:
    """Nobody is told."""


def _faults(machine: Machine) -> tuple[dict[str, Any] | None, str]:
    try:
        return fault_data(machine_problem(machine)), ""
    except NotKnownError as error:
        return None, say("This card cannot find faults: {why}", why=error)


def _daily(lamps: Lamps) -> dict[str, Any]:
    return {
        "steps": [
            {
                "step": step,
                "called": as_written(step),
                "ways": [str(way) for way in lamps.steps[step].ways],
                "lines": list(lamps.words(step)),
            }
            for step in lamps.steps
        ],
        "notes": list(lamps.notes),
    }


def _day(made: datetime) -> str:
    return f"{made:%Y-%m-%d}"


def _as_of(made: datetime) -> str:
    return say(
        "Worked out from the machine's file on {day}. The card does not work it out anew: after a"
        " change of the machine, make a new card.",
        day=_day(made),
    )


def _about(machine: Machine, made: datetime, version: int | None) -> list[str]:
    card = {"machine": machine.name, "day": _day(made)}
    return [
        say("Card of {machine}, made on {day}.", **card)
        if version is None
        else say("Card of {machine}, version {version}, made on {day}.", version=version, **card),
        say("The machine's file is known by {digest}.", digest=digest_of(machine)[:12]),
        say(
            "Nothing leaves this phone by itself. What you enter stays in this browser on this"
            " phone until you send it; clearing the browser's data takes it away."
        ),
    ]
