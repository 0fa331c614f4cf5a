"""A setting drill as its page shows it: pawls to measure, turn and place; true gaps unseen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import QueryDict

from tripmargin import drills as d
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.stopping.setting import Adjuster
from tripmargin.stopping.setting.step_words import CAUTIONS, gap_words, turns_words, way_of
from tripmargin.web.drills.words import gap_from

MOST_CHOICES = 12
"""Numbers of turns to choose from; more takes two moves, as at the machine."""


@dataclass(frozen=True, slots=True)
class PawlShown:
    """One pawl: what it is moved by, what was measured, and what may be done to it."""

    name: str
    called: str
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
        "told": play.secured,
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
    out, into = way_of(each, opens=True), way_of(each, opens=False)
    return PawlShown(
        name=each.pawl,
        called=as_written(each.pawl),
        kind=each.kind,
        reading="" if gap is None else gap_words(gap, us),
        stale=stale,
        turns=turns,
        opens=say("Open: turn it {way}", way=out) if out else say("Open the gap"),
        closes=say("Close: turn it {way}", way=into) if into else say("Close the gap"),
        placed=said.get(f"gap.{each.pawl}", ""),
    )


def setting_steps(said: QueryDict, us: bool) -> list[tuple[str, str]]:
    """The move that the form of a setting drill means.

    Raises
    ------
    QuantityError
        If a gap is none.
    """
    from tripmargin.ground.quantities import quantity

    do, _, pawl = said.get("move", "").partition(":")
    if do in ("open", "close"):
        sign = "" if do == "open" else "-"
        return [(d.TURN, f"{pawl} {sign}{said.get(f'turns.{pawl}', '')}")]
    if do == d.PLACE:
        text = said.get(f"gap.{pawl}", "").strip()
        if text and text[-1:].isdigit():
            text = f"{text} {'in' if us else 'mm'}"
        return [(d.PLACE, f"{pawl} {quantity(text, 'length').nominal!r}")]
    return [(do, pawl)]
