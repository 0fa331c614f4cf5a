"""Which values of the machine file were measured: when, by whom, how, and how they drift."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from tripmargin.ground.errors import QuantityError
from tripmargin.ground.languages import later, say
from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.machine.fields import other, table

if TYPE_CHECKING:
    from tripmargin.machine.model import Machine

Disagreement = tuple[str, str, str, str, str]
SEASON = 365.25  # days: a harvest comes once a year


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredField:
    """One value of this file that somebody measured."""

    field: str = other(
        "text", later('the field, such as "chain.pawls.lower.clearance"'), required=True
    )
    on: str = other("text", later('the day, such as "2026-05-03"'), required=True)
    by: str | None = other("text", later("who measured it"))
    how: str | None = other("text", later("with what"))
    drift: str | None = other(
        "text",
        later(
            "by how much it may have moved, either way, after a year; its limits are widened"
            " by this for each year since. Without it age changes nothing, and `prove` says so"
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredValues:
    """The values of this file that somebody measured."""

    fields: tuple[MeasuredField, ...] = table(
        MeasuredField, later("one value each; all others are taken as filed"), many=True
    )


def day_of(text: str) -> date:
    """The day of an ISO 8601 date.

    Raises
    ------
    ValueError
        If it is none.
    """
    return date.fromisoformat(text)


def drift_of(text: str, value: Quantity) -> float:
    """A drift per year in SI: a width of the value's own dimension, or a share of it.

    >>> drift_of("5 %", Quantity.exact(0.02, "time"))
    0.001

    Raises
    ------
    QuantityError
        If it is neither.
    """
    if value.dimension != "fraction" and text.strip().endswith("%"):
        return abs(quantity(text, "fraction").nominal * value.nominal)
    # A difference of temperatures has no zero point of its own.
    zero = quantity("0 degC", "temperature").nominal if value.dimension == "temperature" else 0.0
    return abs(quantity(text, value.dimension).nominal - zero)


def measured_disagreements(machine: Machine) -> Iterator[Disagreement]:
    """Entries about fields that are not there, days that are none, drifts in a wrong unit."""
    seen: set[str] = set()
    entries = machine.measured.fields if machine.measured is not None else ()
    for index, entry in enumerate(entries):
        place = f"measured.fields.{index}"
        try:
            value = machine.get(entry.field)
        except (KeyError, AttributeError):
            value = None
        if not isinstance(value, Quantity):
            yield (
                f"{place}.field",
                entry.field,
                say("no value of this file"),
                say("the full path of a quantity in this file or its type sheet"),
                say("`tripmargin machine show` lists them."),
            )
            continue
        if entry.field in seen:
            yield (
                f"{place}.field",
                entry.field,
                say("a second time"),
                say("one entry for a field"),
                say("Keep the newest; the log keeps them all."),
            )
        seen.add(entry.field)
        try:
            day_of(entry.on)
        except ValueError:
            yield f"{place}.on", entry.on, say("no day"), say('a day such as "2026-05-03"'), ""
        if entry.drift is not None:
            try:
                drift_of(entry.drift, value)
            except QuantityError as error:
                yield f"{place}.drift", entry.drift, error.problem, error.allowed, error.hint
