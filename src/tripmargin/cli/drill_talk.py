"""`tripmargin drill` at a terminal: one line, one move, until the machine is given back."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tripmargin import drills as d
from tripmargin.cli.case_screen import Lines
from tripmargin.cli.drill_screen import Screen
from tripmargin.cli.drill_words import (
    help_lines,
    look_lines,
    move_sentence,
    move_words,
    repair_lines,
    state_lines,
)
from tripmargin.drills.told import said as spoken
from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written

if TYPE_CHECKING:
    from tripmargin.faultfinding import MachineProblem

PICKS = {"looks": d.LOOK, "states": d.GO, "repairs": d.MEND}
WORDS = (*d.MOVES, "looks", "states", "repairs", "so far", "help", "quit")


@dataclass(slots=True)
class Talk:
    """One sitting; `list` is the list that was shown last, so that a number alone picks from it."""

    drill: d.Drill
    screen: Screen
    list: str = "looks"
    seen: set[int] = field(default_factory=set)
    """States whose looks were listed."""


def talk_through(talk: Talk) -> bool:
    """Take lines until the drill ends; whether it did, for one may quit.

    EOFError at the end of the input, KeyboardInterrupt on Ctrl-C.
    """
    _begin(talk)
    while not talk.drill.ended:
        said = " ".join(talk.screen.read().split())
        if said.lower() in ("quit", "q"):
            return False
        if said:
            _one_line(talk, said)
    return True


def _begin(talk: Talk) -> None:
    from tripmargin.faultfinding import COMPLAINTS
    from tripmargin.faultfinding.cases.cautions import FIRST, NEVER_LOCKED

    of, screen = talk.drill.of, talk.screen
    lines = Lines()
    lines.write(
        say(
            "{machine}: a drill, seed {seed}. Nothing here is a real machine.",
            machine=of.machine.name, seed=talk.drill.seed,
        )
    )  # fmt: skip
    for caution in (FIRST, NEVER_LOCKED):
        lines.write(say(caution), "! ")
    complaint = say(COMPLAINTS[talk.drill.complaint])
    lines.write(say("The operator says: {complaint}", complaint=complaint))
    lines.write(say("Find what is wrong, mend it, make the daily test, and declare it mended."))
    screen.show(lines.all)
    screen.show(help_lines())
    _arrived(talk)


def _one_line(talk: Talk, said: str) -> None:
    """Take one line: a list, help, or a move."""
    of, at, screen = talk.drill.of, talk.drill.play.at, talk.screen
    low = said.lower()
    if low == "help":
        screen.show(help_lines())
    elif low in ("looks", "looks all"):
        talk.list = "looks"
        screen.show(look_lines(of, at, low.endswith("all")))
    elif low == "states":
        talk.list = low
        screen.show(state_lines(of, at))
    elif low == "repairs":
        talk.list = low
        screen.show(repair_lines(of))
    elif low == "so far":
        _so_far(talk)
    else:
        _move(talk, said)


def _move(talk: Talk, said: str) -> None:
    try:
        do, what = parsed(said, talk.list)
        move = talk.drill.move(do, what)
    except d.DrillError as error:
        talk.screen.write(str(error))
        return
    _tell(talk, move)


def parsed(said: str, last: str) -> tuple[str, str]:
    """The move that a line means; a number alone picks from the list shown last.

    >>> parsed("look 12", "states"), parsed("3", "states"), parsed("Hand over", "looks")
    (('look', '12'), ('go', '3'), ('hand over', ''))
    """
    if said.isdecimal():
        return PICKS[last], said
    low = said.lower()
    if low in (d.TEST, d.HINT, d.DECLARE, d.HAND_OVER):
        return low, ""
    do, _, what = said.partition(" ")
    if do.lower() in (d.LOOK, d.GO, d.MEND):
        if not what:
            many = next(name for name, way in PICKS.items() if way == do.lower())
            raise d.DrillError(
                do, "", say("nothing named"), say("a name or a number"),
                say('"{command}" lists all.', command=many),
            )  # fmt: skip
        return do.lower(), what
    near = nearest(low, WORDS) or nearest(do.lower(), WORDS)
    hint = say("Did you mean {name!r}?", name=near) if near else say('"help" lists them.')
    raise d.DrillError(say("move"), said, say("no such move"), ", ".join(WORDS), hint)


def _tell(talk: Talk, move: d.Move) -> None:
    of, screen = talk.drill.of, talk.screen
    if move.unsafe:
        screen.write(say("NOT DONE: NOT SAFE. {why}", why=spoken(move.why)))
        screen.write(spoken(move.caution), "! ")
        screen.write(say("It counts in the score."))
        return
    if move.do == d.HINT:
        screen.write(say("Hint: {why}", why=spoken(move.why)))
        return
    if move.do == d.GO:
        _arrived(talk)
        return
    if move.do == d.LOOK:
        screen.write(_look_words(of, move))
    elif move.do == d.MEND:
        done = say("Done. Nothing is proved yet: make the daily test.")
        screen.write(f"{of.works[move.what].do} {done}")
    elif move.do == d.TEST:
        _tested(talk, move)
    else:
        screen.write(move_sentence(move))
    _spent(talk)


def _look_words(of: MachineProblem, move: d.Move) -> str:
    from tripmargin.faultfinding.cases.cards import do_words

    question = of.questions[move.what]
    do = do_words(question)
    if question.place:
        do = say("{do} Where: {place}.", do=do, place=question.place)
    values = {"look": question.about, "shows": question.said(move.came)}
    if move.came == question.sound:
        found = say("{look}: {shows}   (as on a sound machine)", **values)
    else:
        sound = question.said(question.sound)
        found = say("{look}: {shows}   (sound: {sound})", **values, sound=sound)
    return f"{do}\n{found}"


def _tested(talk: Talk, move: d.Move) -> None:
    from tripmargin.faultfinding import daily_test
    from tripmargin.faultfinding.wording.card_words import daily_cautions, must_show

    steps, screen = daily_test(talk.drill.of), talk.screen
    for caution in daily_cautions(steps):
        screen.write(caution, "! ")
    if move.came == "passed":
        screen.write(say("The daily test passed. What it cannot show it does not prove."))
    else:
        at = int(move.came.rpartition(" ")[2])
        step = steps[at - 1]
        screen.write(
            say(
                "The daily test failed at step {step}: {do} {must_show}",
                step=at, do=step.do, must_show=must_show(step),
            )
        )  # fmt: skip
    state = as_written(talk.drill.of.problem.states[talk.drill.play.at])
    screen.write(say('The machine is in "{state}".', state=state))


def _arrived(talk: Talk) -> None:
    """Say the state, first its cautions, and the looks in it."""
    from tripmargin.faultfinding.cases.cautions import cautions_for

    of, at = talk.drill.of, talk.drill.play.at
    state, lines = of.states[at], Lines()
    lines.write(say("CAUTION"))
    for caution in cautions_for(state, second_person=state.running or state.live):
        lines.write(caution, "! ")
    where = say('The machine is in "{state}".', state=as_written(state.name))
    lines.write(f"{where} {state.way[-1]}")
    talk.screen.show(lines.all)
    talk.list = "looks"
    if at in talk.seen:
        talk.screen.write(say('"looks" lists what can be looked at here.'))
    else:
        talk.screen.show(look_lines(of, at, every=False))
    talk.seen.add(at)
    _spent(talk)


def _spent(talk: Talk) -> None:
    minutes = talk.drill.play.minutes
    talk.screen.write(say("Spent: {minutes:.1f} min, parts counted as time.", minutes=minutes))


def _so_far(talk: Talk) -> None:
    moves = talk.drill.play.moves
    for number, move in enumerate(moves, 1):
        talk.screen.write(move_words(move), f"{number:>4}  ", " " * 6)
    if not moves:
        talk.screen.write(say("Nothing was done yet."))
    _spent(talk)
