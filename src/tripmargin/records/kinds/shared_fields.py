"""Fields that several kinds of entries have."""

from __future__ import annotations

from collections.abc import Callable

from tripmargin.ground.languages import later, say_as
from tripmargin.records.kinds.fields import Field

DAY = 86400.0  # s

HOURS = Field(
    "hours_s",
    later("Hour meter"),
    "quantity",
    dimension="running hours",
    low=0.0,
    high=3600.0 * 100_000,
    help_message=later("What the machine's hour meter shows, such as 1240 h."),
)
CUT = Field(
    "cut_length_m", later("Cut length in use"), "quantity", dimension="length", low=0.001, high=0.1
)
FOUND: dict[str, str | Callable[[], str]] = {
    "test piece": later("a test piece of our own"),
    "bolt or nut": later("a bolt or a nut"),
    "wire": lambda: say_as("found", "wire"),
    "tine": later("a tine or a spring"),
    "tool": later("a tool"),
    "knife or part": later("a part of a machine"),
    "stone": later("a stone: it should not have tripped"),
    "other": later("something else"),
}


def found_said(found: str) -> str:
    """What was found, in a word or two: the key of `FOUND` as people read it.

    >>> found_said("bolt or nut")
    'bolt or nut'
    """
    words = {
        "test piece": say_as("found", "test piece"),
        "bolt or nut": say_as("found", "bolt or nut"),
        "wire": say_as("found", "wire"),
        "tine": say_as("found", "tine"),
        "tool": say_as("found", "tool"),
        "knife or part": say_as("found", "knife or part"),
        "stone": say_as("found", "stone"),
        "other": say_as("found", "other"),
    }
    return words.get(found, found)
