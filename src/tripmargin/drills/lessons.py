"""What there is to learn from a drill that has ended: its moves beside those of the best route."""

from __future__ import annotations

from collections.abc import Iterable

from tripmargin.drills import moves as m
from tripmargin.drills.moves import Move
from tripmargin.drills.repeating import WELL
from tripmargin.drills.results import DrillResult
from tripmargin.drills.scoring import MENDED, NOT_MENDED
from tripmargin.drills.told import look_said, repair_said, said
from tripmargin.drills.would_it_stop_kinds import KINDS
from tripmargin.ground.languages import say, say_many

MANY = 1.5
"""From how many times the best route's minutes on time is worth a word; our own choice."""
MOST_NAMED = 3
LOSES_NOTHING = 99.95
"""Points from which on "100.0" is shown."""


def lessons_of(result: DrillResult) -> tuple[str, ...]:
    """What to do otherwise next time, what matters most first; never empty.

    Parameters
    ----------
    result : DrillResult

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> from tripmargin.drills import setting_drill
    >>> from datetime import datetime, UTC
    >>> drill = setting_drill(load_machine("dunlin"), seed=0)
    >>> for move in drill.best.moves:
    ...     _ = drill.move(move.do, move.what)
    >>> lessons_of(drill.result(when=datetime(2026, 11, 29, tzinfo=UTC)))
    ('Nothing went wrong. Take another drill.',)
    """
    found = [
        *_unsafe(result.moves), *_ended(result), *_modules(result.moves), *_looks(result),
        *_kinds(result),
    ]  # fmt: skip
    hints = sum(move.do == m.HINT for move in result.moves)
    if hints:
        found.append(
            say_many(
                "{count} card was asked for. Try the next drill without.",
                "{count} cards were asked for. Try the next drill without.",
                hints,
            )
        )
    score = result.score
    if not found and score.minutes > MANY * score.best_minutes:
        found.append(
            say(
                "It was done, in {minutes:.0f} min; the best route takes {best:.0f} min. Compare"
                " the two below, move by move.",
                minutes=score.minutes, best=score.best_minutes,
            )
        )  # fmt: skip
    elif not found and score.points < LOSES_NOTHING:
        found.append(_lost(result))
    return tuple(found) or (say("Nothing went wrong. Take another drill."),)


def _lost(result: DrillResult) -> str:
    """What took points where nothing else is to be said."""
    score = result.score
    if any(part.name == "cost" for part in score.parts) and score.parts[0].points >= LOSES_NOTHING:
        return say(
            "Nothing went wrong, but it took {minutes:.1f} min; the best route takes {best:.1f}"
            " min. Compare the two below, move by move.",
            minutes=score.minutes, best=score.best_minutes,
        )  # fmt: skip
    return say(
        "Nothing went wrong, but points are left: {points:.1f} of 100. The parts of the score"
        " say where they are.",
        points=score.points,
    )


def _unsafe(moves: Iterable[Move]) -> Iterable[str]:
    """Each caution that was broken, once."""
    for caution in dict.fromkeys(move.caution for move in moves if move.unsafe):
        yield say("Safety comes first, each time: {caution}", caution=said(caution))


def _ended(result: DrillResult) -> Iterable[str]:
    last = result.moves[-1]
    if last.do == m.HAND_OVER:
        yield say(
            "It was handed over. To know when one is stuck is right; see below how it goes on."
        )
    elif result.score.parts[0].points <= NOT_MENDED and last.do == m.DECLARE:
        yield say(
            "It was declared done, and was not. What the daily test or a measurement does not show"
            " is not proved: look again before the machine goes back to work."
        )


def _modules(moves: Iterable[Move]) -> Iterable[str]:
    for move in moves:
        if move.wrong_module:
            yield say(
                "{module} was replaced, and held nothing of the fault. Before a module is replaced,"
                " measure what feeds it and what it feeds.",
                module=repair_said(move.what),
            )


def _looks(result: DrillResult) -> Iterable[str]:
    """Looks of the best route that were never made, where the route was not found."""
    mine = {move.what for move in result.moves if move.do == m.LOOK and not move.unsafe}
    missed = [move.what for move in result.best if move.do == m.LOOK and move.what not in mine]
    dear = result.score.minutes > MANY * result.score.best_minutes
    if missed and (dear or result.score.parts[0].points < MENDED):
        yield say(
            "The best route looked here, and you did not: {looks}.",
            looks="; ".join(map(look_said, missed[:MOST_NAMED])),
        )


def _kinds(result: DrillResult) -> Iterable[str]:
    """Kinds of lesson of "would it stop?" that went wrong, the worst first."""
    for kind, points in sorted(result.by_kind, key=lambda each: each[1]):
        if points < WELL:
            words = say(KINDS[kind]) if kind in KINDS else kind
            yield say(
                "Look at this once more: {kind} ({points:.1f} of 100).", kind=words, points=points
            )
