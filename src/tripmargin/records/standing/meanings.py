"""What single entries mean: whether a check passed, whether an adjustment changed anything."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written

PASSED, FAILED, UNFINISHED = "passed", "failed", "not finished"
BEFORE, AFTER = "gap_before_m/", "gap_after_m/"
STOP = later(
    "The protection does not work as it should. Do not work with this machine until it"
    " is found and a check has passed."
)
"""What is said at once to whoever enters a check that failed, or metal that was missed."""
_LAMPS = "lamps or buzzer were not as expected"
_FAILURES = {
    "it did not trip": later("it did not trip"),
    "it did not reset": later("it did not reset"),
    _LAMPS: later("lamps or buzzer were not as expected"),
}
LAMPS_AT = _LAMPS + " at: {steps}"
"""How it is kept with the facts; `_STEPS_AT` is how it is said, for a step shows the rolls too."""
_STEPS_AT = later("rolls, lamps or buzzer were not as expected at: {steps}")
_BETWEEN = ", "
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
        return _LAMPS
    steps = [key.partition("/")[2] for key, value in values.items() if _wrong_lamp(key, value)]
    return LAMPS_AT.format(steps=_BETWEEN.join(steps)) if steps else ""


def failure_said(what: str) -> str:
    """What `what_failed` gave, as people read it: it is kept with the facts, and said when shown.

    >>> failure_said("it did not trip")
    'it did not trip'
    """
    if what in _FAILURES:
        return say(_FAILURES[what])
    return say(_STEPS_AT, steps=_steps_said(what.removeprefix(LAMPS_AT.format(steps=""))))


def _steps_said(kept: str) -> str:
    """Names of steps, kept in a row, as people read them; a name may have a comma in it itself."""
    parts, said = kept.split(_BETWEEN), []
    while parts:
        names = (_BETWEEN.join(parts[:count]) for count in range(len(parts), 0, -1))
        known = next((name for name in names if as_written(name) != name), parts[0])
        said.append(as_written(known))
        parts = parts[known.count(_BETWEEN) + 1 :]
    return _BETWEEN.join(said)


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
