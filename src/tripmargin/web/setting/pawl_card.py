"""One step of setting the pawls as a card: what to do in big print, then what was read."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from tripmargin.ground.languages import numeral, say, say_as
from tripmargin.pictures.trade_words import pawl_place, pawl_title
from tripmargin.stopping.setting import Adjuster
from tripmargin.stopping.setting.rounds import Known, Round, Work
from tripmargin.stopping.setting.step_words import between, gap_words, turns_words
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.setting.lengths import LengthBox
from tripmargin.web.setting.pawl_form import PawlForm
from tripmargin.web.setting.pawl_work import PawlWork
from tripmargin.web.setting.rounds_sent import LEAST_GAP, MOST_GAP, MOST_TURNS

_CLEARLY = 4.0  # standard deviations of a reading: that a gap went the other way


@dataclass(slots=True)
class Card:
    """What to do next.

    Attributes
    ----------
    pawl, big : str
        Which pawl; the step in a few words.
    lines : tuple of str
        Each thing to do, in order.
    expect : str
        What the feeler will show.
    asked, expected : str
        What the reading is of, and what it should be, as the form carries them.
    after : str
        What comes then.
    turned : Number or None
        Turns that were made, where a clevis is turned.
    reading : LengthBox
    """

    pawl: str
    big: str
    lines: tuple[str, ...]
    expect: str
    asked: str
    expected: str
    after: str
    turned: Number | None
    reading: LengthBox


def card_of(form: PawlForm, work: PawlWork, reading: str = "", turned: str = "") -> Card:
    """The card of the next step; `reading` and `turned` as typed."""
    step, us = work.next, form.us
    each = next(a for a in work.steps.adjusters.pawls if a.pawl == step.pawl)
    turns = step.turns or 0.0
    assert step.expect is not None  # something is to be done, so something is to be read
    box = None
    if step.do == "turn":
        box = Number(
            "turned", say("Turns that you made"), say_as("unit", "turns"), 0.0, MOST_TURNS,
            turned or numeral(abs(turns), ".4g"),
            help=say("Change it where it came otherwise. 0: it was not turned."),
        )  # fmt: skip
    return Card(
        pawl=pawl_title(step.pawl),
        big=_big(step, each, us),
        lines=(
            *_lines(work, us),
            say(
                "Measure the {pawl} pawl's gap with the feeler.", pawl=pawl_place(step.pawl)
            ),
        ),
        expect=between(*step.expect, us),
        asked=f"{step.pawl};{step.do};{turns:.6g}",
        expected=";".join(f"{end:.7g}" for end in step.expect),
        after=_after(work),
        turned=box,
        reading=LengthBox(
            "reading", "reading",
            say("Gap of the {pawl} pawl as read", pawl=pawl_place(step.pawl)),
            form.unit, LEAST_GAP, MOST_GAP, reading, zero_goes=True,
        ),
    )  # fmt: skip


def _lines(work: PawlWork, us: bool) -> list[str]:
    """What is to be done, in order; a gap that is only reckoned is not told as if it were read."""
    said = [one.words(us) for one in work.next.steps]
    if work.next.do == "place" and not work.known[work.next.pawl].fresh:
        said[0] = f"{said[0].partition(';')[0].rstrip('.')}."
    return said


def _big(step: Work, each: Adjuster, us: bool) -> str:
    if step.do == "turn":
        first = step.steps[0]
        how = turns_words(first.turns or 0.0, each.smallest_turn)
        if first.way == "in":
            return say("Turn its clevis in by {turns}", turns=how)
        if first.way == "out":
            return say("Turn its clevis out by {turns}", turns=how)
        if (first.turns or 0.0) > 0:
            return say("Turn its clevis by {turns}, the way that opens the gap", turns=how)
        return say("Turn its clevis by {turns}, the way that closes the gap", turns=how)
    if step.do == "place":
        gap = step.steps[0].gap
        assert gap is not None
        return say("Slide its clamp until the {gap} blade just passes", gap=gap_words(gap, us))
    return say("Measure its gap again")


def _after(work: PawlWork) -> str:
    """What comes after this step, if it comes out as expected."""
    steps, step = work.steps, work.next
    moved = [pawl for pawl in steps.moved if pawl != step.pawl or step.do == "measure"]
    last = [one for one in steps.steps if one.do == "measure" and one.pawl]
    order = [one.pawl for one in last]
    again = [pawl for i, pawl in enumerate(order) if pawl in order[:i]]
    others = [pawl for pawl in order if pawl not in steps.moved]
    said = [say("set the {pawl} pawl", pawl=pawl_place(pawl)) for pawl in moved]
    said += [
        say("measure the {pawl} pawl again", pawl=pawl_place(pawl))
        for pawl in dict.fromkeys([*again, *others])
    ]
    if not said:
        return say("Then, if it is as expected: all is set.")
    return say("Then, if it is as expected: {steps}.", steps="; ".join(said))


def as_turned(asked: float, turned: float, before: Known, gap: float, doubt: float) -> float:
    """Turns with their sign: as asked, unless the gap clearly went the other way.

    >>> as_turned(-2.0, 1.5, Known(0.0062, 4e-5), 0.0044, 4e-5)
    -1.5
    >>> as_turned(-2.0, 2.0, Known(0.0062, 4e-5), 0.0082, 4e-5)
    2.0
    """
    way = 1.0 if asked > 0 else -1.0
    off = (gap - before.gap) * way
    clear = _CLEARLY * (before.sd**2 + doubt**2) ** 0.5
    # Tightening may move a gap by some tenths of a millimetre either way.
    return turned * (-way if off < -clear - 0.3e-3 else way)


def otherwise(one: Round, expected: str, us: bool) -> str:
    """That a reading is not as expected; empty where it is, or nothing was expected."""
    try:
        low, high = (float(end) for end in expected.split(";"))
    except ValueError:
        return ""
    if not (isfinite(low) and isfinite(high)) or low <= one.gap <= high:
        return ""
    return say(
        "{gap} was read where {expected} was expected. Measure again: if it is so, go on. The step"
        " below is worked out from what you read.",
        gap=gap_words(one.gap, us),
        expected=between(low, high, us),
    )


def done_so_far(rounds: tuple[Round, ...], us: bool) -> list[str]:
    """Each round in a few words."""
    return [_done(one, us) for one in rounds]


def _done(one: Round, us: bool) -> str:
    told = {"pawl": pawl_title(one.pawl), "gap": gap_words(one.gap, us)}
    if one.turns is None:
        if one.placed:
            return say("{pawl}: clamp placed, {gap} read.", **told)
        return say("{pawl}: measured, {gap} read.", **told)
    told["turns"] = turns_words(one.turns, 0.5)
    if one.turns > 0:
        return say("{pawl}: clevis turned by {turns}, which opens the gap, {gap} read.", **told)
    return say("{pawl}: clevis turned by {turns}, which closes the gap, {gap} read.", **told)
