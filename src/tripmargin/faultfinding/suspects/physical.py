"""Faults that no wire shows and no plunger feels: of the magnets, the gap, the roll, the gain."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from tripmargin.ground.languages import later
from tripmargin.machine import Machine


@dataclass(frozen=True, slots=True)
class PhysicalFault:
    """A fault of what is sensed or of where things sit.

    Attributes
    ----------
    id : str
    text : str
        What a person calls it, to be said.
    mended : str
        What is mended or replaced: a part's name, or a word such as "roll".
    rate : float
        Per 1000 operating hours; invented.
    signal : float
        The signal at the amplifier's output over what it should be.
    settings : mapping
        Fields of the machine file that the fault sets otherwise.
    false_trips : bool
        It trips on nothing now and then while the rolls turn.
    pull : str
        "" or how the roll pulls a paper clip otherwise than a sound one.
    clearance : str
        "" or what the gauge says of the pawls: "too narrow".
    """

    id: str
    text: str
    mended: str
    rate: float
    signal: float = 1.0
    settings: Mapping[str, str] = field(default_factory=dict)
    false_trips: bool = False
    pull: str = ""
    clearance: str = ""


WEAKENED = 0.35
"""Signal of weak magnets or a tired amplifier over a sound one's. Engineering judgement, no
source."""


def physical_faults(machine: Machine) -> tuple[PhysicalFault, ...]:
    """The faults of sensing and of the pawls' place that this machine can have.

    Rates are invented, as no public ones were found.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> [fault.id for fault in physical_faults(load_machine("dunlin"))][:2]
    ['S:magnets weak', 'S:turned']
    """
    kinds = {} if machine.circuit is None else {p.kind: p.name for p in machine.circuit.parts}
    found: list[PhysicalFault] = []
    sensor, detector = kinds.get("sensor"), kinds.get("detector")
    if sensor is not None:
        found += [
            PhysicalFault(
                f"{sensor}:magnets weak",
                later("the sensor's magnets are weak"),
                sensor,
                0.01,
                WEAKENED,
                pull="it is hardly pulled over the magnets",
            ),
            PhysicalFault(
                f"{sensor}:turned",
                later("the sensor has turned in the roll: it faces away from the crop"),
                "sensor position",
                0.01,
                settings={"sensor.rotation": "180 deg"},
                pull="it is pulled on the side away from the crop",
            ),
            PhysicalFault(
                "roll:magnetised",
                later("the roll around the sensor is magnetised"),
                "roll",
                0.02,
                false_trips=True,
                pull="it is pulled elsewhere too",
            ),
        ]
    if detector is not None:
        found += [
            PhysicalFault(
                f"{detector}:gain low", later("the module amplifies too little"), detector, 0.01,
                WEAKENED,
            ),
            PhysicalFault(
                f"{detector}:noisy", later("the module trips on its own noise"), detector, 0.01,
                false_trips=True,
            ),
        ]  # fmt: skip
    if machine.chain is not None and machine.chain.pawls:
        found.append(
            PhysicalFault(
                "pawl clearance:narrow",
                later("the pawls' clearance is too narrow: they touch the ratchets"),
                "pawl clearance",
                0.03,
                false_trips=True,
                clearance="too narrow",
            )
        )
    return tuple(found)
