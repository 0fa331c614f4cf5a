"""The answers that stand above each picture, in plain sentences."""

from __future__ import annotations

import numpy as np

from tripmargin.ground.units import percent
from tripmargin.pictures.blind_spots import clusters_of, where
from tripmargin.pictures.data import ProtectionMapLike, RaceLike, ReachLike
from tripmargin.pictures.margins import rest_words, too_large
from tripmargin.pictures.words import chance, length, speed

MOST_BLIND = 3  # stretches that are told one by one


def map_answers(pm: ProtectionMapLike, us: bool) -> list[str]:
    """Longest protected cut and smallest protected ball, or that nothing is protected."""
    sure = f"at {percent(pm.confidence)}"
    if pm.longest_protected_cut is not None:
        first = _protected_cuts(pm, pm.longest_protected_cut, us)
    elif float(np.max(pm.protected)) < pm.confidence:
        first = f"No protected region: nothing on this map is protected {sure}."
    elif pm.must_stop_diameter is None:
        first = f"The map is about balls; it does not judge the {pm.must_stop}."
    else:
        first = f"No cut length is protected {sure} for the {pm.must_stop}."
    if pm.smallest_protected_ball is None:
        return [first]
    return [first, f"Smallest protected ball: {length(pm.smallest_protected_ball, us)}."]


def _protected_cuts(pm: ProtectionMapLike, longest: float, us: bool) -> str:
    """The longest protected cut; a span where the piece is not seen well enough at shorter ones."""
    sure, shortest = f"at {percent(pm.confidence)}", shortest_protected_cut(pm, longest)
    end = " (the end of this map)" if longest >= np.max(pm.cut_lengths) else ""
    if shortest is None:
        return f"Longest protected cut for the {pm.must_stop}: {length(longest, us)}{end}, {sure}."
    span = f"{length(shortest, us)} to {length(longest, us)}{end}"
    return f"Protected cuts for the {pm.must_stop}: {span}, {sure}. Shorter ones are not."


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
    piece = race.piece or "metal that trips above the sensor's axis"
    place = f" at {where_it_is}" if (where_it_is := place_words(race, us)) else ""
    at = f"{piece[0].upper()}{piece[1:]}{place}, {length(race.cut_length, us)} cut"
    through = f"Chance that it goes through: {chance(race.probability_through)}."
    if too_large(race.notes):
        return [f"{at}: too large to pass between the rolls, so no margin holds.", *race.notes]
    if race.margin is None:
        first = f"{at}: not caught with every input at its middle, so it goes through."
        return [first] if race.probability_through >= 1 else [first, through]
    return [f"{at}: {rest_words(race.margin, us)}.", through]


def place_words(race: RaceLike, us: bool) -> str:
    """Where a race's piece comes: across the roll and above it; empty without a piece."""
    if race.x is None or race.height is None:
        return ""
    return f"x {length(race.x, us)}, height {length(race.height, us)}"


def reach_answers(reach: ReachLike, us: bool) -> list[str]:
    """Which balls are seen, how widely the piece to stop is, and what is blind."""
    balls = np.asarray(reach.smallest_ball, dtype=float)
    seen = balls[np.isfinite(balls)]
    sure = "" if reach.probability is None else f", caught {percent(reach.probability)} of the time"
    at = f"At {speed(reach.speed, us)}{sure}"
    if not len(seen):
        return [f"{at}: no ball is seen anywhere."]
    low, high = (length(float(end), us, 2) for end in (seen.min(), seen.max()))
    span = f"runs from {low} to {high}" if low != high else f"is {low}"
    answers = [f"{at}: the smallest ball seen {span}."]
    size = reach.must_stop_diameter
    if size is not None:
        share = float(np.mean(balls <= size))
        extent = {0.0: "nowhere", 1.0: "everywhere"}.get(
            share, f"at {percent(share)} of places and heights"
        )
        answers.append(f"The {length(size, us)} ball is seen {extent}.")
    if reach.blind:
        clusters = clusters_of(reach.blind)
        named = "; ".join(where(cluster, us) for cluster in clusters[:MOST_BLIND])
        more = len(clusters) - MOST_BLIND
        answers.append(f"Blind: {named}{f'; and {more} more' if more > 0 else ''}.")
    return answers
