"""The answers that stand above each picture, in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.ground.units import percent
from tripmargin.pictures.blind_spots import clusters_of, where
from tripmargin.pictures.data import BlindLike, ProtectionMapLike, RaceLike, ReachLike
from tripmargin.pictures.margins import rest_words, too_large
from tripmargin.pictures.trade_words import piece_title, piece_words
from tripmargin.pictures.words import chance, length, speed

MOST_BLIND = 3  # stretches that are told one by one


def map_answers(pm: ProtectionMapLike, us: bool) -> list[str]:
    """Longest protected cut and smallest protected ball, or that nothing is protected."""
    sure, piece = percent(pm.confidence), piece_words(pm.must_stop)
    if pm.longest_protected_cut is not None:
        first = _protected_cuts(pm, pm.longest_protected_cut, us)
    elif float(np.max(pm.protected)) < pm.confidence:
        first = say(
            "No protected region: nothing on this map is protected at {confidence}.",
            confidence=sure,
        )
    elif pm.must_stop_diameter is None:
        first = say("The map is about balls; it does not judge the {piece}.", piece=piece)
    else:
        first = say(
            "No cut length is protected at {confidence} for the {piece}.",
            confidence=sure,
            piece=piece,
        )
    if pm.smallest_protected_ball is None:
        return [first]
    ball = length(pm.smallest_protected_ball, us)
    return [first, say("Smallest protected ball: {ball}.", ball=ball)]


def _protected_cuts(pm: ProtectionMapLike, longest: float, us: bool) -> str:
    """The longest protected cut; a span where the piece is not seen well enough at shorter ones."""
    shortest, piece = shortest_protected_cut(pm, longest), piece_words(pm.must_stop)
    to, sure = length(longest, us), percent(pm.confidence)
    if longest >= np.max(pm.cut_lengths):
        to = say("{cut} (the end of this map)", cut=to)
    if shortest is None:
        return say(
            "Longest protected cut for the {piece}: {cut}, at {confidence}.",
            piece=piece,
            cut=to,
            confidence=sure,
        )
    return say(
        "Protected cuts for the {piece}: {shortest} to {longest}, at {confidence}."
        " Shorter ones are not.",
        piece=piece,
        shortest=length(shortest, us),
        longest=to,
        confidence=sure,
    )


def shortest_protected_cut(pm: ProtectionMapLike, longest: float) -> float | None:
    """Where the protected cuts below the longest begin, m; None: at the map's edge, or not known.

    Read off the map for the piece to stop, linear between its grid values.
    """
    size, balls = pm.must_stop_diameter, np.log(np.asarray(pm.diameters, dtype=float))
    if size is None or not balls.min() <= np.log(size) <= balls.max():
        return None
    rising, order = np.argsort(balls), np.argsort(pm.cut_lengths)
    cuts = np.asarray(pm.cut_lengths, dtype=float)[order]
    rows = np.asarray(pm.protected, dtype=float)[order][:, rising]
    sure = np.array([np.interp(np.log(size), balls[rising], row) for row in rows]) - pm.confidence
    protected = np.flatnonzero((sure >= 0) & (cuts <= longest))
    if not len(protected):
        return None
    gaps = np.flatnonzero(sure[: protected[-1]] < 0)
    if not len(gaps):
        return None
    k = gaps[-1]
    return float(cuts[k] + (cuts[k + 1] - cuts[k]) * sure[k] / (sure[k] - sure[k + 1]))


def race_answers(race: RaceLike, us: bool) -> list[str]:
    """Where the metal comes to rest, and the chance that it goes through."""
    what = _what_comes(race, us)
    through = say("Chance that it goes through: {chance}.", chance=chance(race.probability_through))
    if too_large(race.notes):
        first = say("{piece}: too large to pass between the rolls, so no margin holds.", piece=what)
        return [first, *race.notes]
    if race.margin is None:
        if race.probability_through >= 1:
            first = say(
                "{piece}: not caught with every input at its middle, so it goes through.",
                piece=what,
            )
            return [first]
        first = say(
            "{piece}: with every input at its middle it is not caught. Tolerances and noise decide"
            " whether it is, and the chance counts them.",
            piece=what,
        )
        return [first, through]
    rests = rest_words(race.margin, us)
    return [say("{piece}: {rests}.", piece=what, rests=rests), through]


def _what_comes(race: RaceLike, us: bool) -> str:
    """The piece, its place, and the cut."""
    place, cut = place_words(race, us), length(race.cut_length, us)
    if race.piece is None:
        piece = say("Metal that trips above the sensor's axis")
    else:
        piece = piece_title(race.piece)
    if not place:
        return say("{piece}, {cut} cut", piece=piece, cut=cut)
    return say("{piece} at {place}, {cut} cut", piece=piece, place=place, cut=cut)


def place_words(race: RaceLike, us: bool) -> str:
    """Where a race's piece comes: across the roll and above it; empty without a piece."""
    if race.x is None or race.height is None:
        return ""
    return say("x {x}, height {height}", x=length(race.x, us), height=length(race.height, us))


def reach_answers(reach: ReachLike, us: bool) -> list[str]:
    """Which balls are seen, how widely the piece to stop is, and what is blind."""
    balls = np.asarray(reach.smallest_ball, dtype=float)
    seen = balls[np.isfinite(balls)]
    at = say("At {speed}", speed=speed(reach.speed, us))
    if reach.probability is not None:
        at = say(
            "At {speed}, caught {share} of the time",
            speed=speed(reach.speed, us),
            share=percent(reach.probability),
        )
    if not len(seen):
        return [say("{at}: no ball is seen anywhere.", at=at)]
    low, high = (length(float(end), us, 2) for end in (seen.min(), seen.max()))
    if low == high:
        answers = [say("{at}: the smallest ball seen is {size}.", at=at, size=low)]
    else:
        answers = [
            say(
                "{at}: the smallest ball seen runs from {low} to {high}.",
                at=at,
                low=low,
                high=high,
            )
        ]
    size = reach.must_stop_diameter
    if size is not None:
        answers.append(_where_seen(length(size, us), float(np.mean(balls <= size))))
    if reach.blind:
        answers.append(_blind(clusters_of(reach.blind), us))
    return answers


def _where_seen(ball: str, share: float) -> str:
    """At how many of all places and heights the ball to stop is seen."""
    if share <= 0:
        return say("The {ball} ball is seen nowhere.", ball=ball)
    if share >= 1:
        return say("The {ball} ball is seen everywhere.", ball=ball)
    return say(
        "The {ball} ball is seen at {share} of places and heights.",
        ball=ball,
        share=percent(share),
    )


def _blind(clusters: Sequence[Sequence[BlindLike]], us: bool) -> str:
    """The blind stretches, the first few one by one."""
    places = "; ".join(where(cluster, us) for cluster in clusters[:MOST_BLIND])
    more = len(clusters) - MOST_BLIND
    if more <= 0:
        return say("Blind: {places}.", places=places)
    return say("Blind: {places}; and {more} more.", places=places, more=more)
