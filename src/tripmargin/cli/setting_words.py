"""The pawls' setting in words and tables, for a terminal and for paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from tripmargin.cli.tables import aligned, folded
from tripmargin.ground.languages import ENGLISH, say, say_many, speaking
from tripmargin.ground.languages.lists import listed
from tripmargin.pictures.setting_words import (
    effect_table,
    gap_table,
    learned_lines,
    leave_line,
)
from tripmargin.pictures.trade_words import pawl_place
from tripmargin.sensing.piece_said import said_piece
from tripmargin.stopping.setting.step_words import gap_written, turns_words

if TYPE_CHECKING:
    from tripmargin.protection import PawlSetting


def heading(found: PawlSetting) -> str:
    """What is to be done, in one line."""
    steps = found.steps
    if steps.leave:
        return say("{machine}: leave the pawls as they are", machine=steps.machine_name)
    pawls = listed(map(pawl_place, steps.moved))
    return say_many(
        "{machine}: set the {pawls} pawl",
        "{machine}: set the {pawls} pawls",
        len(steps.moved),
        machine=steps.machine_name,
        pawls=pawls,
    )


def print_setting(found: PawlSetting, us: bool) -> None:
    """Cautions first, then the gaps, why, the steps, and what they bring."""
    from tripmargin.pictures.words import MACHINE_NOT_PEOPLE

    steps = found.steps
    click.secho(heading(found), bold=True)
    for caution in steps.cautions:
        click.echo(folded(caution, "! ", "  "))
    click.echo("")
    _table(*gap_table(found, us))
    click.echo("")
    for line in steps.because(us):
        click.echo(folded(line))
    for line in learned_lines(found, us):
        click.echo(folded(line))
    click.echo("")
    for line in step_lines(found, us):
        click.echo(folded(line, rest="" if steps.leave else "    "))
    _print_effects(found, us)
    click.echo("")
    if steps.assumed:
        click.echo(
            folded(
                say(
                    "Assumed, as the file does not say: {fields}.",
                    fields=", ".join(steps.assumed),
                )
            )
        )
    if found.needs:
        click.echo(
            folded(
                say(
                    "What the sensor sees is not known without {fields}.",
                    fields=", ".join(found.needs),
                )
            )
        )
    for line in (log_line(found, us), say(MACHINE_NOT_PEOPLE)):
        if line:
            click.echo(folded(line))


def step_lines(found: PawlSetting, us: bool) -> list[str]:
    """The steps, numbered; or that nothing is to be touched."""
    steps = found.steps
    if steps.leave:
        return [leave_line(found, us)]
    return [f"{n:>2}. {step.words(us)}" for n, step in enumerate(steps.steps, start=1)]


def _print_effects(found: PawlSetting, us: bool) -> None:
    if not found.effects:
        click.echo(
            "\n" + say("What it brings is not known: the machine file lacks what the race needs.")
        )
        return
    click.echo(
        "\n"
        + say("For the {piece}, with the limits of every tolerance:", piece=said_piece(found.piece))
    )
    _table(*effect_table(found, us))
    steps = found.steps
    better = [e for e in found.effects if e.aim_is_better]
    if better and not all(aim.pawl in steps.moved for aim in steps.aims.pawls):
        from tripmargin.pictures.words import length, said

        cuts = listed(length(e.cut_length, us) for e in better)
        told = {e.at_aim.verdict for e in better}
        click.echo(
            folded(
                say(
                    "With every gap at its aim the verdict at the {cuts} cut would be"
                    " {verdict}: --to-best gives the moves.",
                    cuts=cuts,
                    verdict=listed(map(said, sorted(told)), "or"),
                )
            )
        )
    from tripmargin.protection.setting.pawls import QUICK

    click.echo(folded(say(QUICK)))


def log_line(found: PawlSetting, us: bool) -> str:
    """How to keep it, so that the next setting can learn from it; empty where nothing is moved."""
    steps = found.steps
    if steps.leave:
        return ""
    smallest = {each.pawl: each.smallest_turn for each in steps.adjusters.pawls}
    # The note is read again by --from-log, in English and with points, whoever wrote it.
    with speaking(ENGLISH):
        turned = {s.pawl: turns_words(s.turns, smallest[s.pawl]).partition(" (")[0]
                  for s in steps.steps if s.turns is not None}  # fmt: skip
    note = ", ".join(
        f"{name} {turned[name]}" if name in turned else f"{name} untouched"
        for name in steps.readings
        if name in turned or name not in steps.moved
    )
    gaps = " ".join(
        f'gap_before/{name}="{gap_written(gap, us)}" gap_after/{name}="..."'
        for name, gap in steps.readings.items()
    )
    return say(
        "Then keep it, for the next setting learns from it (--from-log): tripmargin log"
        ' add {machine} adjustment {gaps} --note "{note}"',
        machine=steps.machine_name,
        gaps=gaps,
        note=note,
    )


def _table(headers: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    for line in aligned(headers, rows):
        click.echo(line)
