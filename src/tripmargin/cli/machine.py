"""`tripmargin machine`: write, check and show a machine's file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tripmargin.cli.lazy import WholeLines
from tripmargin.cli.output import json_text, machine_argument
from tripmargin.ground.languages import later, say, say_many

if TYPE_CHECKING:
    from tripmargin.ground.errors import Problem
    from tripmargin.machine import Machine
    from tripmargin.machine.showing import Row


@click.group(cls=WholeLines)
def machine() -> None:
    """Write, check and show a machine's file."""


@machine.command()
@click.argument("file", required=False, type=click.Path(path_type=Path, dir_okay=False))
@click.pass_context
def new(ctx: click.Context, file: Path | None) -> None:
    """Write a machine's file by answering one question at a time.

    Each question says how to measure. Enter leaves a field out, "back" goes one back; Ctrl-C keeps
    what was answered so far in a draft.
    """
    from tripmargin.cli.interview import hold_interview

    ctx.exit(hold_interview(file))


@machine.command()
@click.argument("files", nargs=-1, required=True, metavar="MACHINE...")
@click.pass_context
def check(ctx: click.Context, files: tuple[str, ...]) -> None:
    """Check machine files: every problem with its line, or what is assumed."""
    problems = [_check(file) for file in files]
    ctx.exit(1 if any(problems) else 0)


@machine.command()
@machine_argument
@click.option("--json", "as_json", is_flag=True, help="The machine as JSON, in SI.")
@click.option("--us", is_flag=True, help="US units instead of metric.")
def show(machine: str, as_json: bool, us: bool) -> None:
    """Show a machine: every field with its value, as written, and what is assumed."""
    from tripmargin.machine import load_machine
    from tripmargin.machine.showing import rows, unit_words

    loaded = load_machine(machine)
    if as_json:
        click.echo(json_text(loaded))
        return
    click.echo(say("{machine}, in {units}", machine=loaded.name, units=unit_words(us)))
    for line in table_lines(rows(loaded, us=us)):
        click.echo(line)
    for line in _not_given(loaded):
        click.echo(line)


@machine.command()
def schema() -> None:
    """Print the JSON Schema of the machine file."""
    from tripmargin.machine.schema import json_schema

    click.echo(json_text(json_schema()))


def table_lines(found: tuple[Row, ...]) -> list[str]:
    """A machine's rows as aligned text, one block a section."""
    lines: list[str] = []
    for section in dict.fromkeys(row.section for row in found):
        own = [row for row in found if row.section == section]
        left = max(len(row.field) for row in own)
        middle = min(34, max(len(row.value) for row in own))
        lines += ["", f"[{section}]"]
        for row in own:
            written = "" if row.written == row.value else row.written
            written = say("assumed: the file leaves it out") if row.assumed else written
            if row.changed:
                written += f"  {say('(what-if)')}"
            lines.append(f"  {row.field:<{left}}  {row.value:<{middle}}  {written}".rstrip())
    return lines


def _check(file: str) -> bool:
    """Say what is wrong with a file, or that it is fine; whether anything is wrong."""
    from tripmargin.ground.errors import MachineFileError
    from tripmargin.machine import load_machine

    try:
        loaded = load_machine(file)
    except MachineFileError as error:
        click.echo(str(error))
        click.echo(_count(file, len(error.problems)))
        return True
    problems = [*_piece_problems(loaded, file), *_circuit_problems(loaded)]
    if problems:
        for each in problems:
            click.echo(str(each))
        click.echo(_count(file, len(problems)))
        return True
    click.echo(
        say(
            "{file}: ok, {machine} with {count} quantities.",
            file=file,
            machine=loaded.name,
            count=len(tuple(loaded.quantities())),
        )
    )
    for line in (*_assumed(loaded), *_not_given(loaded)):
        click.echo(line)
    return False


def _count(file: str, problems: int) -> str:
    return say_many("{file}: {count} problem.", "{file}: {count} problems.", problems, file=file)


def _piece_problems(loaded: Machine, file: str) -> Iterator[Problem]:
    """Pieces that nobody can read: the one that the verdict is about, and test pieces."""
    pieces: dict[tuple[str, ...], str] = {("limits", "must_stop"): loaded.limits.must_stop}
    for look in loaded.checks.looks if loaded.checks is not None else ():
        if look.piece is not None:
            pieces["checks", "looks", look.name, "piece"] = look.piece
    for field, words in pieces.items():
        problem = _piece_problem(words, file, field)
        if problem is not None:
            yield problem


def _piece_problem(words: str, file: str, field: tuple[str, ...]) -> Problem | None:
    from tripmargin.ground.errors import Problem, QuantityError, TripmarginError
    from tripmargin.machine.loading import place_of
    from tripmargin.sensing.pieces import Piece

    try:
        Piece.from_text(words)
    except (TripmarginError, ValueError) as error:
        name, line = place_of(file, field)
        allowed, hint, what = say('"20 mm ball", "M12x40 bolt" and the like'), "", str(error)
        if isinstance(error, QuantityError):
            allowed, hint, what = error.allowed, error.hint, error.problem
        return Problem(name, line, ".".join(field), f'"{words}"', what, allowed, hint)
    return None


def _circuit_problems(loaded: Machine) -> tuple[Problem, ...]:
    """What is wrong with the wiring where there is any: it must be one that can be solved."""
    from tripmargin.ground.errors import MachineFileError, NotKnownError, Problem

    if loaded.circuit is None:
        return ()
    from tripmargin.circuit import network_from_machine

    try:
        network_from_machine(loaded)
    except MachineFileError as error:
        return error.problems
    except NotKnownError as error:
        what = say(
            "the wiring leaves out what the file says nowhere: {needs}",
            needs=", ".join(error.needs),
        )
        return (Problem(loaded.file, None, "circuit", "", what, "", ""),)
    return ()


def _assumed(loaded: Machine) -> list[str]:
    """What the file leaves out and is taken with wide limits."""
    from tripmargin.machine.showing import rows

    found = [row for row in rows(loaded) if row.assumed]
    if not found:
        return []
    left = max(len(f"{row.section}.{row.field}") for row in found)
    lines = ["  " + say("Assumed, with wide limits, because the file leaves it out:")]
    return lines + [f"    {f'{row.section}.{row.field}':<{left}}  {row.value}" for row in found]


_ASKED_BY = {
    "feed": later("prove, reach and race"),
    "sensor": later("prove and reach"),
    "detector": later("prove and reach"),
    "chain": later("prove and race"),
}


def _not_given(loaded: Machine) -> list[str]:
    """Which sections are missing, and who will ask for them."""
    missing = [name for name in _ASKED_BY if getattr(loaded, name) is None]
    return [
        "  "
        + say(
            "Not given: [{section}]; {commands} will ask for it.",
            section=name,
            commands=say(_ASKED_BY[name]),
        )
        for name in missing
    ]
