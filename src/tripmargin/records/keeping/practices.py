"""Practice in the records: drills begun, added to move by move, and ended; never changed.

What a move is worth is not known here: the room of the drills plays the moves, and whoever calls
hands over what came of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine import digest_of
from tripmargin.machine.loading import demo_machines, load_machine
from tripmargin.records.keeping.in_turn import writing_in_turn
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.store.models import (
    ClassDrill,
    ClassLearner,
    MachineVersion,
    Person,
    Practice,
    PracticeMove,
    PracticeResult,
)

MOST_MOVES = 400
"""Moves of one practice: a best route has a dozen. Nobody fills the disk by tapping."""
MOST_SEED = 10**9
FAULT, SETTING, STOP = "fault", "setting", "stop"
KINDS = {
    FAULT: later("Find a hidden fault"),
    SETTING: later("Set the pawls with a feeler"),
    STOP: later("Would it stop?"),
}
"""What a drill is called, by the kind that it is kept by."""


class PracticeError(TripmarginError, ValueError):
    """A practice that cannot be begun or gone on with; the text says what to do."""


@dataclass(frozen=True, slots=True)
class On:
    """What is practised on: a version of a machine in the records, or an invented machine."""

    version: MachineVersion | None = None
    demo: str = ""

    def loaded(self) -> LoadedMachine:
        """The machine.

        Raises
        ------
        PracticeError
            If there is no invented machine of this name.
        """
        if self.version is not None:
            return machine_of(self.version)
        if self.demo not in demo_machines():
            known = ", ".join(demo_machines())
            raise PracticeError(
                say(
                    "There is no invented machine “{name}”. Known: {known}.",
                    name=self.demo, known=known,
                )
            )  # fmt: skip
        return load_machine(self.demo)


@dataclass(frozen=True, slots=True)
class Player:
    """Who plays: a person, or a learner of a class in one of its drills."""

    who: Person | None = None
    learner: ClassLearner | None = None
    class_drill: ClassDrill | None = None

    @property
    def name(self) -> str:
        """As it stands in the results."""
        return str(self.who or self.learner or "")


def on_of(practice: Practice | ClassDrill) -> On:
    """What a practice, or a drill of a class, is played on."""
    return On(practice.version, practice.demo)


def begin_practice(
    kind: str, seed: int, on: On, *, by: Player, uid: UUID, about: Iterable[str] = ()
) -> Practice:
    """A new practice; the second sending of the same id is the first.

    A learner has one practice of each drill of the class: a second one is the first.

    Raises
    ------
    PracticeError
        If the seed is out of range, or the id belongs to somebody else's practice.
    """
    if not 0 <= seed <= MOST_SEED:
        raise PracticeError(
            say("Seed {seed}: not a whole number from 0 to {most}.", seed=seed, most=MOST_SEED)
        )
    loaded = on.loaded()
    made = Practice(
        uid=uid, kind=kind, seed=seed, version=on.version, demo=on.demo,
        machine_name=loaded.name[:100], machine_mark=digest_of(loaded), who=by.who,
        who_name=by.name[:60], about="\n".join(about), learner=by.learner,
        class_drill=by.class_drill,
    )  # fmt: skip
    try:
        with transaction.atomic():
            made.save(force_insert=True)
    except IntegrityError:
        found = Practice.objects.filter(uid=uid).first()
        if found is None and by.learner is not None:
            found = Practice.objects.filter(learner=by.learner, class_drill=by.class_drill).first()
        if found is None or (found.who_id, found.learner_id) != (made.who_id, made.learner_id):
            raise PracticeError(
                say("This page was used already. Open it anew and begin from there.")
            ) from None
        return found
    return made


@dataclass(slots=True)
class Turn:
    """One writer's turn at a practice: nobody else adds to it meanwhile.

    Attributes
    ----------
    practice : Practice
    moves : list of PracticeMove
        All that were made, in order.
    came : PracticeMove or None
        The move that this id brought before.
    ended : bool
    """

    practice: Practice
    moves: list[PracticeMove]
    came: PracticeMove | None
    ended: bool
    _uid: UUID | None = field(default=None, repr=False)

    def add(self, do: str, what: str, came: str) -> PracticeMove:
        """Add a move; the first one has the sender's id.

        Raises
        ------
        PracticeError
            If there are too many, or the practice has ended.
        """
        if self.ended:
            raise PracticeError(say("This drill has ended. Nothing was added to it."))
        if len(self.moves) >= MOST_MOVES:
            raise PracticeError(
                say(
                    "This drill has {most} moves, which is the most. Hand the machine over, or"
                    " begin another drill.",
                    most=MOST_MOVES,
                )
            )
        made: PracticeMove = PracticeMove.objects.create(
            practice=self.practice, number=len(self.moves) + 1, uid=self._uid,
            do=do[:20], what=what[:300], came=came[:300],
        )  # fmt: skip
        self._uid = None
        self.moves.append(made)
        return made

    def end(self, kept: dict[str, Any], *, points: float, unsafe: int) -> PracticeResult:
        """Keep how it ended, with the move that ended it."""
        self.ended = True
        made: PracticeResult = PracticeResult.objects.create(
            practice=self.practice, points=points, unsafe=unsafe, kept=kept
        )
        return made


@contextmanager
def turn_at(practice: Practice, uid: UUID | None) -> Iterator[Turn]:
    """A turn at adding to a practice; what is added is kept together, or not at all."""
    with writing_in_turn():
        Practice.objects.select_for_update().get(pk=practice.pk)
        moves = moves_of(practice)
        came = next((move for move in moves if uid is not None and move.uid == uid), None)
        ended = PracticeResult.objects.filter(practice=practice).exists()
        yield Turn(practice, moves, came, ended, None if came is not None else uid)


def moves_of(practice: Practice) -> list[PracticeMove]:
    """The moves of a practice, in order."""
    return list(practice.moves.order_by("number"))


def result_of(practice: Practice) -> PracticeResult | None:
    """How it ended; None where it has not."""
    found: PracticeResult | None = PracticeResult.objects.filter(practice=practice).first()
    return found
