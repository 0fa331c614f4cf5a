"""What single entries mean: whether a check passed, whether an adjustment changed anything."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tripmargin.ground.languages import later, say

PASSED, FAILED, UNFINISHED = "passed", "failed", "not finished"
BEFORE, AFTER = "gap_before_m/", "gap_after_m/"
_FAILURES = {
    "it did not trip": later("it did not trip"),
    "it did not reset": later("it did not reset"),
    "lamps or buzzer were not as expected": later("lamps or buzzer were not as expected"),
}
LAMPS_AT = later("lamps or buzzer were not as expected at: {steps}")
ALIKE = 1e-6  # m; gaps nearer than this are the same gap


def outcome(values: Mapping[str, Any]) -> str:
    """How a daily check ended.

    >>> outcome({"tripped": True, "reset": True}), outcome({"tripped": True})
    ('passed', 'not finished')
    >>> outcome({"tripped": True, "reset": True, "lamps/key on": False})
    'failed'
    """
    if what_failed(values):
        return FAILED
    both = values.get("tripped") is True and values.get("reset") is True
    return PASSED if both else UNFINISHED


def what_failed(values: Mapping[str, Any]) -> str:
    """What went wrong in a daily check, as it is kept; empty where nothing did.

    `failure_said` says it in the reader's language.

    >>> what_failed({"tripped": False}), what_failed({"tripped": True, "lamps": False})
    ('it did not trip', 'lamps or buzzer were not as expected')
    """
    if False not in values.values():  # as nearly always: the rest need not be looked into
        return ""
    if values.get("tripped") is False:
        return "it did not trip"
    if values.get("reset") is False:
        return "it did not reset"
    if values.get("lamps") is False:
        return "lamps or buzzer were not as expected"
    steps = [key.partition("/")[2] for key, value in values.items() if _wrong_lamp(key, value)]
    return LAMPS_AT.format(steps=", ".join(steps)) if steps else ""


def failure_said(what: str) -> str:
    """What `what_failed` gave, as people read it: it is kept with the facts, and said when shown.

    >>> failure_said("it did not trip")
    'it did not trip'
    """
    if what in _FAILURES:
        return say(_FAILURES[what])
    return say(LAMPS_AT, steps=what.removeprefix(LAMPS_AT.format(steps="")))


def _wrong_lamp(key: str, value: Any) -> bool:
    return key.startswith("lamps/") and value is False


def is_work(kind: str, values: Mapping[str, Any]) -> bool:
    """Whether something on the machine is not what it was: a part, or a gap set anew.

    >>> is_work("adjustment", {"gap_before_m/lower": 0.004, "gap_after_m/lower": 0.004})
    False
    """
    if kind == "part replaced":
        return True
    return kind == "adjustment" and any(changed(values, name) for name in pawls_in(values))


def changed(values: Mapping[str, Any], pawl: str) -> bool:
    """Whether an adjustment left a pawl's gap otherwise than it was found."""
    before, after = values.get(BEFORE + pawl), values.get(AFTER + pawl)
    return after is not None and (before is None or abs(after - before) > ALIKE)


def pawls_in(values: Mapping[str, Any]) -> tuple[str, ...]:
    """The pawls that an adjustment tells of, in the order of their names."""
    return tuple(
        sorted({key.partition("/")[2] for key in values if key.startswith((BEFORE, AFTER))})
    )


def gap_left(values: Mapping[str, Any], pawl: str) -> float | None:
    """The gap that a pawl was left with, m: as found where nobody changed it."""
    left = values.get(AFTER + pawl, values.get(BEFORE + pawl))
    return None if left is None else float(left)
