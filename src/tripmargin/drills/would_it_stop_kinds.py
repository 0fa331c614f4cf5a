"""What there is to learn from a piece that is missed, too late or protected: the kind of lesson."""

from __future__ import annotations

from dataclasses import dataclass, replace

from tripmargin.drills.would_it_stop_answers import PROTECTED, Chances
from tripmargin.drills.would_it_stop_races import Races, Situation
from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later
from tripmargin.ground.tables import material
from tripmargin.machine import Machine
from tripmargin.protection import Race
from tripmargin.sensing import Piece

NOT_FERROUS, SLOW_FEED, WEAK_PLACE = "not ferrous", "slow feed", "weak place"
SMALL_PIECE, FAST_FEED, LONG_STOP, IN_TIME = "small piece", "fast feed", "long stop", "in time"
KINDS = {
    NOT_FERROUS: later("not ferrous"),
    SLOW_FEED: later("slow feed"),
    WEAK_PLACE: later("weak place"),
    SMALL_PIECE: later("small piece"),
    FAST_FEED: later("fast feed"),
    LONG_STOP: later("long stop"),
    IN_TIME: later("in time"),
}
"""Each kind with its words."""
_EVEN = 0.5


@dataclass(frozen=True, slots=True)
class Better:
    """What would have saved the knives, and the race with it.

    Attributes
    ----------
    what : str
        "cut", "place" or "settings": another cut; over a magnet; as the machine's file has it.
        "none": nothing; the race is at the longest cut at which it is missed instead.
    race : Race
    """

    what: str
    race: Race


def kind_of(
    races: Races, situation: Situation, chances: Chances, region: str
) -> tuple[str, Better | None]:
    """The lesson of a situation, and what would have been better.

    Parameters
    ----------
    races : Races
    situation : Situation
    chances : tuple of 3 floats
        Missed, too late, protected.
    region : str
        What the map calls it.

    Notes
    -----
    Of what is not surely protected the likelier way of failing decides. A piece that is missed is
    about slow feed if it would be seen at a longer cut on offer; else about its place if it would
    be seen over the first magnet at the middle height; else it is small. One that comes too late
    is about a long stop if the file's own settings would bring it in time, or if even the shortest
    cut on offer brings it too late; about fast feed if a shorter cut would bring it in time; and
    small if it is missed wherever it would not be too late.
    """
    if material(Piece.from_text(situation.piece).material).visible != "yes":
        return NOT_FERROUS, None
    if region == PROTECTED:
        return IN_TIME, None
    if chances[0] >= chances[1]:
        return _missed(races, situation)
    return _late(races, situation)


def _missed(races: Races, situation: Situation) -> tuple[str, Better | None]:
    best: Race | None = None
    for cut in reversed(cuts_on_offer(races.machine)):
        if cut <= situation.cut_length:
            break
        run = races.race(replace(situation, cut_length=cut))
        if run.probability_missed >= _EVEN:
            break  # at a shorter one it gives an even smaller signal
        if best is None or run.probability_through < best.probability_through:
            best = run
        if best.probability_through < _EVEN:
            break
    if best is not None:
        return SLOW_FEED, Better("cut", best)
    beside = races.race(replace(situation, x=None, height=None))
    if beside.probability_missed < _EVEN:
        return WEAK_PLACE, Better("place", beside)
    return SMALL_PIECE, None


def _late(races: Races, situation: Situation) -> tuple[str, Better | None]:
    if situation.settings:
        as_set = races.race(replace(situation, settings={}))
        if as_set.probability_through < _EVEN:
            return LONG_STOP, Better("settings", as_set)
    shorter = [c for c in cuts_on_offer(races.machine) if c < situation.cut_length]
    for cut in reversed(shorter):
        slower = races.race(replace(situation, cut_length=cut))
        if slower.probability_through < _EVEN:
            return FAST_FEED, Better("cut", slower)
        if slower.probability_missed >= _EVEN:
            return SMALL_PIECE, Better("none", slower)
    return LONG_STOP, None


def cuts_on_offer(machine: Machine) -> tuple[float, ...]:
    """The cut lengths that a machine offers, m, shortest first.

    Raises
    ------
    NotKnownError
        If its file names none.
    """
    cuts = () if machine.feed is None else machine.feed.cut_lengths
    if not cuts:
        raise NotKnownError(later("would it stop?"), ("feed.cut_lengths",))
    return tuple(sorted(cuts))
