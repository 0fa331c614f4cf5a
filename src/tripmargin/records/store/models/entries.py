"""The log: entries and their photos."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.db import models
from django.utils import timezone

from tripmargin.records.store.models.append_only import AppendOnly
from tripmargin.records.store.models.machines import Machine, MachineVersion
from tripmargin.records.store.models.people import Person


class Entry(AppendOnly):
    """One entry. A correction is an entry that points at the one it corrects.

    Attributes
    ----------
    uid
        Made by whoever enters it, so that a second try after a bad connection is known as one.
    at, received_at
        When it happened, by the clock of whoever entered it; when it came in, by ours.
    clock_ahead_s
        How far that clock was ahead of ours when the entry was sent, where it said so.
    values
        Key to value in SI; see `tripmargin.records.kinds`.
    """

    uid = models.UUIDField(default=uuid.uuid4, unique=True)
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="entries")
    kind = models.CharField(max_length=20)
    at = models.DateTimeField()
    received_at = models.DateTimeField(default=timezone.now)
    clock_ahead_s = models.FloatField(null=True)
    who = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    who_name = models.CharField(max_length=60)
    values = models.JSONField(default=dict)
    note = models.TextField(blank=True)
    corrects = models.ForeignKey(
        "self", null=True, on_delete=models.PROTECT, related_name="corrected_by"
    )
    version = models.ForeignKey(MachineVersion, null=True, on_delete=models.PROTECT)
    source = models.CharField(max_length=20, default="web")

    class Meta:
        """Read by machine, newest first, of all kinds or of one; or of all machines."""

        indexes: ClassVar = [
            models.Index(fields=["machine", "-at", "-id"], name="entry_of_machine"),
            models.Index(fields=["machine", "kind", "-at", "-id"], name="entry_of_kind"),
            models.Index(fields=["-at", "-id"], name="entry_newest"),
        ]


class Photo(AppendOnly):
    """A photo of an entry, its bytes as they came."""

    uid = models.UUIDField(default=uuid.uuid4, unique=True)
    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="photos")
    content_type = models.CharField(max_length=20)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    size = models.PositiveIntegerField()
    digest = models.CharField(max_length=64)
    content = models.BinaryField()
    small = models.BinaryField()
    """A JPEG to show in a list."""
    added_at = models.DateTimeField(default=timezone.now)

    class Meta:
        """The same photo of an entry is kept once."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["entry", "digest"], name="one_photo_of_an_entry")
        ]
