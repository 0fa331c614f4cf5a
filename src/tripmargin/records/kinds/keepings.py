"""Kinds of entries that keep hours, notes and the plan."""

from __future__ import annotations

from tripmargin.ground.languages import later
from tripmargin.records.kinds.fields import Field
from tripmargin.records.kinds.kind import Kind
from tripmargin.records.kinds.shared_fields import DAY

KEEPINGS = (
    Kind(
        "hours",
        later("Hours"),
        later("What the hour meter shows."),
        (
            Field(
                "hours_s",
                later("Hour meter"),
                "quantity",
                required=True,
                dimension="running hours",
                low=0.0,
                high=3600.0 * 100_000,
            ),
        ),
    ),
    Kind(
        "note",
        later("Note"),
        later("Anything worth keeping."),
        (Field("text", later("Note"), "text", required=True),),
    ),
    Kind(
        "plan",
        later("Plan"),
        later("How often this machine is to be looked at."),
        (
            Field(
                "check_every_s",
                later("Daily check every"),
                "quantity",
                dimension="days",
                low=3600.0,
                high=366 * DAY,
                help_message=later("On days that the machine works."),
            ),
            Field(
                "gaps_every_s",
                later("Pawl gaps every"),
                "quantity",
                dimension="days",
                low=DAY,
                high=3660 * DAY,
            ),
            Field(
                "stop_time_every_s",
                later("Stop time every"),
                "quantity",
                dimension="days",
                low=DAY,
                high=3660 * DAY,
            ),
        ),
    ),
)
