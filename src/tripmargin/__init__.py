"""tripmargin: whether a forage harvester's feed-stop protection is in time, and for which metal.

Rooms are loaded when they are used, so that a command answers at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tripmargin import circuit, faultfinding, protection, recordings, sensing, stopping
    from tripmargin.ground.errors import MachineFileError, NotKnownError, TripmarginError
    from tripmargin.machine import Machine, demo_machines, load_machine
    from tripmargin.protection import Proof, prove

__version__ = "0.1.0"

_HOMES = {
    "Machine": "tripmargin.machine",
    "MachineFileError": "tripmargin.ground.errors",
    "NotKnownError": "tripmargin.ground.errors",
    "Proof": "tripmargin.protection",
    "TripmarginError": "tripmargin.ground.errors",
    "demo_machines": "tripmargin.machine",
    "load_machine": "tripmargin.machine",
    "prove": "tripmargin.protection",
}
_ROOMS = ("circuit", "faultfinding", "protection", "recordings", "sensing", "stopping")

__all__ = [
    "Machine",
    "MachineFileError",
    "NotKnownError",
    "Proof",
    "TripmarginError",
    "circuit",
    "demo_machines",
    "faultfinding",
    "load_machine",
    "protection",
    "prove",
    "recordings",
    "sensing",
    "stopping",
]


def __getattr__(name: str) -> Any:
    if name in _ROOMS:
        return import_module(f"tripmargin.{name}")
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'tripmargin' has no attribute {name!r}")
