"""`tripmargin drill --would-it-stop` at a terminal: pieces to judge, one after the other."""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin import drills as d
from tripmargin.cli.case_screen import Lines
from tripmargin.cli.drill_screen import Screen
from tripmargin.cli.drill_words import score_lines
from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.languages import later, numeral, say, say_many

HELP = (
    later("what comes of it; the word alone says you are certain"),
    later("the same, and how sure you are, in per cent"),
    later("you can't be sure: each of the three is as likely to you"),
    later("your chances of missed, too late and protected, in per cent"),
    later("the question once more"),
    later("leave; half a drill is not kept"),
)
"""What each thing that may be typed means, in the order in which they are told."""


@dataclass(slots=True)
class StopTalk:
    """One sitting, in metric or US units."""

    drill: d.WouldItStop
    screen: Screen
    us: bool = False


def talk_stop_through(talk: StopTalk) -> bool:
    """Take answers until none is left; whether so, for one may quit.

    EOFError at the end of the input, KeyboardInterrupt on Ctrl-C.
    """
    talk.screen.show(_begin(talk))
    _ask(talk)
    while talk.drill.now is not None:
        said = " ".join(talk.screen.read().split())
        if said.lower() in ("quit", "q"):
            return False
        if said.lower() == "help":
            talk.screen.show(_help())
        elif said.lower() == "again":
            _ask(talk)
        elif said:
            _answer(talk, said)
    return True


def _begin(talk: StopTalk) -> list[str]:
    from tripmargin.pictures.words import SAFETY

    drill, lines = talk.drill, Lines()
    machine = drill.machine
    lines.write(
        say(
            "{machine}: would it stop? Seed {seed}. Nothing here is a real machine.",
            machine=machine.name, seed=drill.seed,
        )
    )  # fmt: skip
    lines.write(say(SAFETY), "! ")
    count = len(drill.questions)
    lines.write(
        say_many(
            "{count} piece of metal comes with the crop. Say what comes of it.",
            "{count} pieces of metal come with the crop. Say what comes of each.",
            count,
        )
    )
    for sentence in d.machine_words(machine, us=talk.us):
        lines.write(sentence)
    return [*lines.all, *_help()]


def _help() -> list[str]:
    lines = Lines()
    missed, late, safe, doubt = (say(words) for words in d.REGION_WORDS.values())
    words = (f"{missed}, {late}, {safe}", f"{safe} 80", doubt, "10 0 90", "again", "quit")
    wide = max(map(len, words)) + 2
    for word, meaning in zip(words, HELP, strict=True):
        lines.write(say(meaning), f"  {word:<{wide}}", " " * (wide + 2))
    return lines.all


def _ask(talk: StopTalk) -> None:
    question = talk.drill.now
    if question is None:
        return
    lines = Lines()
    number, count = len(talk.drill.answered) + 1, len(talk.drill.questions)
    lines.rule(say("Piece {number} of {count}", number=number, count=count))
    rows = d.asked_words(question, us=talk.us)
    wide = max(len(label) for label, _ in rows) + 2
    for label, value in rows:
        lines.write(value, f"  {label:<{wide}}", " " * (wide + 2))
    talk.screen.show(lines.all)


def _answer(talk: StopTalk, said: str) -> None:
    try:
        found = talk.drill.answer(typed(said))
    except d.DrillError as error:
        talk.screen.write(str(error))
        return
    lines = Lines()
    for sentence in d.told_words(found.question, us=talk.us):
        lines.write(sentence, "  ")
    lines.write(say("{points:.1f} points of 100.", points=found.points), "  ")
    talk.screen.show(lines.all)
    _ask(talk)


def stop_end_lines(result: d.DrillResult) -> list[str]:
    """The score, and what to practise, worst first."""
    lines = Lines()
    lines.rule(say("What to practise"))
    for kind, points in sorted(result.by_kind, key=lambda each: each[1]):
        lines.write(say(d.KINDS[kind]), f"{numeral(points, '>7.1f')}  ", " " * 9)
    return [*score_lines(result.score, result.moves), *lines.all]
