"""Practice: drills that were played, move by move, and classes that play the same ones."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone

from tripmargin.records.store.models.append_only import AppendOnly
from tripmargin.records.store.models.machines import MachineVersion
from tripmargin.records.store.models.people import Person


class PracticeClass(models.Model):
    """A class in one room. Never deleted; it is closed, or ends by itself, and nobody joins then.

    `code` is what learners type; `shows` says how the board calls them.
    """

    uid = models.UUIDField(default=uuid.uuid4, unique=True)
    name = models.CharField(max_length=60)
    code = models.CharField(max_length=12, unique=True)
    shows = models.CharField(max_length=20, default="names")
    opened_at = models.DateTimeField(default=timezone.now)
    opened_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    opened_by_name = models.CharField(max_length=60)
    ends_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return str(self.name)


class ClassDrill(models.Model):
    """One drill of a class: the same machine, kind and seed for all who learn.

    `version` is the machine's file; empty where `demo` names one of the invented machines.
    """

    of_class = models.ForeignKey(PracticeClass, on_delete=models.PROTECT, related_name="drills")
    number = models.PositiveIntegerField()
    kind = models.CharField(max_length=20)
    seed = models.PositiveBigIntegerField()
    version = models.ForeignKey(MachineVersion, null=True, on_delete=models.PROTECT)
    demo = models.CharField(max_length=40, blank=True)
    machine_name = models.CharField(max_length=100)
    answer_shown_at = models.DateTimeField(null=True)
    """When the trainer showed the class what was hidden; what ends later does not compare."""

    class Meta:
        """One of each number."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["of_class", "number"], name="one_class_drill")
        ]


class ClassLearner(AppendOnly):
    """Somebody who joined a class by its code: a name in it, and no right to anything else."""

    uid = models.UUIDField(default=uuid.uuid4, unique=True)
    of_class = models.ForeignKey(PracticeClass, on_delete=models.PROTECT, related_name="learners")
    number = models.PositiveIntegerField()
    name = models.CharField(max_length=60)
    name_key = models.CharField(max_length=200)
    joined_at = models.DateTimeField(default=timezone.now)

    class Meta:
        """Everybody has a number and a name of his own in the class."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["of_class", "number"], name="one_learner_a_number"),
            models.UniqueConstraint(fields=["of_class", "name_key"], name="one_learner_a_name"),
        ]

    def __str__(self) -> str:
        return str(self.name)


class Practice(AppendOnly):
    """A drill that somebody began: machine, kind and seed say what is hidden.

    Whoever plays is `who`, or `learner` of a class. `machine_mark` changes with anything in the
    machine's file, so that a drill is never played on with another one. `about` names kinds of
    lesson that were asked for, one a line: with the seed they say what is asked.
    """

    uid = models.UUIDField(default=uuid.uuid4, unique=True)
    kind = models.CharField(max_length=20)
    seed = models.PositiveBigIntegerField()
    version = models.ForeignKey(MachineVersion, null=True, on_delete=models.PROTECT)
    demo = models.CharField(max_length=40, blank=True)
    machine_name = models.CharField(max_length=100)
    machine_mark = models.CharField(max_length=64)
    about = models.CharField(max_length=200, blank=True)
    who = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="practices")
    who_name = models.CharField(max_length=60)
    learner = models.ForeignKey(
        ClassLearner, null=True, on_delete=models.PROTECT, related_name="practices"
    )
    class_drill = models.ForeignKey(
        ClassDrill, null=True, on_delete=models.PROTECT, related_name="practices"
    )
    begun_at = models.DateTimeField(default=timezone.now)

    class Meta:
        """Each learner plays each drill of the class once; a person's are read newest first."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["learner", "class_drill"], name="one_practice_a_drill")
        ]
        indexes: ClassVar = [models.Index(fields=["who", "-begun_at"], name="practice_of_person")]


class PracticeMove(AppendOnly):
    """A move, and what came of it; `uid` keeps a second sending from counting."""

    practice = models.ForeignKey(Practice, on_delete=models.PROTECT, related_name="moves")
    number = models.PositiveIntegerField()
    uid = models.UUIDField(null=True)
    do = models.CharField(max_length=20)
    what = models.CharField(max_length=300, blank=True)
    came = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        """Moves are counted from 1; one of each id that a page made."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["practice", "number"], name="one_move_a_number"),
            models.UniqueConstraint(fields=["practice", "uid"], name="one_practice_move"),
        ]


class PracticeResult(AppendOnly):
    """How a drill ended: `kept` is what `tripmargin drill --save` writes."""

    practice = models.OneToOneField(Practice, on_delete=models.PROTECT, related_name="result")
    points = models.FloatField()
    unsafe = models.PositiveIntegerField()
    kept = models.JSONField()
    at = models.DateTimeField(default=timezone.now)
