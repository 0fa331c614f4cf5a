"""Finding what an address names; what is not there, or put away, is not found."""

from __future__ import annotations

from uuid import UUID

from django.http import Http404

from tripmargin.records.store.models import Machine, MachineVersion


def machine_at(uid: UUID) -> Machine:
    """The machine of an address.

    Raises
    ------
    Http404
        If there is none.
    """
    machine = (
        Machine.objects.filter(uid=uid)
        # Where it stands comes along: three queries less on its page.
        .select_related("standing__version__proof")
        .defer(
            "standing__version__text",
            "standing__version__copy",
            "standing__version__proof__summary",
        )
        .first()
    )
    if machine is None:
        raise Http404
    return machine


def version_at(machine: Machine, number: int | None = None) -> MachineVersion:
    """A version of a machine, the newest where no number is given; texts come when asked for.

    Raises
    ------
    Http404
        If there is none.
    """
    versions = machine.versions.defer("text", "copy").order_by("-number")
    version = versions.first() if number is None else versions.filter(number=number).first()
    if version is None:
        raise Http404
    return version
