"""Machines, every version of their files, the type sheets they share, and where they stand."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone

from tripmargin.records.store.models.append_only import AppendOnly
from tripmargin.records.store.models.people import Person


class TypeSheet(models.Model):
    """A type sheet shared by many machines, by its file name."""

    name = models.CharField(max_length=100, unique=True)


class TypeSheetVersion(AppendOnly):
    """One version of a type sheet, as it was uploaded."""

    sheet = models.ForeignKey(TypeSheet, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    text = models.TextField()
    digest = models.CharField(max_length=64)
    added_at = models.DateTimeField(default=timezone.now)
    added_by_name = models.CharField(max_length=60, blank=True)

    class Meta:
        """One of each number."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["sheet", "number"], name="one_sheet_version")
        ]


class Machine(models.Model):
    """A machine. Never deleted, for its log goes on; put away instead."""

    uid = models.UUIDField(default=uuid.uuid4, unique=True)
    name = models.CharField(max_length=100, unique=True)
    created_at = models.DateTimeField(default=timezone.now)
    put_away_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return str(self.name)


class MachineVersion(AppendOnly):
    """One version of a machine's file: the text as given, and a copy that needs no other file."""

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    file_name = models.CharField(max_length=100)
    text = models.TextField()
    copy = models.JSONField()
    """As `tripmargin.machine.copy_of` makes it."""
    digest = models.CharField(max_length=64)
    note = models.CharField(max_length=500, blank=True)
    added_at = models.DateTimeField(default=timezone.now)
    added_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    added_by_name = models.CharField(max_length=60, blank=True)

    class Meta:
        """One of each number."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["machine", "number"], name="one_machine_version")
        ]


class VersionProof(models.Model):
    """What `prove` said of a version: made again by a newer program, so not append-only."""

    version = models.OneToOneField(MachineVersion, on_delete=models.PROTECT, related_name="proof")
    verdict = models.CharField(max_length=20)
    summary = models.JSONField()
    program = models.CharField(max_length=40)
    proved_at = models.DateTimeField(default=timezone.now)


class VersionCoverage(models.Model):
    """Which dangerous faults a version's daily check finds; made again by a newer program.

    `summary` is `DangerousCoverage.to_dict()`, or {"because": ...} where it cannot be worked out.
    """

    version = models.OneToOneField(
        MachineVersion, on_delete=models.PROTECT, related_name="coverage"
    )
    summary = models.JSONField()
    program = models.CharField(max_length=40)
    worked_out_at = models.DateTimeField(default=timezone.now)


class Standing(models.Model):
    """Where a machine stands, worked out from its log at each entry; can be made anew from it."""

    machine = models.OneToOneField(Machine, on_delete=models.PROTECT, related_name="standing")
    version = models.ForeignKey(MachineVersion, null=True, on_delete=models.PROTECT)
    facts = models.JSONField(default=dict)
    worked_out_at = models.DateTimeField(default=timezone.now)
