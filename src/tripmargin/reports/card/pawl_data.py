"""A machine's pawls as data for a page that plans their setting by itself.

The page computes what `stopping.setting` computes here, from the same numbers; so they are handed
over whole, as Python prints them. What hangs on the race is reckoned here, for a phone cannot.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import say
from tripmargin.ground.results import plain
from tripmargin.ground.units import percent
from tripmargin.machine import Machine
from tripmargin.pictures.setting_words import learned_lines
from tripmargin.pictures.trade_words import pawl_place, pawl_title, pawl_words, piece_words
from tripmargin.protection.setting.pawls import (
    Effect,
    PawlSetting,
    judge_of,
    race_of,
    set_pawls,
)
from tripmargin.protection.setting.seen_race import SeenRace
from tripmargin.protection.verdicts import CutVerdict
from tripmargin.records.kinds import Field, kind_named
from tripmargin.stopping.setting import (
    Adjusters,
    Aims,
    adjusters_of,
    aims,
    learn,
    normal_gap,
)
from tripmargin.stopping.setting import readings as refusals
from tripmargin.stopping.setting.in_time import above_the_axis, cuts_of
from tripmargin.stopping.setting.past import past_of
from tripmargin.stopping.setting.planning import Choice, choices_of, solved, taken_along
from tripmargin.stopping.setting.room import edges

Array = NDArray[np.float64]
_GAPS = 7  # for which the race is shown; a straight line between them is off by under 0.1 ms
_LEAST = 1e-4  # m; no gap is aimed at below it


def pawl_data(machine: Machine, history: Iterable[Any] = ()) -> dict[str, Any] | None:
    """Everything that `script/pawls.js` and its page need to set the pawls of a machine.

    Parameters
    ----------
    machine : Machine
    history : iterable of Adjustment, or of (before, after, turns)
        Past settings of this machine, to learn from.

    Returns
    -------
    dict or None
        JSON-ready, SI, units in key names; None where the machine has no pawls. Of a pawl,
        `low_m`, `high_m` and `weights` are the window less each drift that may come. A choice's
        `solve` is the inverse of the shares by which its pawls take each other along, `clamps` that
        of its clamps alone. `in_time` has one list a pawl, evenly over the window; a list of one
        number stands for the same all over.

    Raises
    ------
    SettingError
        If a past setting cannot be.
    """
    past = tuple(history)
    try:
        adjusters = adjusters_of(machine)
    except NotKnownError:
        return None
    adjusters, _ = learn(adjusters, past_of(past, adjusters.names))
    cuts = cuts_of(machine, None)
    race = race_of(machine, cuts)
    found = aims(adjusters, race.in_time if race is not None else above_the_axis(machine), cuts)
    at_aim = set_pawls(
        machine,
        gaps={each.pawl: max(each.gap, _LEAST) for each in found.pawls},
        history=past,
        race=race,
    )
    made: dict[str, Any] = plain(
        {
            "pawls": _pawls(adjusters, found),
            "window_m": adjusters.window,
            "confidence_each": adjusters.confidence_each,
            "reading_sd_m": adjusters.reading_sd,
            "feeler_step_m": adjusters.feeler_step,
            "feeler_given": not any("feeler_step" in each for each in adjusters.assumed),
            "choices": [_choice(each, adjusters) for each in choices_of(adjusters)],
            "in_time": [_short(column) for column in found.in_time.T],
            "effects": _effects(machine, adjusters, race, cuts, at_aim.effects),
            "words": _words(at_aim),
            "log": _log(),
        }
    )
    return made


def _pawls(adjusters: Adjusters, found: Aims) -> list[dict[str, Any]]:
    low, high, weights = edges(adjusters)
    return [
        {
            "pawl": each.pawl,
            "kind": each.kind,
            "step_m": each.step,
            "way_m": each.way,
            "leverage_sd": each.leverage.sd,
            "smallest_turn": each.smallest_turn,
            "turned_out": each.turned_out,
            "placed_sd_m": each.placed_sd,
            "shift_m": each.shift.mean,
            "shift_sd_m": each.shift.sd,
            "scatter_sd_m": each.shift_scatter,
            "coupling": each.coupling.mean,
            "coupling_sd": each.coupling.sd,
            "range_m": each.setting_range,
            "aim_m": aim.gap,
            "room_m": aim.room,
            "sure_enough": aim.sure_enough,
            "low_m": low[k],
            "high_m": high[k],
            "weights": weights[k],
        }
        for k, (each, aim) in enumerate(zip(adjusters.pawls, found.pawls, strict=True))
    ]


def _choice(choice: Choice, adjusters: Adjusters) -> dict[str, Any]:
    clamps = [i for i in choice.pawls if adjusters.pawls[i].kind == "clamp"]
    return {
        "pawls": choice.pawls,
        "beyond": choice.beyond,
        "solve": _inverse(adjusters, list(choice.pawls)),
        "clamps": _inverse(adjusters, clamps),
    }


def _inverse(adjusters: Adjusters, some: list[int]) -> Array:
    if not some:
        return np.zeros((0, 0))
    return solved(taken_along(adjusters)[np.ix_(some, some)], np.eye(len(some))).T


def _short(column: Array) -> Array:
    return column[:1] if (column == column[0]).all() else column


def _effects(
    machine: Machine,
    adjusters: Adjusters,
    race: SeenRace | None,
    cuts: tuple[float, ...],
    at_aim: tuple[Effect, ...],
) -> dict[str, Any] | None:
    """Stop time and margin with all gaps alike, on a few gaps; None where they are not known."""
    if not at_aim:
        return None
    low, high = adjusters.window
    gaps = np.linspace(low / 2, 2 * high - low, _GAPS)
    judge, sd = judge_of(machine, race), adjusters.set_sd()

    def told(gap: float, cut: float) -> CutVerdict:
        alike = {n: normal_gap(gap, float(s)) for n, s in zip(adjusters.names, sd, strict=True)}
        return judge(alike, cut)

    try:
        rows = [[told(float(gap), cut) for gap in gaps] for cut in cuts]
    except NotKnownError:
        return None
    return {
        "piece": piece_words(machine.limits.must_stop),
        "gaps_m": gaps,
        "cuts": [
            {
                "cut_length_m": each.cut_length,
                "at_aim": _limits(each.at_aim),
                "on_grid": [_limits(one) for one in row],
            }
            for each, row in zip(at_aim, rows, strict=True)
        ],
    }


def _limits(verdict: CutVerdict) -> dict[str, Any]:
    """Stop time and margin, each nominal, least and greatest; null for what is not known."""
    return {
        key: None if value is None else (value.nominal, value.low, value.high)
        for key, value in (("stop_time_s", verdict.stop_time), ("margin_m", verdict.margin))
    }


def _words(at_aim: PawlSetting) -> dict[str, Any]:
    """What is said alike whatever is read."""
    steps = at_aim.steps
    systems = (("metric", False), ("us", True))
    return {
        "names": {
            name: {"place": pawl_place(name), "called": pawl_words(name), "title": pawl_title(name)}
            for name in steps.adjusters.names
        },
        "cautions": steps.cautions,
        "because": {name: steps.because(us) for name, us in systems},
        "learned": {name: learned_lines(at_aim, us) for name, us in systems},
        "assumed": steps.assumed,
        "confidence": percent(steps.adjusters.confidence),
        "needs": at_aim.needs,
        "refusals": {
            "thinnest_m": refusals.THINNEST,
            "widest_m": refusals.WIDEST,
            "alike": refusals.ALIKE,
            "unit": say(refusals.UNIT),
            "allowed": say(refusals.ALLOWED),
            "look_at": say(refusals.LOOK_AT),
        },
    }


def _log() -> dict[str, Any]:
    """What the log takes of an adjustment."""
    kind = kind_named("adjustment")

    def limits(key: str) -> tuple[float, float]:
        field = kind.field_of(key)
        assert isinstance(field, Field)
        return field.low, field.high

    return {
        "gap_m": limits("gap_after_m/"),
        "turns": limits("turns/"),
        "feeler_m": limits("feeler_m"),
    }
