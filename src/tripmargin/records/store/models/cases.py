"""Fault-finding cases: the lines of their files, one row an addition."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone

from tripmargin.records.store.models.append_only import AppendOnly
from tripmargin.records.store.models.machines import Machine, MachineVersion
from tripmargin.records.store.models.people import Person


class FaultCase(models.Model):
    """A case; what was found stands in its lines, `status` repeats where they end."""

    uid = models.UUIDField(default=uuid.uuid4, unique=True)
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="cases")
    version = models.ForeignKey(MachineVersion, on_delete=models.PROTECT)
    begun_at = models.DateTimeField(default=timezone.now)
    begun_by_name = models.CharField(max_length=60)
    complaint = models.CharField(max_length=60, blank=True)
    status = models.CharField(max_length=20, default="open")

    class Meta:
        """Read by machine, newest first."""

        indexes: ClassVar = [models.Index(fields=["machine", "-begun_at"], name="case_of_machine")]


class CaseLine(AppendOnly):
    """Bytes added to a case's file, and who added them; `uid` keeps a second try from counting."""

    case = models.ForeignKey(FaultCase, on_delete=models.PROTECT, related_name="lines")
    uid = models.UUIDField(null=True)
    content = models.BinaryField()
    at = models.DateTimeField(default=timezone.now)
    who = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    who_name = models.CharField(max_length=60, blank=True)

    class Meta:
        """One line of each id that a client made."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["case", "uid"], name="one_case_line")
        ]
