"""One machine's part of a season's review."""

from __future__ import annotations

from collections.abc import Iterator

from tripmargin.ground.languages import say
from tripmargin.records.standing.drift_words import figures, trend_words
from tripmargin.records.standing.due import URGENCIES
from tripmargin.reports.paper.document import Block, Heading, Listed, Table, Words
from tripmargin.reports.paper.drift_drawings import drift_drawing
from tripmargin.reports.paper.season_log import MachineSeason, event_words


def machine_part(of: MachineSeason, us: bool) -> Iterator[Block]:
    """How it stands, its figures with interval and source, its charts, what it found."""
    glance = of.visit.glance
    yield Heading(of.name, level=1, new_page=True)
    yield Words(
        [say("State: {state}. Visit {number}: {urgency}.",
             state=glance.state_words, number=of.visit.place, urgency=of.visit.urgency_words)],
        strong=True,
    )  # fmt: skip
    yield Listed(glance.reasons)
    yield from _due(of)
    yield from _figures(of, us)
    yield from _charts(of, us)
    yield from _events(of, us)


def _due(of: MachineSeason) -> Iterator[Block]:
    due, signs = of.visit.glance.due, of.drifting.signs
    if due:
        headers = (say("Due"), say("How urgent"), say("Why"))
        rows = [(one.what_said, say(URGENCIES[one.urgency]), one.sentence) for one in due]
        yield Table(say("What is due"), headers, rows, shares=(16, 20, 62))
    if signs:
        yield Heading(say("Early signs in the season"))
        yield Listed([" ".join(one.evidence.split()) for one in signs])


def _figures(of: MachineSeason, us: bool) -> Iterator[Block]:
    told = figures(of.drifting, us)
    headers = (say("Figure"), say("Value"), say("Interval"), say("Source"))
    rows = [(one.name, one.value, one.interval, one.source) for one in told]
    yield Table(say("Figures of the season"), headers, rows, shares=(24, 18, 28, 34))
    notes = list(dict.fromkeys((*of.drifting.notes, *(n for one in told for n in one.notes))))
    if notes:
        yield Words(notes, small=True)


def _charts(of: MachineSeason, us: bool) -> Iterator[Block]:
    for one in of.drifting.measured:
        drawing = drift_drawing(of.name, one, us)
        if drawing is not None:
            yield drawing
        elif one.values and (said := trend_words(one, us)):
            yield Words([f"{one.name[:1].upper()}{one.name[1:]}: {said}"], small=True)


def _events(of: MachineSeason, us: bool) -> Iterator[Block]:
    if not of.events:
        yield Words([say("No trip, false trip, missed metal or new part was entered.")])
        return
    headers = (say("Day"), say("What"), say("As entered"))
    rows = [event_words(row, us) for row in of.events]
    yield Table(say("Trips, metal and parts"), headers, rows, shares=(13, 16, 70))
