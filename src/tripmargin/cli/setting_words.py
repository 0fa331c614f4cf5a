"""The pawls' setting in words and tables, for a terminal and for paper."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.tables import aligned, folded
from tripmargin.ground.units import percent
from tripmargin.stopping.setting.step_words import between, gap_words, turns_words

if TYPE_CHECKING:
    from tripmargin.protection import PawlSetting
    from tripmargin.stopping.setting import Learned


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


def gap_table(found: PawlSetting, us: bool) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Each pawl: measured, aim, what may stay, and how surely it is inside."""
    steps = found.steps
    rows: list[tuple[str, ...]] = []
    for aim in steps.aims.pawls:
        room = "none is sure" if aim.room is None else between(*aim.room, us)
        inside = percent(steps.inside_now[aim.pawl])
        gap = gap_words(steps.readings[aim.pawl], us)
        rows.append((aim.pawl, gap, inside, room, gap_words(aim.gap, us)))
    return ("pawl", "measured", "inside", "may stay from", "aim"), rows


def step_lines(found: PawlSetting, us: bool) -> list[str]:
    """The steps, numbered; or that nothing is to be touched."""
    steps = found.steps
    if not steps.leave:
        return [f"{n:>2}. {step.words(us)}" for n, step in enumerate(steps.steps, start=1)]
    low, high = steps.adjusters.window
    sure = all(aim.sure_enough for aim in steps.aims.pawls)
    each = steps.adjusters.confidence_each
    if sure and all(chance >= each for chance in steps.inside_now.values()):
        said = "Every gap is" if len(steps.readings) > 1 else "The gap is"
        return [
            f"Leave it. {said} inside {between(low, high, us)} with"
            f" {percent(steps.adjusters.confidence)} or more, now and until it is set again."
        ]
    return ["Leave it: no move makes it surer than it is. Look at the linkage for wear and play."]


def effect_table(found: PawlSetting, us: bool) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Stop time, margin and verdict at each cut: as measured, and after the steps or at the aim."""
    from tripmargin.pictures.words import length, length_unit

    unit, size = length_unit(us)
    rows: list[tuple[str, ...]] = []
    for effect in found.effects:
        then = effect.after or effect.at_aim
        for state, verdict in (("now", effect.before), (_then(found), then)):
            rows.append(
                (
                    length(effect.cut_length, us) if state == "now" else "",
                    state,
                    _spread(verdict.stop_time, 1e-3),
                    _spread(verdict.margin, size),
                    "" if verdict.protected is None else percent(verdict.protected),
                    verdict.verdict,
                )
            )
    headers = ("cut", "gaps", "stop time, ms", f"margin, {unit}", "protected", "verdict")
    return headers, rows


def _then(found: PawlSetting) -> str:
    return "aim" if found.steps.leave else "after"


def _spread(value: Any, unit: float) -> str:
    """A value with its limits, these to two digits."""
    from tripmargin.pictures.words import plain_number

    if value is None or not isfinite(value):
        return "not known" if value is None else "never"
    ends = (value.low / unit, value.high / unit)
    low, high = (plain_number(end, 2) if isfinite(end) else "never" for end in ends)
    return f"{plain_number(value / unit)} ({low} to {high})"


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


def learned_lines(found: PawlSetting, us: bool) -> list[str]:
    """What past settings taught, and from how many."""
    return [_learned(each, found, us) for each in found.steps.learned]


def _learned(each: Learned, found: PawlSetting, us: bool) -> str:
    how = f"learned from {each.count} past setting{'s' if each.count > 1 else ''}"
    if each.what == "leverage":
        pitch = next(a.pitch for a in found.steps.adjusters.pawls if a.pawl == each.pawl)
        now, before = (gap_words(pitch * belief.mean, us) for belief in (each.now, each.before))
        off = gap_words(2 * pitch * each.now.sd, us)
        what = f"one turn of its clevis moves the {each.pawl} gap by {now} +- {off}"
    elif each.what == "coupling":
        now, before = (f"{100 * belief.mean:.2g} %" for belief in (each.now, each.before))
        off = f"{200 * each.now.sd:.2g} %"
        what = f"of a move of the {each.pawl} pawl the others make {now} +- {off}"
    else:
        now, before = (gap_words(belief.mean, us) for belief in (each.now, each.before))
        off = gap_words(2 * each.now.sd, us)
        cause = "tightening" if each.what == "tightening_shift" else "a season"
        what = f"{cause} opens the {each.pawl} gap by {now} +- {off}"
    source = "assumed" if each.before.source == "assumed" else "by the file"
    return f"{what[:1].upper()}{what[1:]}, {how} ({source}: {before})."


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
