"""A setting drill as its page shows it: pawls to measure, turn and place; true gaps unseen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import QueryDict

from tripmargin import drills as d
from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.errors import QuantityError, shortened
from tripmargin.ground.languages import say
from tripmargin.records.keeping.practices import PracticeError
from tripmargin.stopping.pawl_words import pawl_words
from tripmargin.stopping.setting import Adjuster
from tripmargin.stopping.setting.step_words import CAUTIONS, gap_words, turns_words, way_of
from tripmargin.web.drills.words import gap_from

MOST_CHOICES = 12
"""Numbers of turns to choose from; more takes two moves, as at the machine."""
_SUCH = 3.5e-3  # m, an example


@dataclass(frozen=True, slots=True)
class PawlShown:
    """One pawl: what it is moved by, what was measured, and what may be done to it."""

    name: str
    heading: str
    kind: str
    reading: str
    stale: bool
    turns: tuple[tuple[str, str], ...]
    opens: str
    closes: str
    placed: str
    """The gap that was typed, where it could not be read."""


def setting_page(drill: d.SettingDrill, *, us: bool, said: QueryDict) -> dict[str, Any]:
    """The context of the page; `said`: what was typed, where it could not be taken."""
    play = drill.play
    adjusters = play.pawls.adjusters
    low, high = adjusters.window
    measured = _measured(play)
    return {
        "cautions": tuple(say(each) for each in CAUTIONS),
        "secured": play.secured,
        "window": say(
            "Set every pawl's gap between {low} and {high}.",
            low=gap_words(low, us), high=gap_words(high, us),
        ),
        "feeler": say("The feeler goes by {step}.", step=gap_words(adjusters.feeler_step, us)),
        "unit": "in" if us else "mm",
        "pawls": [_pawl(each, measured, us, said) for each in adjusters.pawls],
    }  # fmt: skip


def _measured(play: Any) -> dict[str, tuple[float, bool]]:
    """Newest reading of each pawl, and whether any pawl was moved since."""
    found: dict[str, tuple[float, bool]] = {}
    for move in play.moves:
        if move.unsafe:
            continue
        if move.do == d.MEASURE:
            gap = gap_from(move.came)
            if gap is not None:
                found[move.what] = (gap, False)
        elif move.do in (d.TURN, d.PLACE):
            found = {name: (gap, True) for name, (gap, _) in found.items()}
    return found


def _pawl(
    each: Adjuster, measured: dict[str, tuple[float, bool]], us: bool, said: QueryDict
) -> PawlShown:
    gap, stale = measured.get(each.pawl, (None, False))
    step = each.smallest_turn
    turns: tuple[tuple[str, str], ...] = ()
    if each.kind == "clevis":
        most = each.setting_range / (each.pitch * each.leverage.mean)
        count = min(MOST_CHOICES, int(most / step + 1e-9))
        turns = tuple((repr(k * step), turns_words(k * step, step)) for k in range(1, count + 1))
    return PawlShown(
        name=each.pawl,
        heading=say("{pawl} pawl", pawl=pawl_words(each.pawl)),
        kind=each.kind,
        reading="" if gap is None else gap_words(gap, us),
        stale=stale,
        turns=turns,
        opens=_way(each, opens=True),
        closes=_way(each, opens=False),
        placed=said.get(f"gap.{each.pawl}", ""),
    )


def _way(each: Adjuster, *, opens: bool) -> str:
    """What turns the clevis, as its button says it."""
    way = way_of(each, opens=opens)
    if way == "out":
        return say("Open: turn it out") if opens else say("Close: turn it out")
    if way == "in":
        return say("Open: turn it in") if opens else say("Close: turn it in")
    return say("Open the gap") if opens else say("Close the gap")


def setting_steps(said: QueryDict, us: bool) -> list[tuple[str, str]]:
    """The move that the form of a setting drill means.

    Raises
    ------
    PracticeError
        If a gap is none.
    """
    do, _, pawl = said.get("move", "").partition(":")
    if do in ("open", "close"):
        sign = "" if do == "open" else "-"
        return [(d.TURN, f"{pawl} {sign}{said.get(f'turns.{pawl}', '')}")]
    if do == d.PLACE:
        return [(d.PLACE, f"{pawl} {_gap(said.get(f'gap.{pawl}', ''), pawl, us)!r}")]
    return [(do, pawl)]


def _gap(seen: str, pawl: str, us: bool) -> float:
    """A gap as it was typed, m; without a unit in that of the box."""
    from tripmargin.ground.quantities import quantity

    text = typed(seen.strip())
    if text[-1:].isdigit():
        text = f"{text} {'in' if us else 'mm'}"
    try:
        return quantity(text, "length").nominal
    except QuantityError as error:
        named, such = pawl_words(pawl), gap_words(_SUCH, us)
        if not text:
            raise PracticeError(
                say(
                    "The gap of the {pawl} pawl is not filled in. Allowed: a number, or one with"
                    " its unit, such as {such}.",
                    pawl=named, such=such,
                )
            ) from error  # fmt: skip
        raise PracticeError(
            say(
                "Gap of the {pawl} pawl = “{seen}”: {problem}. Allowed: a number, or one with its"
                " unit, such as {such}.",
                pawl=named, seen=shortened(seen, 30), problem=error.problem, such=such,
            )
        ) from error  # fmt: skip
