"""What somebody practised: a certificate of the drills that were played, and no licence."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import Any

from tripmargin.drills import SETTING, WOULD_IT_STOP, DrillResult, Practised, practised
from tripmargin.drills.teaching import in_a_line
from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import language, later, say, say_many
from tripmargin.pictures.words import said
from tripmargin.reports.paper.document import Block, Document, Heading, Table, Verdict, Words
from tripmargin.reports.paper.reading import ReportError
from tripmargin.reports.paper.signing import facts_table, opening, to_sign

KIND = "training"
MOST_NAMES = 6
ROLES = (later("Practised by"), later("Trainer"))
NO_LICENCE = later(
    "This says what was practised on a model of a machine. It is no licence and no proof of skill:"
    " it gives nobody leave to work on a machine. Instruction at the machine, the operator's"
    " manual, local codes and licensed practice come first."
)
POINTS = later(
    "Points go up to 100: that is the best route. Time beyond the best route, modules replaced in"
    " vain, hints and unsafe moves take points, and an unsafe move takes the most. The shares are"
    " our own choice, no source. Minutes are those of the model, parts counted as time."
)
BOXES = later(
    "What went wrong comes again sooner. A kind goes one box up each time that it went well, and"
    " back to the first when it did not; each box waits twice as long as the one before."
)


def training_record(
    results: Sequence[DrillResult],
    *,
    made: datetime,
    name: str = "",
    others: Sequence[str] = (),
    after: Sequence[DrillResult] = (),
    by: str = "",
    paper: str = "a4",
) -> Document:
    """The record of what one person practised.

    Parameters
    ----------
    results : sequence of DrillResult
        In any order; a result that is there twice counts once.
    made : datetime
        With its zone.
    name : str
        Whose record it is; only results of this name count. Without it all must be of one name.
    others : sequence of str
        Names of whom there are results that were not given, to be told where none is of `name`.
    after : sequence of DrillResult
        Of `results`, those that ended after the answer was shown to a class: their points say
        nothing, so they are marked and not in the mean.
    by, paper
        As in `commissioning_report`.

    Raises
    ------
    ReportError
        If no result is of that name, or if results of several names are given without one.
    """
    mine = _of_one(results, name.strip(), others)
    who = mine[0].name
    blocks = [*opening(()), *record_blocks(mine, after=after, by=by)]
    title = say("Training record: {who}", who=who or say("nobody named"))
    data = record_data(mine, after)
    return Document(KIND, title, who, made, by, language(), blocks, data, paper)


def record_blocks(
    mine: Sequence[DrillResult],
    *,
    after: Sequence[DrillResult],
    by: str,
    taught: Sequence[tuple[str, str]] = (),
) -> Iterator[Block]:
    """The record of one person's results, oldest first; what opens a report is not in it.

    `taught`: facts about the class that all of them are from.
    """
    who = mine[0].name
    days = [_day(one) for one in mine]
    unsafe = sum(move.unsafe for one in mine for move in one.moves)
    mean = mean_points(mine, after)
    late = sum(one in after for one in mine)
    count = say_many("{count} drill", "{count} drills", len(mine))
    yield Verdict(
        say("{who} practised {count}.", who=who or say("Nobody named"), count=count),
        [say("From {first} to {last}.", first=min(days), last=max(days)), say(NO_LICENCE)],
    )
    yield facts_table(
        (
            *taught,
            (say("Drills"), f"{len(mine)}"),
            (say("Machines"), ", ".join(sorted({one.machine for one in mine}))),
            (
                say("Points on average, of 100"),
                say("none") if mean is None else say("{points:.1f}", points=mean),
            ),
            (say("Ended after the answer was shown, not in the mean"), f"{late}" if late else ""),
            (say("Unsafe moves, all refused"), f"{unsafe}"),
            (say("Record made by"), by),
        )
    )
    yield from _played(mine, after)
    yield from _broken(mine)
    yield from _kinds(mine)
    yield Heading(say("Signed"), level=1)
    yield to_sign([say(role) for role in ROLES])


def mean_points(mine: Sequence[DrillResult], after: Sequence[DrillResult]) -> float | None:
    """Points on average, of 100, over the drills that compare; None where there are none."""
    points = [one.score.points for one in mine if one not in after]
    return sum(points) / len(points) if points else None


def record_data(mine: Sequence[DrillResult], after: Sequence[DrillResult]) -> dict[str, Any]:
    """The numbers of one person's record."""
    return {
        "name": mine[0].name,
        "drills": [one.to_dict() for one in mine],
        "after_the_answer": [one in after for one in mine],
        "practised": [one.to_dict() for one in practised(mine)],
    }


