"""The machine: its sections, what was assumed, and how to reach a field by its path."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.chain_sections import Chain
from tripmargin.machine.check_sections import Checks
from tripmargin.machine.circuit_sections import Circuit
from tripmargin.machine.measured_section import MeasuredValues
from tripmargin.machine.sections import About, Feed, Limits
from tripmargin.machine.sensing_sections import Detector, Sensor

SECTIONS: dict[str, tuple[type, str]] = {
    "machine": (About, later("which machine this is")),
    "feed": (Feed, later("rolls and cutterhead")),
    "sensor": (Sensor, later("what stands still inside the lower front roll")),
    "detector": (Detector, later("the module that filters, amplifies and trips")),
    "chain": (Chain, later("the stages of the stop")),
    "limits": (Limits, later("what is asked of the machine")),
    "circuit": (Circuit, later("the wiring: parts, operating steps, how often parts fail")),
    "checks": (Checks, later("what can be checked, in which state, and what it costs")),
    "measured": (MeasuredValues, later("which values were measured, when and by whom")),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A machine as its file gives it; sections that are not written are None.

    `assumed` names the fields that the file leaves out and that were filled with wide limits;
    `changed` those of a what-if.
    """

    machine: About
    feed: Feed | None
    sensor: Sensor | None
    detector: Detector | None
    chain: Chain | None
    limits: Limits
    circuit: Circuit | None = None
    checks: Checks | None = None
    measured: MeasuredValues | None = None
    assumed: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    file: str = ""

    @property
    def name(self) -> str:
        """What people call it."""
        return self.machine.name

    def get(self, path: str) -> Any:
        """The value at a dotted path, None where it or a table above it is not given.

        An array's table is reached by its `name`, or by its number from 0.
        """
        found: Any = self
        for part in path.split("."):
            if found is None:
                return None
            found = _below(found, part)
        return found

    def need(self, answer: str, *paths: str) -> tuple[Quantity, ...]:
        """The quantities at these paths.

        Raises
        ------
        NotKnownError
            If any is missing: all the missing are named at once.
        """
        found = [self.get(path) for path in paths]
        missing = [path for path, value in zip(paths, found, strict=True) if value is None]
        if missing:
            raise NotKnownError(answer, missing)
        return tuple(found)

    def quantities(self) -> Iterator[tuple[str, Quantity]]:
        """Every quantity of the file with its path, in the file's order."""
        for section in SECTIONS:
            yield from _quantities(getattr(self, section), section)

    def uncertain(self) -> tuple[tuple[str, Quantity], ...]:
        """Every quantity that may be off, with its path."""
        return tuple((path, q) for path, q in self.quantities() if q.uncertain)

    def with_settings(self, settings: Mapping[str, Any]) -> Machine:
        """The machine with some fields set otherwise, for a what-if; see `machine.settings`."""
        from tripmargin.machine.settings import with_settings

        return with_settings(self, settings)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI; quantities with limits, text and source."""
        made: dict[str, Any] = {s: _as_dict(getattr(self, s)) for s in SECTIONS}
        return made | {"assumed": list(self.assumed), "changed": list(self.changed)}


def _below(found: Any, part: str) -> Any:
    if isinstance(found, tuple):
        for item in found:
            if getattr(item, "name", None) == part:
                return item
        if part.isdecimal() and int(part) < len(found):
            return found[int(part)]
        raise KeyError(part)
    if is_dataclass(found) and part in {f.name for f in fields(found)}:
        return getattr(found, part)
    raise KeyError(part)


def label(item: Any, index: int) -> str:
    """How an array's table is named in a path: by its name, or by its number from 0."""
    return getattr(item, "name", None) or str(index)


def _quantities(value: Any, path: str) -> Iterator[tuple[str, Quantity]]:
    if isinstance(value, Quantity):
        yield path, value
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _quantities(item, f"{path}.{label(item, index)}")
    elif is_dataclass(value):
        for f in fields(value):
            yield from _quantities(getattr(value, f.name), f"{path}.{f.name}")


def _as_dict(value: Any) -> Any:
    if isinstance(value, Quantity):
        return value.to_dict()
    if isinstance(value, tuple):
        return [_as_dict(item) for item in value]
    if is_dataclass(value):
        return {f.name: _as_dict(getattr(value, f.name)) for f in fields(value)}
    return value
