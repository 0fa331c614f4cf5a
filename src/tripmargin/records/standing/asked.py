"""What a machine's file asks of it, as far as its log is held against it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from threading import Lock
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
    steps : tuple of str
        Of operating the machine; a log's lamps are told by them.
    checks : bool
        Whether the file says how the circuit goes and how it is checked.
    set_gaps : tuple of (pawl, nominal, low, high), m
        Clearances of the pawls, where the file gives them.
    """

    pawls: tuple[str, ...]
    clearance: tuple[float, float]
    stop_time: float
    sensor_to_shear_bar: float | None
    assumed: tuple[str, ...]
    steps: tuple[str, ...] = ()
    checks: bool = False
    set_gaps: tuple[tuple[str, float, float, float], ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "pawls": list(self.pawls),
            "clearance_m": list(self.clearance),
            "stop_time_s": self.stop_time,
            "set_gaps_m": {pawl: gap for pawl, *gap in self.set_gaps},
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
    """The machine of a version; remembered.

    Raises
    ------
    TripmarginError
        If its copy cannot be read.
    """
    return _read_once(version.pk, version.digest)


def _read_once(pk: int, digest: str) -> LoadedMachine:
    """Two who ask for the same machine at once: the second waits for what the first one reads."""
    with _READING[pk % len(_READING)]:
        return _loaded(pk, digest)


_READING = tuple(Lock() for _ in range(16))


# More than a fleet, at some 160 kB each: where the fleet is larger than this, pages that go round
# it find none of them again. The digest is part of the key: another database of the same process
# has other ids.
@lru_cache(maxsize=512)
def _loaded(pk: int, digest: str) -> LoadedMachine:
    return machine_from_copy(MachineVersion.objects.only("copy").get(pk=pk).copy)


@lru_cache(maxsize=4096)
def _asked(pk: int, digest: str) -> Asked | None:
    try:
        machine = _read_once(pk, digest)
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
        steps=tuple(step.name for step in machine.circuit.steps) if machine.circuit else (),
        checks=machine.circuit is not None and machine.checks is not None,
        set_gaps=_set_gaps(machine),
    )


def _set_gaps(machine: LoadedMachine) -> tuple[tuple[str, float, float, float], ...]:
    given = [
        (pawl.name, pawl.clearance)
        for pawl in (machine.chain.pawls if machine.chain else ())
        if pawl.clearance is not None and pawl.clearance.source == "given"
    ]
    return tuple((name, gap.nominal, gap.low, gap.high) for name, gap in given)
