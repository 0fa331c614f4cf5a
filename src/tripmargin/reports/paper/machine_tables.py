"""What a machine's file says, as tables: each setting with its limits and where it comes from."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from tripmargin.ground.languages import ENGLISH, later, say, speaking
from tripmargin.machine import Machine, all_fields
from tripmargin.machine.ageing import MeasuredInput
from tripmargin.machine.showing import Row, rows
from tripmargin.reports.paper.document import Table
from tripmargin.reports.paper.signs import with_plus_minus
from tripmargin.sensing.piece_said import said_piece

TITLES = {
    "feed": later("Feed: rolls and cutterhead"),
    "sensor": later("Sensor: what stands still inside the lower front roll"),
    "detector": later("Detector: the module that filters, amplifies and trips"),
    "chain": later("Chain: the stages of the stop"),
    "limits": later("Limits: what is asked of the machine"),
}
"""The sections that the verdict is worked out from."""
LIMITS_WORDS = later(
    "± stands before the limits of a value, (sd) behind a standard deviation. A value without"
    " limits is taken as exact."
)


def settings_tables(
    machine: Machine, measured: tuple[MeasuredInput, ...], us: bool
) -> Iterator[Table]:
    """One table a section: field, what it is, its value with limits, its source."""
    by_field = {one.field: one for one in measured}
    found = rows(machine, us=us)
    with speaking(ENGLISH):  # as the file is written, whatever sign marks decimals elsewhere
        said = {one for one in rows(machine, us=us) if one.value == one.written}
    as_written = {(one.section, one.field) for one in said}
    for section, title in TITLES.items():
        lines = [
            _line(row, by_field, (row.section, row.field) in as_written)
            for row in found
            if row.section == section
        ]
        if lines:
            headers = (say("Field"), say("What it is"), say("Value"), say("Source"))
            yield Table(say(title), headers, lines, shares=(25, 32, 24, 21))


def assumed_table(machine: Machine, us: bool) -> Table | None:
    """What the file leaves out and was filled in with wide limits; None where nothing was."""
    lines = [
        (f"{row.section}.{row.field}", _meaning(row), with_plus_minus(_value(row)))
        for row in rows(machine, us=us)
        if row.assumed
    ]
    if not lines:
        return None
    headers = (say("Field"), say("What it is"), say("Taken as"))
    return Table("", headers, lines, shares=(28, 42, 24))


def source_words(row: Row, measured: MeasuredInput | None, as_written: bool) -> str:
    """Where a value comes from: assumed, set for a what-if, measured by somebody, or the file."""
    if row.assumed:
        return say("assumed")
    if row.changed:
        return say("set otherwise for this report")
    if measured is not None:
        day, who, how = measured.on.isoformat(), measured.by, measured.how
        if who and how:
            return say("measured {day} by {who} with {how}", day=day, who=who, how=how)
        if who:
            return say("measured {day} by {who}", day=day, who=who)
        return say("measured {day}", day=day)
    if row.written and not as_written:
        return say("file: {written}", written=row.written)
    return say("file")


def _line(row: Row, measured: dict[str, MeasuredInput], as_written: bool) -> tuple[str, ...]:
    source = source_words(row, measured.get(f"{row.section}.{row.field}"), as_written)
    return row.field, _meaning(row), with_plus_minus(_value(row)), with_plus_minus(source)


def _value(row: Row) -> str:
    """What stands in the file, in people's words where it is a piece of metal."""
    return said_piece(row.value) if row.field == "must_stop" else row.value


def _meaning(row: Row) -> str:
    path = f"{row.section}.{row.field}"
    said = next((say(words) for pattern, words in _meanings() if pattern.fullmatch(path)), "")
    return said.replace("`", '"')  # the file's page sets fields in another letter


@cache
def _meanings() -> tuple[tuple[re.Pattern[str], str], ...]:
    """What the fields mean; a table of an array is named, or has its number."""
    return tuple(
        (re.compile(re.escape(one.path).replace(r"\[\]", r"\.[^.]+")), one.spec.meaning)
        for one in all_fields()
    )
