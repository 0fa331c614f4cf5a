"""A drill in words: what may be done, what came of a move, the score, the two routes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tripmargin import drills as d
from tripmargin.cli.case_screen import Lines
from tripmargin.drills.move_words import parts_shown
from tripmargin.drills.told import found_said, look_said, repair_said
from tripmargin.ground.languages import later, numeral, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.stopping.pawl_words import pawl_words

if TYPE_CHECKING:
    from tripmargin.faultfinding import MachineProblem

HELP = (
    ("look NAME", later("look, listen or measure; by name or number (look 12)")),
    ("go STATE", later("bring the machine into a state: turn the key, shift the feed")),
    ("mend NAME", later("mend or replace a part")),
    ("test", later("make the daily test")),
    ("done", later("declare the machine mended: ends the drill")),
    ("hint", later("the best next card; costs 5 % of the points")),
    ("hand over", later("give the machine to somebody else: ends the drill")),
    ("looks, looks all", later("the looks in this state; all of them")),
    ("states", later("the states of the machine")),
    ("repairs", later("what can be mended")),
    ("so far", later("what was done, and its minutes")),
    ("quit", later("leave; half a drill is not kept")),
)
AT_REST, KEY_ON, RUNNING = later("at rest"), later("key on"), later("engine runs")
LOOK_KINDS = {
    "lamp": later("lamp"),
    "buzzer": later("buzzer"),
    "movement": later("movement"),
    "volts": later("volts"),
    "ohms": later("ohms"),
    "fuse": later("fuse"),
    "relay": later("relay"),
    "pawl clearance": later("pawl clearance"),
    "pawl springs": later("pawl springs"),
    "plunger": later("plunger"),
    "linkage": later("linkage"),
    "roll magnetism": later("roll magnetism"),
    "test piece": later("test piece"),
    "empty run": later("empty run"),
    "stop time": later("stop time"),
}
"""Kinds of looks, by the words of the machine file."""
_ALONE = {
    d.SECURE: later("at rest, rolls blocked"),
    d.TEST: later("daily test"),
    d.HINT: later("hint"),
    d.DECLARE: later("declared done"),
    d.HAND_OVER: later("handed over"),
}
_ALONE_FIRST = {
    d.SECURE: later("At rest, rolls blocked"),
    d.DECLARE: later("Declared done"),
    d.HAND_OVER: later("Handed over"),
}
"""The same where a sentence begins with it."""


def help_lines() -> list[str]:
    """What may be typed."""
    lines = Lines()
    for word, meaning in HELP:
        lines.write(say(meaning), f"  {word:<18}", " " * 20)
    lines.write(say("A number alone picks from the list that was shown last."))
    return lines.all


def look_lines(of: MachineProblem, at: int, every: bool) -> list[str]:
    """Looks with their numbers: those of a state, or all."""
    lines, here = Lines(), of.problem.states[at]
    for number, name in enumerate(d.looks_of(of), 1):
        question = of.questions[name]
        if not every and question.state != here:
            continue
        values = {
            "look": look_said(name) if every else question.about,
            "kind": say(LOOK_KINDS.get(question.kind, question.kind)),
            "minutes": question.minutes,
        }
        if question.kind in (name if every else question.subject):
            text = say("{look} [{minutes:.1f} min]", **values)
        else:
            text = say("{look}, {kind} [{minutes:.1f} min]", **values)
        lines.write(text, f"  {number:>3}  ")
    if not lines.all:
        lines.write(say("There is no look in this state."))
    return lines.all


def state_lines(of: MachineProblem, at: int) -> list[str]:
    """States with their numbers, and the minutes from here."""
    lines = Lines()
    for number, state in enumerate(of.states, 1):
        how = say(RUNNING if state.running else KEY_ON if state.live else AT_REST)
        name = as_written(state.name)
        if number - 1 == at:
            text = say("{state} ({how}) [the machine stands here]", state=name, how=how)
        else:
            minutes = float(of.problem.move[at, number - 1])
            text = say("{state} ({how}) [{minutes:.1f} min]", state=name, how=how, minutes=minutes)
        lines.write(text, f"  {number:>3}  ")
    return lines.all


def repair_lines(of: MachineProblem) -> list[str]:
    """Repairs with their numbers and what they take."""
    lines = Lines()
    for number, name in enumerate(d.repairs_of(of), 1):
        work = of.works[name]
        takes = say("{minutes:.0f} min", minutes=work.minutes)
        if work.price:
            takes = say(
                "{minutes:.0f} min, parts at a price of {price:g}",
                minutes=work.minutes, price=work.price,
            )  # fmt: skip
        if work.module:
            takes = say("{note}; a module, replaced whole", note=takes)
        text = say(
            "{repair}: {do} [{takes}]", repair=_repair_name(name),
            do=work.do.partition(". ")[0].rstrip("."), takes=takes,
        )  # fmt: skip
        lines.write(text, f"  {number:>3}  ")
    return lines.all


def _repair_name(name: str) -> str:
    """A repair as the list calls it, and as it may be typed."""
    part = name.removeprefix("mend ")
    return say("mend {part}", part=repair_said(name)) if part != name else as_written(name)


def move_words(move: d.Move, *, us: bool = False) -> str:
    """A move in one line, with its minutes."""
    return _with_minutes(_done_words(move, us), move, us)


def move_sentence(move: d.Move, *, us: bool = False) -> str:
    """The same as a sentence of its own."""
    return say("{move}.", move=_with_minutes(_first_words(move, us), move, us))


def _with_minutes(text: str, move: d.Move, us: bool) -> str:
    if move.do in (d.LOOK, d.TEST, d.MEASURE) or move.unsafe:
        text = say("{move} = {came}", move=text, came=came_words(move, us=us))
    if not move.minutes:
        return text
    return say("{move} [{minutes:.1f} min]", move=text, minutes=move.minutes)


def _done_words(move: d.Move, us: bool) -> str:
    pawl, _, number = move.what.rpartition(" ")
    pawl = pawl_words(pawl)
    if move.do == d.TURN:
        return say("turn: {pawl}, {turns}", pawl=pawl, turns=turned(number))
    if move.do == d.PLACE:
        return say("place: {pawl}, {gap}", pawl=pawl, gap=placed(number, us=us))
    if move.do == d.MEASURE:
        return say("measure: {pawl}", pawl=pawl_words(move.what))
    if move.do == d.GO:
        return say("into: {state}", state=as_written(move.what))
    if move.do == d.LOOK:
        return say("look: {look}", look=look_said(move.what))
    if move.do == d.MEND:
        return say("mend: {part}", part=repair_said(move.what))
    return say(_ALONE[move.do])


def _first_words(move: d.Move, us: bool) -> str:
    pawl, _, number = move.what.rpartition(" ")
    pawl = pawl_words(pawl)
    if move.do == d.TURN:
        return say("Turn: {pawl}, {turns}", pawl=pawl, turns=turned(number))
    if move.do == d.PLACE:
        return say("Place: {pawl}, {gap}", pawl=pawl, gap=placed(number, us=us))
    if move.do == d.MEASURE:
        return say("Measure: {pawl}", pawl=pawl_words(move.what))
    return say(_ALONE_FIRST[move.do])


def came_words(move: d.Move, *, us: bool = False) -> str:
    """What came of a move, by what it is kept by."""
    if move.unsafe:
        return say("refused: not safe")
    if move.do == d.LOOK:
        return found_said(move.came, move.what.partition(": ")[2])
    if move.do == d.TEST:
        step = move.came.rpartition(" at step ")[2]
        return say("failed at step {step}", step=step) if move.came != "passed" else say("passed")
    return gap_said(move.came)


def turned(number: str) -> str:
    """Turns of a clevis: above zero they open the gap.

    >>> turned("-1.5"), turned("x")
    ('1.5 turns to close', 'x')
    """
    try:
        turns = float(number)
    except ValueError:
        return number
    one = abs(turns) == 1
    if turns > 0:
        return say("1 turn to open") if one else say("{turns:.3g} turns to open", turns=turns)
    return say("1 turn to close") if one else say("{turns:.3g} turns to close", turns=-turns)


def placed(number: str, *, us: bool = False) -> str:
    """The gap that a clamp is placed at, from metres."""
    from tripmargin.stopping.setting.step_words import gap_words

    try:
        return gap_words(float(number), us)
    except ValueError:
        return number


def gap_said(kept: str) -> str:
    """A measured gap, from the words that it is kept by.

    >>> gap_said("3.8 mm"), gap_said("0.138 in"), gap_said("x")
    ('3.8 mm', '0.138 in', 'x')
    """
    from tripmargin.ground.units import INCH
    from tripmargin.stopping.setting.step_words import gap_words

    number, _, unit = kept.partition(" ")
    sizes = {"mm": 1e-3, "in": INCH}
    try:
        return gap_words(float(number) * sizes[unit], unit == "in")
    except (ValueError, KeyError):
        return kept


def route_lines(title: str, moves: Sequence[d.Move], *, us: bool = False) -> list[str]:
    """A route, move by move."""
    lines = Lines()
    total = sum(move.minutes for move in moves)
    lines.rule(say("{title}: {minutes:.1f} min, parts as time", title=title, minutes=total))
    for number, move in enumerate(moves, 1):
        lines.write(move_words(move, us=us), f"{number:>4}  ", " " * 6)
    return lines.all


def score_lines(score: d.Score, moves: Sequence[d.Move], *, us: bool = False) -> list[str]:
    """The score of a play, part by part."""
    lines = Lines()
    lines.rule(say("Score"))
    for part in parts_shown(score, moves, us=us):
        points = numeral(part.points, ">+7.1f")
        lines.write(
            say("{part}: {why}", part=part.called, why=part.because), f"{points}  ", " " * 9
        )
    lines.write(say("points of 100"), f"{numeral(score.points, '>7.1f')}  ")
    return lines.all


def end_lines(result: d.DrillResult) -> list[str]:
    """What was hidden, the score, one's own route and the best one."""
    lines = Lines()
    lines.rule(say("The end"))
    lines.write(say("Hidden was: {fault}.", fault=result.hidden))
    if result.kind == d.SETTING:
        best = say("The best route, the planner's own")
    else:
        best = say("The best route, the cards' own")
    return [
        *lines.all,
        *score_lines(result.score, result.moves, us=result.us),
        *route_lines(say("Your route"), result.moves, us=result.us),
        *route_lines(best, result.best, us=result.us),
    ]
