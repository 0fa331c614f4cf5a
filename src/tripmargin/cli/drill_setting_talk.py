"""`tripmargin drill --setting` at a terminal: measure, turn, place, until the pawls are set."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tripmargin import drills as d
from tripmargin.cli.case_screen import Lines
from tripmargin.cli.drill_screen import Screen
from tripmargin.cli.drill_words import move_sentence, move_words
from tripmargin.drills.told import said as spoken
from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.errors import QuantityError, nearest
from tripmargin.ground.languages import later, say
from tripmargin.stopping.pawl_words import pawl_words
from tripmargin.stopping.setting import Adjuster
from tripmargin.stopping.setting.step_words import CAUTIONS, gap_words

HELP = (
    ("secure", later("engine off, key out, everything at rest, feed rolls and each pawl blocked")),
    ("measure PAWL", later("measure a gap with the feeler")),
    ("turn PAWL N open", later("turn a clevis by N turns so that the gap opens, or: close")),
    ("place PAWL GAP", later('place a clamp at a gap, such as "place upper 3.5 mm" or "0.138 in"')),
    ("done", later("declare the pawls set: ends the drill")),
    ("hint", later("the best next step; costs 5 % of the points")),
    ("so far", later("what was done, and its minutes")),
    ("quit", later("leave; half a drill is not kept")),
)
WORDS = ("secure", "measure", "turn", "place", "done", "hint", "so far", "help", "quit")
_TURN = re.compile(r"(?P<pawl>.+?) (?P<turns>[\d.]+)(?: turns?)? (?P<way>\w+)")
_PLACE = re.compile(r"(?P<pawl>.+?) (?P<gap>[\d.]+ ?[a-z]+)")


@dataclass(slots=True)
class SettingTalk:
    """One sitting; in inches where the drill is."""

    drill: d.SettingDrill
    screen: Screen

    @property
    def us(self) -> bool:
        """Whether gaps are told in inches."""
        return self.drill.us


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
                talk.screen.write(move_words(move, us=talk.us), f"{number:>4}  ", " " * 6)
            _spent(talk)
        elif said:
            _one_move(talk, said)
    return True


def _begin(talk: SettingTalk) -> None:
    drill, adjusters, lines = talk.drill, talk.drill.play.pawls.adjusters, Lines()
    lines.write(
        say(
            "{machine}: a setting drill, seed {seed}. Nothing here is real.",
            machine=drill.machine.name, seed=drill.seed,
        )
    )  # fmt: skip
    for caution in CAUTIONS:
        lines.write(say(caution), "! ")
    low, high = (gap_words(end, talk.us) for end in adjusters.window)
    lines.write(
        say(
            "Set every pawl's gap between {low} and {high}. The key is still on.",
            low=low,
            high=high,
        )
    )
    for each in adjusters.pawls:
        if each.kind == "clevis":
            way = say(
                "{pawl}: turned by a clevis, {step:.3g} turn at a time",
                pawl=pawl_words(each.pawl), step=each.smallest_turn,
            )  # fmt: skip
        else:
            way = say("{pawl}: placed by a clamp", pawl=pawl_words(each.pawl))
        lines.write(way, "  ")
    step = gap_words(adjusters.feeler_step, talk.us)
    lines.write(say("The feeler goes by {step}.", step=step))
    talk.screen.show([*lines.all, *_help()])


def _help() -> list[str]:
    lines = Lines()
    for word, meaning in HELP:
        lines.write(say(meaning), f"  {word:<18}", " " * 20)
    return lines.all


def _one_move(talk: SettingTalk, said: str) -> None:
    screen = talk.screen
    try:
        move = talk.drill.move(*parsed_setting(typed(said), talk.drill.play.pawls.adjusters.pawls))
    except (d.DrillError, QuantityError) as error:
        screen.write(str(error))
        return
    if move.unsafe:
        screen.write(say("NOT DONE: NOT SAFE. {why}", why=spoken(move.why)))
        screen.write(spoken(move.caution), "! ")
        screen.write(say("It counts in the score."))
        return
    screen.write(
        say("Hint: {why}", why=spoken(move.why))
        if move.do == d.HINT
        else move_sentence(move, us=talk.us)
    )
    _spent(talk)


def _spent(talk: SettingTalk) -> None:
    talk.screen.write(say("Spent: {minutes:.1f} min.", minutes=talk.drill.play.minutes))


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
        return do, _pawl(what, pawls)
    if do == d.TURN:
        found = _TURN.fullmatch(what)
        pawl = _pawl(found["pawl"], pawls) if found else ""
        ways = _ways(next((each for each in pawls if each.pawl == pawl), None))
        if found is None or found["way"].lower() not in ways:
            raise d.DrillError(
                "turn", what, say("not a turn of a pawl"),
                say(
                    "PAWL, TURNS and {ways}, such as: turn lower 1.5 close",
                    ways=_either(ways),
                ),
            )  # fmt: skip
        return do, f"{pawl} {ways[found['way'].lower()]}{found['turns']}"
    if do == d.PLACE:
        found = _PLACE.fullmatch(what)
        if found is None:
            raise d.DrillError(
                "place", what, say("not a gap of a pawl"),
                say("PAWL and GAP, such as: place upper 3.5 mm"),
            )  # fmt: skip
        return do, f"{_pawl(found['pawl'], pawls)} {quantity(found['gap'], 'length').nominal!r}"
    near = nearest(do, WORDS)
    hint = say("Did you mean {name!r}?", name=near) if near else say('"help" lists them.')
    raise d.DrillError(say("move"), said, say("no such move"), ", ".join(WORDS), hint)


def _pawl(text: str, pawls: tuple[Adjuster, ...]) -> str:
    """A pawl by its name, which may be typed as it is read."""
    return next((each.pawl for each in pawls if pawl_words(each.pawl) == text.lower()), text)


def _either(ways: dict[str, str]) -> str:
    """The words that may be typed: they are the same in every language."""
    if len(ways) == 2:
        return say("open or close")
    return say("open or close or out or in")


def _ways(each: Adjuster | None) -> dict[str, str]:
    """The words for a way to turn with its sign; out and in where the file says what they do."""
    ways = {"open": "", "close": "-"}
    if each is not None and each.turned_out is not None:
        out = "" if each.turned_out == "opens" else "-"
        ways |= {"out": out, "in": "-" if out == "" else ""}
    return ways
