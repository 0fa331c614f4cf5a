"""The gaps as measured: which pawl each is of, and whether anything can be planned from them."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import later, say
from tripmargin.ground.units import shown
from tripmargin.stopping.pawl_words import pawl_words
from tripmargin.stopping.setting.adjusters import Adjuster, Adjusters
from tripmargin.stopping.setting.errors import SettingError

Array = NDArray[np.float64]
THINNEST = 10e-6  # m; a reading below it is another unit
WIDEST = 0.05  # m; as the machine file allows at most
ALIKE = 0.3  # of the way off: pawls that are off alike share what is wrong
UNIT = later("Gaps are in metres here: 6.2 mm is 0.0062.")
ALLOWED = later("what a feeler gauge or a drill shank reads, above zero")
LOOK_AT = later(
    "a bent pawl or a worn tip, a pawl or a ratchet of another machine, a broken or unhooked"
    " spring, a pin or a bush that is gone, a plunger that is not where it is while the feed runs"
)


def readings_of(
    adjusters: Adjusters,
    *,
    lower_gap: float | None = None,
    upper_gap: float | None = None,
    gaps: Mapping[str, float] | None = None,
) -> dict[str, float]:
    """The measured gap of every pawl, m, in the file's order.

    Raises
    ------
    SettingError
        If a gap is missing, given twice, of no pawl of this machine, or cannot be a gap.
    """
    given = dict(gaps or {})
    for name, gap in (("lower", lower_gap), ("upper", upper_gap)):
        if gap is None:
            continue
        if name in given:
            raise SettingError(f"{name}_gap", f"{gap!r}", say("given twice"), say("each gap once"))
        given[name] = gap
    for name, gap in given.items():
        if name not in adjusters.names:
            near = nearest(name, list(adjusters.names))
            raise SettingError(
                _gap_of(name),
                _seen(gap),
                say("this machine has no pawl called {name}", name=name),
                say("a gap for each of its pawls: {names}", names=", ".join(adjusters.names)),
                say('Did you mean "{near}"?', near=near)
                if near
                else say("Pawls are called as in the machine file."),
            )
    for name in adjusters.names:
        if given.get(name) is None:
            raise SettingError(
                _gap_of(name),
                "",
                say("not measured"),
                say(
                    "a gap for each pawl of this machine: {names}", names=", ".join(adjusters.names)
                ),
                say("Moving one pawl may move the others: measure them all first."),
            )
        _require_gap(name, given[name])
    return {name: float(given[name]) for name in adjusters.names}


def _seen(gap: object) -> str:
    plain = isinstance(gap, (int, float)) and not isinstance(gap, bool) and isfinite(gap)
    return shown(float(gap), "length") if plain else repr(gap)  # type: ignore[arg-type]


def _require_gap(name: str, gap: object) -> None:
    what, allowed, unit = _gap_of(name), say(ALLOWED), say(UNIT)
    if isinstance(gap, bool) or not isinstance(gap, (int, float, np.floating, np.integer)):
        raise SettingError(what, repr(gap), say("not a number"), allowed, unit)
    value = float(gap)
    if not isfinite(value):
        raise SettingError(what, repr(gap), say("not a finite number"), allowed, unit)
    if value < 0:
        raise SettingError(what, _seen(value), say("no feeler reads less than nothing"), allowed)
    if value == 0:
        raise SettingError(
            what,
            "0 mm",
            say("the pawl rests on the ratchet, or the thinnest blade did not go in"),
            allowed,
            say(
                "From 0 nobody can tell how far to turn. Engine off, key out, everything at rest;"
                " with a block hold the pawl where it is when the feed runs, and measure again. If"
                " it still touches, look at: {parts}.",
                parts=say(LOOK_AT),
            ),
        )
    if value < THINNEST:
        raise SettingError(what, _seen(value), say("thinner than any feeler blade"), allowed, unit)
    if value > WIDEST:
        raise SettingError(what, _seen(value), say("wider than any pawl stands off"), allowed, unit)


def require_in_reach(adjusters: Adjusters, readings: Array, aims: Array) -> None:
    """Refuse gaps that no adjuster can put right: a part is bent, worn or wrong.

    Raises
    ------
    SettingError
        With what to look at.
    """
    off = readings - aims
    far = [i for i, each in enumerate(adjusters.pawls) if abs(off[i]) > each.setting_range + 1e-12]
    if not far:
        return
    worst = max(far, key=lambda i: abs(off[i]))
    each = adjusters.pawls[worst]
    alike = len(off) > 1 and np.ptp(off) < ALIKE * np.abs(off).max()
    raise SettingError(
        ", ".join(_gap_of(adjusters.names[i]) for i in far),
        ", ".join(shown(float(readings[i]), "length") for i in far),
        _too_far(each, abs(float(off[worst])), adjusters.window),
        say("a gap that the adjuster can reach"),
        f"{_not_by_force([adjusters.pawls[i] for i in far])} {_look_at(alike)}",
    )


def _gap_of(name: str) -> str:
    return say("gap of {pawl}", pawl=pawl_words(name))


def _too_far(each: Adjuster, off: float, window: tuple[float, float]) -> str:
    """What is wrong with a gap that no adjuster reaches."""
    low, high = (shown(end, "length") for end in window)
    values = {
        "off": shown(off, "length", digits=3),
        "low": low,
        "high": high,
        "range": shown(each.setting_range, "length"),
    }
    if each.kind == "clevis":
        return say(
            "{off} away from where it should be ({low} to {high}), and its clevis sets {range} from"
            " end to end",
            **values,
        )
    return say(
        "{off} away from where it should be ({low} to {high}), and its clamp sets {range} from end"
        " to end",
        **values,
    )


def _look_at(alike: bool) -> str:
    if alike:
        return say(
            "All pawls are off alike, so look first at what they share: the plunger and its"
            " linkage, the pawls' shaft, the ratchet. Then at: {parts}. And measure again: was it"
            " the right gap?",
            parts=say(LOOK_AT),
        )
    return say("Look at: {parts}. And measure again: was it the right gap?", parts=say(LOOK_AT))


def _not_by_force(far: list[Adjuster]) -> str:
    if any(each.kind == "clevis" for each in far):
        return say("Do not wind the thread out to fetch it: a few threads hold nothing.")
    return say("Do not force the clamp to its end to fetch it.")
