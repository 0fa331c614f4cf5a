"""What a machine's log knows of how it was tried and how it stands, for its commissioning."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from tripmargin.pictures.words import said
from tripmargin.records.kinds import KINDS
from tripmargin.reports.paper.by_log import DOUBTFUL, NOT, ByLog
from tripmargin.reports.paper.commissioning import Trial
from tripmargin.reports.paper.entry_words import entry_words

if TYPE_CHECKING:
    from tripmargin.records.store.models import Machine

PROVING = {
    "daily check": 5,
    "test pass": 20,
    "trip": 10,
    "missed metal": 10,
    "stop time": 10,
    "adjustment": 10,
    "part replaced": 10,
}
"""Kinds of entries that say how a machine was tried or set, and how many of each, the newest.

A trip with the metal's place and metal that was missed try the whole chain, as no check does.
"""


def state_by_log_of(machine: Machine, now: datetime, *, us: bool = False) -> ByLog:
    """How a machine stands by its log alone. The records are open.

    A trip after which the metal lay closer to the shear bar than the proof allows makes it at best
    doubtful: that trip tried the whole chain, and the calculation does not hold for it. So do gaps
    that were measured apart from those of the file, which the calculation takes.
    """
    from tripmargin.records.standing.against_proof import closer_trips
    from tripmargin.records.standing.at_a_glance import glance_at
    from tripmargin.records.standing.gaps_in_file import all_words, to_be_filed
    from tripmargin.records.standing.state import state_by_log

    facts = glance_at(machine, now).facts
    stands = state_by_log(facts, now)
    against = [one.words(us=us) for one in closer_trips(machine)[:1]]
    apart = to_be_filed(facts, now)
    if apart:
        against.append(all_words(apart, us=us))
    state = DOUBTFUL if against and stands.state != NOT else stands.state
    return ByLog(state, (*against, *stands.reasons))


def trials_of(machine: Machine, *, us: bool = False) -> list[Trial]:
    """The newest entries in force that say how a machine was tried or set, newest first.

    The records are open.
    """
    from tripmargin.records.standing.in_force import NEWEST_FIRST, entries_in_force

    found = [
        entry
        for kind, most in PROVING.items()
        for entry in entries_in_force(machine, kind).order_by(*NEWEST_FIRST)[:most]
    ]
    found.sort(key=lambda one: (one.at, one.pk), reverse=True)
    return [
        Trial(
            one.at,
            said(KINDS[one.kind].title),
            entry_words(one.kind, one.values, us) + (f". {one.note}" if one.note else ""),
            one.who_name,
        )
        for one in found
    ]
