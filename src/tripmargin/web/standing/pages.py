"""What the pages of due and drift share: the machine of an address, units, the list by urgency."""

from __future__ import annotations

from uuid import UUID

from django.http import Http404

from tripmargin.records.store.models import Machine


def machine_at(uid: UUID) -> Machine:
    """The machine of an address, put away or not.

    Raises
    ------
    Http404
        If there is none.
    """
    found = Machine.objects.select_related("standing__version__proof").defer(
        "standing__version__text", "standing__version__copy", "standing__version__proof__summary"
    )
    try:
        return found.get(uid=uid)
    except Machine.DoesNotExist:
        raise Http404 from None
