"""Classes in one room: opened by a trainer, joined by a code, ended; and who learns in them.

Whoever joins has a name in the class and nothing else: no account, no role, no way into the
records. The code is short, for it is read from a wall; so guessing is counted where it is typed
(web/drills/joining.py), and it is good for some hours only.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import later, say
from tripmargin.records.keeping.audit import note_change
from tripmargin.records.keeping.in_turn import writing_in_turn
from tripmargin.records.keeping.people import PersonError, cleaned_name
from tripmargin.records.keeping.practices import MOST_SEED, On
from tripmargin.records.store.models import (
    ClassDrill,
    ClassLearner,
    Person,
    PracticeClass,
    PracticeResult,
)
from tripmargin.records.store.models.people import name_key

LASTS = timedelta(hours=12)
"""A class ends by itself in the evening of its day."""
LETTERS = "BCDFGHJKMNPQRSTVWXZ2345679"
"""Of a code: no vowel, so that it makes no word; nothing that looks like something else."""
CODE_LENGTH = 6
MOST_LEARNERS, MOST_DRILLS, MOST_MACHINES = 60, 12, 4
"""Of one class. Problems of four machines are kept in memory (web/whats_wrong/keeper.py)."""
LONGEST_NAME = 60
NAMES, FIRST_NAMES, NUMBERS = "names", "first names", "numbers"
SHOWS = {
    NAMES: later("Names as they were typed"),
    FIRST_NAMES: later("First names"),
    NUMBERS: later("Numbers only"),
}
"""How the board calls those who learn."""


class ClassError(TripmarginError, ValueError):
    """A class that cannot be opened or joined; the text says what to do."""


@dataclass(frozen=True, slots=True)
class NewDrill:
    """A drill for a class: what it is about, on what, and which."""

    kind: str
    on: On
    seed: int


def open_class(
    name: str, drills: Sequence[NewDrill], *, by: Person, shows: str = NAMES, uid: UUID,
    address: str = "",
) -> PracticeClass:  # fmt: skip
    """A new class with its drills and a code; the second sending of the same id is the first.

    Raises
    ------
    ClassError
        If it has no name, no drill, or more of something than a class may have.
    """
    called = " ".join(name.split())
    if not called or len(called) > LONGEST_NAME:
        raise ClassError(say("A class needs a name of 1 to {most} letters.", most=LONGEST_NAME))
    _check(drills)
    if shows not in SHOWS:
        raise ClassError(say("Choose how the board calls those who learn."))
    machines = [each.on.loaded().name[:100] for each in drills]
    try:
        with transaction.atomic():
            room: PracticeClass = PracticeClass.objects.create(
                uid=uid, name=called, code=_free_code(), shows=shows, opened_by=by,
                opened_by_name=str(by), ends_at=timezone.now() + LASTS,
            )  # fmt: skip
            for number, (each, machine) in enumerate(zip(drills, machines, strict=True), 1):
                ClassDrill.objects.create(
                    of_class=room, number=number, kind=each.kind, seed=each.seed,
                    version=each.on.version, demo=each.on.demo, machine_name=machine,
                )  # fmt: skip
            note_change("class opened", called, who=by, address=address, drills=len(drills))
    except IntegrityError:
        found: PracticeClass | None = PracticeClass.objects.filter(uid=uid).first()
        if found is None or found.opened_by_id != by.pk:
            raise ClassError(say("This page was used already. Open it anew.")) from None
        return found
    return room


def _check(drills: Sequence[NewDrill]) -> None:
    if not 1 <= len(drills) <= MOST_DRILLS:
        raise ClassError(say("A class has 1 to {most} drills. Choose a machine.", most=MOST_DRILLS))
    on = {(each.on.version and each.on.version.pk, each.on.demo) for each in drills}
    if len(on) > MOST_MACHINES:
        raise ClassError(say("A class has at most {most} machines.", most=MOST_MACHINES))
    for each in drills:
        if not 0 <= each.seed <= MOST_SEED:
            raise ClassError(
                say(
                    "Seed {seed}: not a whole number from 0 to {most}.",
                    seed=each.seed, most=MOST_SEED,
                )
            )  # fmt: skip


def _free_code() -> str:
    """A code that no class ever had; the chance that one comes twice is below a millionth."""
    while True:
        code = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
        if not PracticeClass.objects.filter(code=code).exists():
            return code


def is_open(room: PracticeClass) -> bool:
    """Whether the class takes learners and moves."""
    return room.closed_at is None and timezone.now() < room.ends_at


def class_of_code(code: str) -> PracticeClass | None:
    """The open class of a code, however it was typed; None where there is none.

    A class that has ended is found no more than one that never was.
    """
    typed = typed_code(code)
    room = PracticeClass.objects.filter(code=typed).first() if 0 < len(typed) < 13 else None
    return room if room is not None and is_open(room) else None


def typed_code(code: str) -> str:
    """A code as it is kept, however it was typed."""
    return "".join(code.split()).replace("-", "").upper()


def is_late(ended: PracticeResult) -> bool:
    """Whether a drill of a class ended after its answer was shown: it does not compare."""
    drill = ended.practice.class_drill
    shown = None if drill is None else drill.answer_shown_at
    return shown is not None and bool(ended.at > shown)


def join_class(room: PracticeClass, name: str, *, uid: UUID) -> ClassLearner:
    """A name in a class, with the next number; the second sending of the same id is the first.

    Raises
    ------
    ClassError
        If the class has ended or is full, or the name is taken or cannot be one.
    """
    try:
        called = cleaned_name(name)
    except PersonError as error:
        raise ClassError(" ".join(error.wrong["name"])) from error
    with writing_in_turn():
        now: PracticeClass = PracticeClass.objects.select_for_update().get(pk=room.pk)
        before: ClassLearner | None = ClassLearner.objects.filter(uid=uid).first()
        if before is not None and (before.of_class_id, before.name) == (now.pk, called):
            return before
        if not is_open(now):
            raise ClassError(say("The class has ended. Nobody joins any more."))
        there = now.learners.count()
        if there >= MOST_LEARNERS:
            raise ClassError(say("The class is full: {most} have joined.", most=MOST_LEARNERS))
        key = name_key(called)
        if now.learners.filter(name_key=key).exists():
            raise ClassError(
                say(
                    "Somebody called “{name}” has joined already. Add something, such as the first"
                    " letter of your surname.",
                    name=called,
                )
            )
        made: ClassLearner = ClassLearner.objects.create(
            of_class=now, number=there + 1, name=called, name_key=key,
            **({} if before is not None else {"uid": uid}),
        )  # fmt: skip
        return made


def close_class(room: PracticeClass, *, by: Person, address: str = "") -> None:
    """End a class: nobody joins, and no move is taken. Its results stay."""
    with transaction.atomic():
        open_ones = PracticeClass.objects.filter(pk=room.pk, closed_at=None)
        if open_ones.update(closed_at=timezone.now()):
            note_change("class ended", room.name, who=by, address=address)


def show_answer(drill: ClassDrill) -> None:
    """Show the class what was hidden in a drill; the first time counts."""
    ClassDrill.objects.filter(pk=drill.pk, answer_shown_at=None).update(
        answer_shown_at=timezone.now()
    )


def show_as(room: PracticeClass, shows: str) -> None:
    """Choose how the board calls those who learn.

    Raises
    ------
    ClassError
        If there is no such way.
    """
    if shows not in SHOWS:
        raise ClassError(say("Choose how the board calls those who learn."))
    PracticeClass.objects.filter(pk=room.pk).update(shows=shows)


def called(learner: ClassLearner, shows: str) -> str:
    """What the board calls somebody who learns."""
    if shows == NUMBERS:
        return say("Number {number}", number=learner.number)
    return learner.name.split()[0] if shows == FIRST_NAMES else str(learner.name)
