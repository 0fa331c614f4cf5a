"""The daily check as a sheet to tick, for a clip board: a week a page, a column a day."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from tripmargin.faultfinding.cases.cautions import AT_REST, NEVER_LOCKED, RUNNING
from tripmargin.faultfinding.wording.lamp_words import Lamps, lamp_words
from tripmargin.ground.languages import language, later, say
from tripmargin.machine import Machine, digest_of
from tripmargin.records.kinds import KINDS
from tripmargin.reports.paper.document import (
    Block,
    Cell,
    Document,
    Heading,
    Space,
    Strong,
    Table,
    Words,
)
from tripmargin.reports.paper.signing import opening

KIND = "daily-check"
DAYS = 7
MOST_WEEKS = 26
HEAD = (later("Date"), later("Operator"), later("Hour meter, h"))
"""What is written at the top of each day."""


def daily_check_sheet(
    machine: Machine, *, made: datetime, by: str = "", weeks: int = 1, paper: str = "a4"
) -> Document:
    """The sheet on which an operator ticks the daily check.

    Parameters
    ----------
    machine : Machine
    made : datetime
        With its zone.
    by : str
        Who makes the sheet.
    weeks : int
        How many pages of seven days each, 1 to 26.
    paper : str
        "a4" or "letter".

    Raises
    ------
    ValueError
        If there are none or too many weeks.
    """
    if not 1 <= weeks <= MOST_WEEKS:
        raise ValueError(say("{weeks} weeks. Allowed: 1 to {most}.", weeks=weeks, most=MOST_WEEKS))
    lamps = lamp_words(machine)
    title = say("Daily check: {machine}", machine=machine.name)
    blocks = [
        block for week in range(weeks) for block in _week(machine, lamps, title, again=week > 0)
    ]
    data = {
        "machine": machine.name,
        "machine_digest": digest_of(machine),
        "days_a_page": DAYS,
        "weeks": weeks,
        "steps": [
            {"step": step, "do": lamps.do(step), "expected": lamps.words(step)}
            for step in lamps.steps
        ],
        "notes": lamps.notes,
    }
    return Document(
        KIND, title, machine.name, made, by, language(), blocks, data, paper, dense=True
    )


def _week(machine: Machine, lamps: Lamps, title: str, *, again: bool) -> Iterator[Block]:
    """A page: each stands alone on its clip board, so each has the cautions."""
    if again:
        yield Heading(title, level=1, new_page=True)
    checks = KINDS["daily check"]
    yield from opening((checks.caution, *AT_REST, RUNNING[0], NEVER_LOCKED))
    headers = [say("What is done, and what is expected"), *(f"{k + 1}" for k in range(DAYS))]
    yield Table("", headers, _rows(lamps), shares=(11.1, *(1.27,) * DAYS))
    yield Words(
        [
            say(
                "A box that cannot be ticked: stop, and do not work until the fault is found and"
                " the check has passed. Write down what was seen."
            ),
            *lamps.notes,
            say("Mark of the machine's file: {mark}.", mark=digest_of(machine)[:16]),
        ],
        small=True,
    )


def _rows(lamps: Lamps) -> list[tuple[Cell, ...]]:
    write, tick = (Space.WRITE,) * DAYS, (Space.TICK,) * DAYS
    rows: list[tuple[Cell, ...]] = [(say(one), *write) for one in HEAD]
    for number, step in enumerate(lamps.steps, 1):
        do = lamps.do(step) or step
        rows.append(((Strong(f"{number}. {do}"), " ".join(lamps.words(step))), *tick))
    if not lamps.steps:
        rows.append((say("Rolls, lamps and buzzer as the operator's manual says."), *tick))
    rows.append(((Strong(say("It tripped")), say("The check stopped the feed.")), *tick))
    rows.append(((Strong(say("It reset")), say("After the reset the feed runs again.")), *tick))
    rows.append(((Strong(say("Metal found")), say("Write what, or a line for none.")), *write))
    return rows
