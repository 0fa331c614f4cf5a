"""The entries that count: neither corrected nor withdrawn."""

from __future__ import annotations

from typing import Any

from django.db.models import Exists, OuterRef

from tripmargin.records.kinds import WITHDRAWN
from tripmargin.records.store.models import Entry, Machine

NEWEST_FIRST = ("-at", "-pk")
"""Two entries of one minute: the one that was written later counts as later."""


def entries_in_force(machine: Machine, *kinds: str) -> Any:
    """A query for a machine's entries in force, of some kinds or of all, in no order."""
    found = Entry.objects.filter(machine=machine)
    found = found.filter(kind__in=kinds) if kinds else found.exclude(kind=WITHDRAWN)
    return found.filter(~Exists(Entry.objects.filter(corrects=OuterRef("pk"))))