def _of_one(results: Sequence[DrillResult], name: str, others: Sequence[str]) -> list[DrillResult]:
    """The results of one person, the oldest first, each once."""
    found = sorted(results, key=lambda one: (_at(one), one.machine, one.seed))
    names = list(dict.fromkeys(one.name for one in found))
    if name:
        mine = [one for one in found if one.name.casefold() == name.casefold()]
        if not mine:
            # What is like the name that was asked for must not be cut off.
            there = dict.fromkeys((*names, *others))
            alike = sorted(there, key=lambda one: name.casefold() not in one.casefold())
            raise ReportError(
                say(
                    'No result is of "{name}".\n  Names in the results: {names}.',
                    name=shortened(name),
                    names=_some(alike),
                )
            )
    elif len(names) > 1:
        raise ReportError(
            say(
                "The results are of several people: {names}.\n"
                "  A record is of one person: say whose, with --person NAME.",
                names=_some(names),
            )
        )
    else:
        mine = found
    if not mine:
        raise ReportError(
            say(
                "There is no result of a drill.\n"
                "  Give files that `tripmargin drill --save` wrote, or --from-log with --person."
            )
        )
    return each_once(mine)


def each_once(results: Sequence[DrillResult]) -> list[DrillResult]:
    """Results, the oldest first; one that is there twice counts once."""
    found = sorted(results, key=lambda one: (_at(one), one.machine, one.seed))
    return [one for k, one in enumerate(found) if one not in found[:k]]


def _some(names: Sequence[str]) -> str:
    shown = [shortened(one) or say("nobody named") for one in names[:MOST_NAMES]]
    return ", ".join(shown) + (" ..." if len(names) > MOST_NAMES else "") or say("none")


def _played(mine: Sequence[DrillResult], after: Sequence[DrillResult]) -> Iterator[Block]:
    yield Heading(say("Drills, in the order in which they were played"), level=1)
    yield Words([say(POINTS)], small=True)
    headers = (
        say("Day"), say("Machine"), say("Drill"), say("Points"), say("Minutes"),
        say("Best route, min"), say("Unsafe"), say("Seed"),
    )  # fmt: skip
    rows = [
        (
            _day(one),
            one.machine,
            say("{drill} (after the answer was shown)", drill=drill_words(one))
            if one in after
            else drill_words(one),
            say("{points:.1f}", points=one.score.points),
            say("{minutes:.1f}", minutes=one.score.minutes),
            say("{minutes:.1f}", minutes=one.score.best_minutes),
            f"{sum(move.unsafe for move in one.moves)}",
            f"{one.seed}",
        )
        for one in mine
    ]
    yield Table("", headers, rows, numbers=(3, 4, 5, 6, 7), shares=(13, 14, 38, 9, 10, 11, 9, 9))


def _broken(mine: Sequence[DrillResult]) -> Iterator[Block]:
    """Which cautions the unsafe moves broke, and how often."""
    moves = [move for one in mine for move in one.moves if move.unsafe]
    counted = Counter(in_a_line(move.caution) for move in moves)
    if not counted:
        return
    yield Heading(say("Cautions that were broken; the moves were refused"), level=1)
    headers = (say("Caution"), say("Times"))
    yield Table("", headers, [(words, f"{count}") for words, count in counted.most_common()],
                numbers=(1,))  # fmt: skip


def drill_words(result: DrillResult) -> str:
    """What a drill was: pawls set, metal judged, or which fault was hidden."""
    if result.kind == SETTING:
        return say("Pawls set with a feeler")
    if result.kind == WOULD_IT_STOP:
        return say("Would it stop? Metal judged on the protection map")
    return say("A hidden fault: {fault}", fault=said(result.said))


def _kinds(mine: Sequence[DrillResult]) -> Iterator[Block]:
    yield Heading(say("Kinds practised, and when each is due again"), level=1)
    yield Words([say(BOXES)], small=True)
    headers = (say("Kind"), say("Machine"), say("Box, of 5"), say("Due again"))
    rows = [
        (_kind_words(one), one.machine, f"{one.box}", f"{one.due:%Y-%m-%d}")
        for one in practised(mine)
    ]
    yield Table("", headers, rows, numbers=(2,))


def _kind_words(one: Practised) -> str:
    """What was practised: a kind of fault has no words of its own but the fault last hidden."""
    if one.kind == SETTING:
        return say("Pawls set with a feeler")
    if one.kind == one.said:
        return said(one.kind)
    return say("A hidden fault, last: {fault}", fault=said(one.said))


def _at(result: DrillResult) -> datetime:
    at = datetime.fromisoformat(result.when)
    return at if at.tzinfo is not None else at.replace(tzinfo=UTC)


def _day(result: DrillResult) -> str:
    return f"{_at(result):%Y-%m-%d}"
