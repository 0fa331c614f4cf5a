"""The pawls' setting in words and tables, for a terminal and for paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from tripmargin.cli.tables import aligned, folded
from tripmargin.pictures.setting_words import (
    effect_table,
    gap_table,
    learned_lines,
    leave_line,
)
from tripmargin.stopping.setting.step_words import gap_words, turns_words

if TYPE_CHECKING:
    from tripmargin.protection import PawlSetting


def heading(found: PawlSetting) -> str:
    """What is to be done, in one line."""
    steps = found.steps
    if steps.leave:
        return f"{steps.machine_name}: leave the pawls as they are"
    return f"{steps.machine_name}: set the {' and the '.join(steps.moved)} pawl"


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
        click.echo(folded(f"Assumed, as the file does not say: {', '.join(steps.assumed)}."))
    if found.needs:
        click.echo(folded(f"What the sensor sees is not known without {', '.join(found.needs)}."))
    for line in (log_line(found, us), MACHINE_NOT_PEOPLE):
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
        click.echo("\nWhat it brings is not known: the machine file lacks what the race needs.")
        return
    piece = found.piece
    click.echo(f"\nFor the {piece}, with the limits of every tolerance:")
    _table(*effect_table(found, us))
    steps = found.steps
    better = [e for e in found.effects if e.aim_is_better]
    if better and not all(aim.pawl in steps.moved for aim in steps.aims.pawls):
        from tripmargin.pictures.words import length

        cuts = " and ".join(length(e.cut_length, us) for e in better)
        told = {e.at_aim.verdict for e in better}
        click.echo(
            folded(
                f"With every gap at its aim the verdict at the {cuts} cut would be"
                f" {' or '.join(sorted(told))}: --to-best gives the moves."
            )
        )
    from tripmargin.protection.setting.pawls import QUICK

    click.echo(folded(QUICK))


def log_line(found: PawlSetting, us: bool) -> str:
    """How to keep it, so that the next setting can learn from it; empty where nothing is moved."""
    steps = found.steps
    if steps.leave:
        return ""
    smallest = {each.pawl: each.smallest_turn for each in steps.adjusters.pawls}
    turned = {s.pawl: turns_words(s.turns, smallest[s.pawl]).partition(" (")[0]
              for s in steps.steps if s.turns is not None}  # fmt: skip
    note = ", ".join(
        f"{name} {turned[name]}" if name in turned else f"{name} untouched"
        for name in steps.readings
        if name in turned or name not in steps.moved
    )
    gaps = " ".join(
        f'gap_before/{name}="{gap_words(gap, us)}" gap_after/{name}="..."'
        for name, gap in steps.readings.items()
    )
    return (
        "Then keep it, for the next setting learns from it (--from-log): tripmargin log add"
        f' {steps.machine_name} adjustment {gaps} --note "{note}"'
    )


def _table(headers: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    for line in aligned(headers, rows):
        click.echo(line)
