"""Faults in the neutral form: what is done to the elements, and what no wire shows."""

from __future__ import annotations

from collections.abc import Callable

from tripmargin.circuit.errors import CircuitError, unknown
from tripmargin.circuit.faults import Change, Fault
from tripmargin.circuit.neutral import Row, lacking_value, part_from_neutral
from tripmargin.ground.languages import later
from tripmargin.ground.languages.phrases import Phrase

_CHANGES: dict[str, Callable[[Row], Change]] = {
    "open": lambda row: Change("open", row["element"]),
    "short": lambda row: Change("short", row["element"]),
    "reverse": lambda row: Change("reverse", row["element"]),
    "ohm": lambda row: Change("ohm", row["element"], float(row["value"])),
    "stuck": lambda row: Change("stuck", row["element"], bool(row["closed"])),
    "volts_offset": lambda row: Change("volts_offset", value=float(row["value"])),
    "pulls_at": lambda row: Change("pulls_at", row["relay"], float(row["value"])),
    "add": lambda row: Change("add", added=part_from_neutral(row["element"])),
}


def fault_from_neutral(name: str, row: Row | None) -> Fault:
    """A fault from its neutral form: `{text, ops, behaviour}`; None is a healthy machine.

    Raises
    ------
    CircuitError
        If an operation is unknown or lacks a value.

    Examples
    --------
    >>> fault_from_neutral("F1_open", {"text": "", "ops": [{"op": "open", "element": "F1"}]}).parts
    ('F1',)
    """
    if row is None:
        return Fault(name, Phrase(later("nothing wrong")))
    changes = []
    for op in row.get("ops", ()):
        if op.get("op") not in _CHANGES:
            raise CircuitError([unknown(name, str(op.get("op")), list(_CHANGES), "operation")])
        try:
            changes.append(_CHANGES[op["op"]](op))
        except KeyError as lacking:
            raise CircuitError([lacking_value(name, lacking)]) from None
    behaviour = {
        "clearance_wide" if key.startswith("clearance") else key: value
        for key, value in (row.get("behaviour") or {}).items()
    }
    parts = tuple(dict.fromkeys(change.part for change in changes if change.part))
    return Fault(name, str(row.get("text", "")), tuple(changes), behaviour, parts)
