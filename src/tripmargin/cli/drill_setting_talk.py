"""`tripmargin drill --setting` at a terminal: measure, turn, place, until the pawls are set."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tripmargin import drills as d
from tripmargin.cli.case_screen import Lines
from tripmargin.cli.drill_screen import Screen
from tripmargin.cli.drill_words import move_words
from tripmargin.ground.errors import QuantityError, nearest
from tripmargin.stopping.setting import Adjuster
from tripmargin.stopping.setting.step_words import CAUTIONS, gap_words

HELP = (
    ("secure", "engine off, key out, everything at rest, feed rolls blocked"),
    ("measure PAWL", "measure a gap with the feeler"),
    ("turn PAWL N open", "turn a clevis by N turns so that the gap opens, or: close"),
    ("place PAWL GAP", 'place a clamp at a gap, such as "place upper 3.5 mm"'),
    ("done", "declare the pawls set: ends the drill"),
    ("hint", "the best next step; costs 5 % of the points"),
    ("so far", "what was done, and its minutes"),
    ("quit", "leave; half a drill is not kept"),
)
WORDS = ("secure", "measure", "turn", "place", "done", "hint", "so far", "help", "quit")
_TURN = re.compile(r"(?P<pawl>.+?) (?P<turns>[\d.]+)(?: turns?)? (?P<way>\w+)")
_PLACE = re.compile(r"(?P<pawl>.+?) (?P<gap>[\d.]+ ?[a-z]+)")


@dataclass(slots=True)
class SettingTalk:
    """One sitting."""

    drill: d.SettingDrill
    screen: Screen


def talk_setting_through(talk: SettingTalk) -> bool:
    """Take lines until the drill ends; whether it did, for one may quit.

    EOFError at the end of the input, KeyboardInterrupt on Ctrl-C.
    """
    _begin(talk)
    while not talk.drill.ended:
        said = " ".join(talk.screen.read().split())
        if said.lower() in ("quit", "q"):
            return False
        if said.lower() == "help":
            talk.screen.show(_help())
        elif said.lower() == "so far":
            for number, move in enumerate(talk.drill.play.moves, 1):
                talk.screen.write(move_words(move), f"{number:>4}  ", " " * 6)
            _spent(talk)
        elif said:
            _one_move(talk, said)
    return True


def _begin(talk: SettingTalk) -> None:
    drill, adjusters, lines = talk.drill, talk.drill.play.pawls.adjusters, Lines()
    lines.write(f"{drill.machine.name}: a setting drill, seed {drill.seed}. Nothing here is real.")
    for caution in CAUTIONS:
        lines.write(caution, "! ")
    low, high = (gap_words(end) for end in adjusters.window)
    lines.write(f"Set every pawl's gap between {low} and {high}. The key is still on.")
    for each in adjusters.pawls:
        way = "turned by a clevis" if each.kind == "clevis" else "placed by a clamp"
        step = f", {each.smallest_turn:.3g} turn at a time" if each.kind == "clevis" else ""
        lines.write(f"{each.pawl}: {way}{step}", "  ")
    lines.write(f"The feeler goes by {gap_words(adjusters.feeler_step)}.")
    talk.screen.show([*lines.all, *_help()])


def _help() -> list[str]:
    lines = Lines()
    for word, meaning in HELP:
        lines.write(meaning, f"  {word:<18}", " " * 20)
    return lines.all


def _one_move(talk: SettingTalk, said: str) -> None:
    screen = talk.screen
    try:
        move = talk.drill.move(*parsed_setting(said, talk.drill.play.pawls.adjusters.pawls))
    except (d.DrillError, QuantityError) as error:
        screen.write(str(error))
        return
    if move.unsafe:
        screen.write(f"NOT DONE: NOT SAFE. {move.why}")
        screen.write(move.caution, "! ")
        screen.write("It counts in the score.")
        return
    screen.write(f"Hint: {move.why}" if move.do == d.HINT else f"{move_words(move).capitalize()}.")
    _spent(talk)


def _spent(talk: SettingTalk) -> None:
    talk.screen.write(f"Spent: {talk.drill.play.minutes:.1f} min.")


def parsed_setting(said: str, pawls: tuple[Adjuster, ...]) -> tuple[str, str]:
    """The move that a line means; turns above zero open the gap, a gap is in metres.

    >>> parsed_setting("turn lower 1.5 close", ()), parsed_setting("Place upper 3.5mm", ())
    (('turn', 'lower -1.5'), ('place', 'upper 0.0035'))
    """
    from tripmargin.ground.quantities import quantity

    do, _, what = said.partition(" ")
    do = do.lower()
    if said.lower() in (d.SECURE, d.HINT, d.DECLARE):
        return said.lower(), ""
    if do == d.MEASURE and what:
        return do, what
    if do == d.TURN:
        found = _TURN.fullmatch(what)
        ways = _ways(next((each for each in pawls if found and each.pawl == found["pawl"]), None))
        if found is None or found["way"].lower() not in ways:
            raise d.DrillError(
                "turn", what, "not a turn of a pawl",
                f"PAWL, TURNS and {' or '.join(ways)}, such as: turn lower 1.5 close",
            )  # fmt: skip
        return do, f"{found['pawl']} {ways[found['way'].lower()]}{found['turns']}"
    if do == d.PLACE:
        found = _PLACE.fullmatch(what)
        if found is None:
            raise d.DrillError(
                "place", what, "not a gap of a pawl", "PAWL and GAP, such as: place upper 3.5 mm"
            )
        return do, f"{found['pawl']} {quantity(found['gap'], 'length').nominal!r}"
    near = nearest(do, WORDS)
    hint = f"Did you mean {near!r}?" if near else '"help" lists them.'
    raise d.DrillError("move", said, "no such move", ", ".join(WORDS), hint)


def _ways(each: Adjuster | None) -> dict[str, str]:
    """The words for a way to turn with its sign; out and in where the file says what they do."""
    ways = {"open": "", "close": "-"}
    if each is not None and each.turned_out is not None:
        out = "" if each.turned_out == "opens" else "-"
        ways |= {"out": out, "in": "-" if out == "" else ""}
    return ways
