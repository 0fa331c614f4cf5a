"""The margin in words: where the metal comes to rest, or that it may never."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from tripmargin.ground.languages import say
from tripmargin.pictures.data import SpreadLike
from tripmargin.pictures.words import length, length_unit, plain_number


def too_large(notes: Sequence[str]) -> bool:
    """Whether a race's notes say that its piece does not fit between the rolls.

    A pass notes it in these words, in whatever language it was made.
    """
    from tripmargin.sensing.piece_said import CANNOT_PASS

    words = (CANNOT_PASS, say(CANNOT_PASS))
    return any(each in note for note in notes for each in words)


def rest_words(margin: SpreadLike, us: bool, *, would: bool = False) -> str:
    """Where the metal comes to rest, with its limits; or that the stop may never come about.

    `would` puts it as what would happen.
    """
    if not isfinite(margin.nominal):
        return _no_rest(margin, us, would)
    where, limits = place(margin.nominal, us), _limits(margin, us)
    if margin.nominal >= 0:
        if would:
            return say("would come to rest {where} ({limits})", where=where, limits=limits)
        return say("comes to rest {where} ({limits})", where=where, limits=limits)
    if would:
        return say("would go through, to rest {where} ({limits})", where=where, limits=limits)
    return say("goes through, to rest {where} ({limits})", where=where, limits=limits)


def _no_rest(margin: SpreadLike, us: bool, would: bool) -> str:
    """That the stop does not come about; and where the metal would rest at best, if anywhere."""
    if isfinite(margin.high):
        best = place(margin.high, us)
        if would:
            return say(
                "would never come to rest: the stop does not come about and the feed runs on;"
                " at best {best}",
                best=best,
            )
        return say(
            "never comes to rest: the stop does not come about and the feed runs on;"
            " at best {best}",
            best=best,
        )
    if would:
        return say("would never come to rest: the stop does not come about and the feed runs on")
    return say("never comes to rest: the stop does not come about and the feed runs on")


def place(margin: float, us: bool) -> str:
    """A margin as a distance before the shear bar or past it.

    >>> place(0.03, False), place(-0.004, False)
    ('30 mm before the shear bar', '4 mm past the shear bar')
    """
    distance = length(abs(margin), us)
    if margin >= 0:
        return say("{distance} before the shear bar", distance=distance)
    return say("{distance} past the shear bar", distance=distance)


def margin_words(margin: float, notes: Sequence[str], us: bool) -> str:
    """A margin as it stands on its dimension line; no margin holds where the piece cannot pass."""
    distance = length(abs(margin), us)
    if too_large(notes):
        return say("cannot pass; computed {distance}", distance=distance)
    if margin >= 0:
        return say("margin {distance}", distance=distance)
    return say("through by {distance}", distance=distance)


def span(margin: SpreadLike, us: bool) -> str:
    """Least and greatest margin in a table's cell, without the unit; `runs on` for no rest."""
    if not isfinite(margin.high):
        return say("runs on")
    return say("{low} to {high}", low=cell(margin.low, us), high=cell(margin.high, us))


def cell(margin: float, us: bool) -> str:
    """A margin in a table's cell, without the unit."""
    return plain_number(margin / length_unit(us)[1]) if isfinite(margin) else say("runs on")


def _limits(margin: SpreadLike, us: bool) -> str:
    """Least and greatest margin, each with its side where the sides differ."""
    if not isfinite(margin.low):
        best = length(abs(margin.high), us)
        if margin.high >= 0:
            return say(
                "{best} before it at best; at worst the stop may never come about and the feed"
                " runs on",
                best=best,
            )
        return say(
            "{best} past it at best; at worst the stop may never come about and the feed runs on",
            best=best,
        )
    if margin.low < 0 <= margin.high:
        return say(
            "{past} past it to {before} before it",
            past=length(-margin.low, us),
            before=length(margin.high, us),
        )
    near, far = sorted((abs(margin.low), abs(margin.high)))
    unit_name, unit = length_unit(us)
    return say(
        "{near} to {far} {unit}",
        near=plain_number(near / unit),
        far=plain_number(far / unit),
        unit=unit_name,
    )
