"""A drill in words: what may be done, what came of a move, the score, the two routes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tripmargin import drills as d
from tripmargin.cli.case_screen import Lines

if TYPE_CHECKING:
    from tripmargin.faultfinding import MachineProblem

HELP = (
    ("look NAME", "look, listen or measure; by name or number (look 12)"),
    ("go STATE", "bring the machine into a state: turn the key, shift the feed"),
    ("mend NAME", "mend or replace a part"),
    ("test", "make the daily test"),
    ("done", "declare the machine mended: ends the drill"),
    ("hint", "the best next card; costs 5 % of the points"),
    ("hand over", "give the machine to somebody else: ends the drill"),
    ("looks, looks all", "the looks in this state; all of them"),
    ("states", "the states of the machine"),
    ("repairs", "what can be mended"),
    ("so far", "what was done, and its minutes"),
    ("quit", "leave; half a drill is not kept"),
)


def help_lines() -> list[str]:
    """What may be typed."""
    lines = Lines()
    for word, meaning in HELP:
        lines.write(meaning, f"  {word:<18}", " " * 20)
    lines.write("A number alone picks from the list that was shown last.")
    return lines.all


def look_lines(of: MachineProblem, at: int, every: bool) -> list[str]:
    """Looks with their numbers: those of a state, or all."""
    lines, here = Lines(), of.problem.states[at]
    for number, name in enumerate(d.looks_of(of), 1):
        question = of.questions[name]
        if not every and question.state != here:
            continue
        said = name if every else question.subject
        kind = "" if question.kind in said else f", {question.kind}"
        lines.write(f"{said}{kind} [{question.minutes:.1f} min]", f"  {number:>3}  ")
    if not lines.all:
        lines.write("There is no look in this state.")
    return lines.all


def state_lines(of: MachineProblem, at: int) -> list[str]:
    """States with their numbers, and the minutes from here."""
    lines = Lines()
    for number, state in enumerate(of.states, 1):
        how = "engine runs" if state.running else "key on" if state.live else "at rest"
        minutes = f"{of.problem.move[at, number - 1]:.1f} min"
        here = "the machine stands here" if number - 1 == at else minutes
        lines.write(f"{state.name} ({how}) [{here}]", f"  {number:>3}  ")
    return lines.all


def repair_lines(of: MachineProblem) -> list[str]:
    """Repairs with their numbers and what they take."""
    lines = Lines()
    for number, name in enumerate(d.repairs_of(of), 1):
        work = of.works[name]
        module = "; a module, replaced whole" if work.module else ""
        parts = f", parts at a price of {work.price:g}" if work.price else ""
        text = f"{name}: {work.do.partition('. ')[0].rstrip('.')}"
        lines.write(f"{text} [{work.minutes:.0f} min{parts}{module}]", f"  {number:>3}  ")
    return lines.all


def move_words(move: d.Move) -> str:
    """A move in one sentence, with its minutes."""
    what = move.what.removeprefix("mend ") if move.do == d.MEND else move.what
    pawl, _, number = move.what.rpartition(" ")
    text = {
        d.SECURE: "at rest, rolls blocked",
        d.MEASURE: f"measure: {what}",
        d.TURN: f"turn: {pawl}, {turned(number)}",
        d.PLACE: f"place: {pawl}, {placed(number)}",
        d.GO: f"into: {what}",
        d.LOOK: f"look: {what}",
        d.MEND: f"mend: {what}",
        d.TEST: "daily test",
        d.HINT: "hint",
        d.DECLARE: "declared done",
        d.HAND_OVER: "handed over",
    }[move.do]
    told = move.do in (d.LOOK, d.TEST, d.MEASURE) or move.unsafe
    came = f" = {move.came}" if told else ""
    minutes = f" [{move.minutes:.1f} min]" if move.minutes else ""
    return f"{text}{came}{minutes}"


def turned(number: str) -> str:
    """Turns of a clevis: above zero they open the gap.

    >>> turned("-1.5"), turned("x")
    ('1.5 turns to close', 'x')
    """
    try:
        turns = float(number)
    except ValueError:
        return number
    way = "open" if turns > 0 else "close"
    return f"{abs(turns):.3g} turn{'' if abs(turns) == 1 else 's'} to {way}"


def placed(number: str) -> str:
    """The gap that a clamp is placed at, from metres."""
    from tripmargin.stopping.setting.step_words import gap_words

    try:
        return gap_words(float(number))
    except ValueError:
        return number


def route_lines(title: str, moves: Sequence[d.Move]) -> list[str]:
    """A route, move by move."""
    lines = Lines()
    total = sum(move.minutes for move in moves)
    lines.rule(f"{title}: {total:.1f} min, parts as time")
    for number, move in enumerate(moves, 1):
        lines.write(move_words(move), f"{number:>4}  ", " " * 6)
    return lines.all


def score_lines(score: d.Score) -> list[str]:
    """The score, part by part."""
    lines = Lines()
    lines.rule("Score")
    for part in score.parts:
        lines.write(f"{part.name}: {part.why}", f"{part.points:>+7.1f}  ", " " * 9)
    lines.write("points of 100", f"{score.points:>7.1f}  ")
    return lines.all


def end_lines(result: d.DrillResult) -> list[str]:
    """What was hidden, the score, one's own route and the best one."""
    lines = Lines()
    lines.rule("The end")
    lines.write(f"Hidden was: {result.said}.")
    whose = "the planner's own" if result.kind == d.SETTING else "the cards' own"
    return [
        *lines.all,
        *score_lines(result.score),
        *route_lines("Your route", result.moves),
        *route_lines(f"The best route, {whose}", result.best),
    ]
