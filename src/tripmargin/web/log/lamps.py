"""What the lamps and buzzers of a machine in the records should show in its daily check."""

from __future__ import annotations

from functools import lru_cache

from tripmargin.faultfinding.wording.lamp_words import NO_STEPS, NOT_SOLVED, Lamps, lamp_words
from tripmargin.ground.errors import TripmarginError
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.store.models import MachineVersion


def lamps_of(version: MachineVersion | None) -> Lamps:
    """What should show on the machine of a version; some hundredths of a second the first time."""
    return Lamps({}, NO_STEPS) if version is None else _lamps(version.pk, version.digest)


# The digest is part of the key: another database of the same process has other ids.
@lru_cache(maxsize=256)
def _lamps(pk: int, digest: str) -> Lamps:
    try:
        machine = machine_of(MachineVersion.objects.only("pk", "digest").get(pk=pk))
    except TripmarginError:
        return Lamps({}, NOT_SOLVED)
    return lamp_words(machine)
