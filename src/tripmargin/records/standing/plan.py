"""How often a machine is to be looked at."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

DAY = 86400.0  # s
DEFAULTS: dict[str, float] = {
    "check_every_s": DAY,
    "gaps_every_s": 7 * DAY,
    "stop_time_every_s": 90 * DAY,
}
"""Common practice, no source: the daily check each working day, pawl gaps each week, the stop time
each quarter."""


def plan_of(values: Mapping[str, Any] | None) -> dict[str, Any]:
    """The plan in force from the newest entry "plan", None where there is none.

    Returns
    -------
    dict
        The keys of `DEFAULTS`, s, and "assumed": those that the entry does not give.
    """
    given = {key: float(value) for key, value in (values or {}).items() if key in DEFAULTS}
    assumed = [key for key in DEFAULTS if key not in given]
    return {**DEFAULTS, **given, "assumed": assumed}
