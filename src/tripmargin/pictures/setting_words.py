"""The pawls' setting in words and tables, wherever it is shown."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING, Any

from tripmargin.ground.units import percent
from tripmargin.pictures.words import length, length_unit, plain_number
from tripmargin.stopping.setting.step_words import between, gap_words

if TYPE_CHECKING:
    from tripmargin.protection import PawlSetting
    from tripmargin.protection.verdicts import CutVerdict
    from tripmargin.stopping.setting import Learned


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


def leave_line(found: PawlSetting, us: bool) -> str:
    """That nothing is to be touched, and why; for a plan without a move."""
    steps = found.steps
    low, high = steps.adjusters.window
    sure = all(aim.sure_enough for aim in steps.aims.pawls)
    each = steps.adjusters.confidence_each
    if sure and all(chance >= each for chance in steps.inside_now.values()):
        said = "Every gap is" if len(steps.readings) > 1 else "The gap is"
        return (
            f"Leave it. {said} inside {between(low, high, us)} with"
            f" {percent(steps.adjusters.confidence)} or more, now and until it is set again."
        )
    return "Leave it: no move makes it surer than it is. Look at the linkage for wear and play."


def effect_table(found: PawlSetting, us: bool) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Stop time, margin and verdict at each cut: as measured, and after the steps or at the aim."""
    unit, size = length_unit(us)
    rows: list[tuple[str, ...]] = []
    for effect in found.effects:
        then = effect.after or effect.at_aim
        for state, verdict in (("now", effect.before), (_then(found), then)):
            rows.append(
                (
                    length(effect.cut_length, us) if state == "now" else "",
                    state,
                    spread_words(verdict.stop_time, 1e-3),
                    spread_words(verdict.margin, size),
                    "" if verdict.protected is None else percent(verdict.protected),
                    verdict.verdict,
                )
            )
    headers = ("cut", "gaps", "stop time, ms", f"margin, {unit}", "protected", "verdict")
    return headers, rows


def _then(found: PawlSetting) -> str:
    return "aim" if found.steps.leave else "after"


def before_after(first: PawlSetting, last: PawlSetting, us: bool) -> list[Compared]:
    """Each cut with the gaps as they were found, and as they are to be, or are now.

    Parameters
    ----------
    first, last : PawlSetting
        From the gaps as found, and as they are known now; the same before the first move.
    us : bool
        Inches.
    """
    return [
        compared(one.before, two.after or two.before, us)
        for one, two in zip(first.effects, last.effects, strict=True)
    ]


@dataclass(frozen=True, slots=True)
class Said:
    """One verdict in words: stop time and margin with their limits."""

    stop_time: str
    margin: str
    protected: str
    verdict: str


@dataclass(frozen=True, slots=True)
class Compared:
    """One cut, before and after."""

    cut: str
    before: Said
    after: Said


def compared(old: CutVerdict, new: CutVerdict, us: bool) -> Compared:
    """Two verdicts at one cut, in words."""
    return Compared(length(old.cut_length, us), _said(old, us), _said(new, us))


def _said(verdict: CutVerdict, us: bool) -> Said:
    unit, size = length_unit(us)
    stop, margin = spread_words(verdict.stop_time, 1e-3), spread_words(verdict.margin, size)
    return Said(
        f"{stop} ms" if verdict.stop_time is not None else stop,
        f"{margin} {unit}" if verdict.margin is not None else margin,
        "" if verdict.protected is None else percent(verdict.protected),
        verdict.verdict,
    )


def spread_words(value: Any, unit: float) -> str:
    """A value with its limits, these to two digits."""
    if value is None or not isfinite(value):
        return "not known" if value is None else "never"
    ends = (value.low / unit, value.high / unit)
    low, high = (plain_number(end, 2) if isfinite(end) else "never" for end in ends)
    return f"{plain_number(value / unit)} ({low} to {high})"


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
