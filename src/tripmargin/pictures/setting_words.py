"""The pawls' setting in words and tables, wherever it is shown."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING, Any

from tripmargin.ground.languages import numeral, say, say_as, say_many
from tripmargin.ground.units import percent
from tripmargin.pictures.trade_words import pawl_place
from tripmargin.pictures.words import length, length_unit, plain_number, said
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
        room = say("none is sure") if aim.room is None else between(*aim.room, us)
        inside = percent(steps.inside_now[aim.pawl])
        gap = gap_words(steps.readings[aim.pawl], us)
        rows.append((pawl_place(aim.pawl), gap, inside, room, gap_words(aim.gap, us)))
    headers = (say("pawl"), say("measured"), say("inside"), say("may stay from"), say("aim"))
    return headers, rows


def leave_line(found: PawlSetting, us: bool) -> str:
    """That nothing is to be touched, and why; for a plan without a move."""
    steps = found.steps
    low, high = steps.adjusters.window
    sure = all(aim.sure_enough for aim in steps.aims.pawls)
    each = steps.adjusters.confidence_each
    if sure and all(chance >= each for chance in steps.inside_now.values()):
        return say_many(
            "Leave it. The gap is inside {window} with {share} or more, now and until it is set"
            " again.",
            "Leave it. Every gap is inside {window} with {share} or more, now and until it is set"
            " again.",
            len(steps.readings),
            window=between(low, high, us),
            share=percent(steps.adjusters.confidence),
        )
    return say(
        "Leave it: no move makes it surer than it is. Look at the linkage for wear and play."
    )


def effect_table(found: PawlSetting, us: bool) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Stop time, margin and verdict at each cut: as measured, and after the steps or at the aim."""
    unit, size = length_unit(us)
    rows: list[tuple[str, ...]] = []
    for effect in found.effects:
        then = effect.after or effect.at_aim
        cut = length(effect.cut_length, us)
        for first, state, verdict in (
            (cut, say("now"), effect.before),
            ("", _then(found), then),
        ):
            rows.append(
                (
                    first,
                    state,
                    spread_words(verdict.stop_time, 1e-3),
                    spread_words(verdict.margin, size),
                    "" if verdict.protected is None else percent(verdict.protected),
                    said(verdict.verdict),
                )
            )
    headers = (
        say("cut"),
        say("gaps"),
        say("stop time, ms"),
        say("margin, {unit}", unit=unit),
        say("protected"),
        say("verdict"),
    )
    return headers, rows


def _then(found: PawlSetting) -> str:
    return say_as("gaps", "aim") if found.steps.leave else say_as("gaps", "after")


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
    state: str
    """The verdict as it is kept: its key."""


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
        said(verdict.verdict),
        verdict.verdict,
    )


def spread_words(value: Any, unit: float) -> str:
    """A value with its limits, these to two digits."""
    if value is None or not isfinite(value):
        return say("not known") if value is None else say("never")
    ends = (value.low / unit, value.high / unit)
    low, high = (plain_number(end, 2) if isfinite(end) else say("never") for end in ends)
    return say("{value} ({low} to {high})", value=plain_number(value / unit), low=low, high=high)


def learned_lines(found: PawlSetting, us: bool) -> list[str]:
    """What past settings taught, and from how many."""
    return [_learned(each, found, us) for each in found.steps.learned]


def _learned(each: Learned, found: PawlSetting, us: bool) -> str:
    what = _what_learned(each, found, us)
    before = _before(each, found, us)
    how = say_many(
        "learned from {count} past setting", "learned from {count} past settings", each.count
    )
    if each.before.source == "assumed":
        return say("{what}, {how} (assumed: {before}).", what=what, how=how, before=before)
    return say("{what}, {how} (by the file: {before}).", what=what, how=how, before=before)


def _what_learned(each: Learned, found: PawlSetting, us: bool) -> str:
    """What it is, and its value now with how far off it may be."""
    pawl = pawl_place(each.pawl)
    if each.what == "coupling":
        value = f"{numeral(100 * each.now.mean, '.2g')} % +- {numeral(200 * each.now.sd, '.2g')} %"
        return say("Of a move of the {pawl} pawl the others make {value}", pawl=pawl, value=value)
    size = _pitch(each, found) if each.what == "leverage" else 1.0
    now, off = gap_words(size * each.now.mean, us), gap_words(2 * size * each.now.sd, us)
    value = f"{now} +- {off}"
    if each.what == "leverage":
        return say("One turn of its clevis moves the {pawl} gap by {value}", pawl=pawl, value=value)
    if each.what == "tightening_shift":
        return say("Tightening opens the {pawl} gap by {value}", pawl=pawl, value=value)
    return say("A season opens the {pawl} gap by {value}", pawl=pawl, value=value)


def _before(each: Learned, found: PawlSetting, us: bool) -> str:
    """Its value before anything was learned."""
    if each.what == "coupling":
        return f"{numeral(100 * each.before.mean, '.2g')} %"
    size = _pitch(each, found) if each.what == "leverage" else 1.0
    return gap_words(size * each.before.mean, us)


def _pitch(each: Learned, found: PawlSetting) -> float:
    return next(a.pitch for a in found.steps.adjusters.pawls if a.pawl == each.pawl)
