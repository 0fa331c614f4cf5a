"""Working out anew where a machine stands, after something was written about it."""

from __future__ import annotations

from django.utils import timezone

from tripmargin.records.standing.asked import newest_version
from tripmargin.records.standing.facts import FORMAT, facts_of
from tripmargin.records.store.models import Machine, MachineVersion, Standing


def refresh(machine: Machine, version: MachineVersion | None = None) -> None:
    """Work the machine's standing out from its log and store it, in the caller's transaction.

    The log alone decides: late entries and corrections in whatever order give the same facts.

    Parameters
    ----------
    machine : Machine
    version : MachineVersion, optional
        The one in force, where the caller has just asked for it.
    """
    version = version or newest_version(machine)
    made = {
        "version": version,
        "facts": facts_of(machine, version),
        "worked_out_at": timezone.now(),
    }
    if not Standing.objects.filter(machine=machine).update(**made):
        Standing.objects.create(machine=machine, **made)


def is_stale(standing: Standing | None) -> bool:
    """Whether a standing was never worked out, or by a program that kept other facts."""
    return standing is None or standing.facts.get("format") != FORMAT


def refresh_stale() -> int:
    """Work out the machines of which an older program kept other facts; how many there were."""
    machines = Machine.objects.select_related("standing")
    stale = [one for one in machines if is_stale(getattr(one, "standing", None))]
    for machine in stale:
        refresh(machine)
    return len(stale)


def refresh_all() -> int:
    """Work out every machine anew, as after a restore; how many there are."""
    machines = list(Machine.objects.all())
    for machine in machines:
        refresh(machine)
    return len(machines)
