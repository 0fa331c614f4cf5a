"""What a machine's file asks of it, as far as its log is held against it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from tripmargin.ground.errors import TripmarginError
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine import machine_from_copy
from tripmargin.records.store.models import Machine, MachineVersion


@dataclass(frozen=True, slots=True)
class Asked:
    """What one version of a machine's file asks.

    Attributes
    ----------
    pawls : tuple of str
    clearance : (low, high), m
    stop_time : float, s
    sensor_to_shear_bar : float or None, m
        None: the file does not say.
    assumed : tuple of str
        Which of these the file leaves out, by path.
    """

    pawls: tuple[str, ...]
    clearance: tuple[float, float]
    stop_time: float
    sensor_to_shear_bar: float | None
    assumed: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "pawls": list(self.pawls),
            "clearance_m": list(self.clearance),
            "stop_time_s": self.stop_time,
            "assumed": list(self.assumed),
        }


def newest_version(machine: Machine) -> MachineVersion | None:
    """The version in force, without the texts of its file."""
    return machine.versions.defer("text", "copy").order_by("-number").first()


def asked_of(version: MachineVersion | None) -> Asked | None:
    """What a version asks; None where there is no version, or none that this program can read.

    Remembered: reading a machine from its copy takes some 20 ms, and every entry asks.
    """
    return None if version is None else _asked(version.pk, version.digest)


def loaded_of(version: MachineVersion) -> LoadedMachine:
    """The machine of a version.

    Raises
    ------
    TripmarginError
        If its copy cannot be read.
    """
    return machine_from_copy(MachineVersion.objects.only("copy").get(pk=version.pk).copy)


# A fleet's worth. The digest is part of the key: another database of one process has other ids.
@lru_cache(maxsize=1024)
def _asked(pk: int, digest: str) -> Asked | None:
    try:
        machine = machine_from_copy(MachineVersion.objects.only("copy").get(pk=pk).copy)
    except TripmarginError:
        return None  # the log still takes entries
    limits, path = machine.limits, machine.get("feed.sensor_to_shear_bar")
    return Asked(
        pawls=tuple(pawl.name for pawl in machine.chain.pawls) if machine.chain else (),
        clearance=(limits.clearance.low, limits.clearance.high),
        stop_time=limits.stop_time.nominal,
        sensor_to_shear_bar=None if path is None else path.nominal,
        assumed=tuple(
            name
            for name, given in (
                ("limits.clearance", limits.clearance),
                ("limits.stop_time", limits.stop_time),
            )
            if given.source == "assumed"
        ),
    )
