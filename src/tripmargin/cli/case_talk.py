"""`tripmargin find-fault` at a terminal: one card at a time, and nothing entered is ever lost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tripmargin.cli.case_beliefs import belief_lines, change_lines, other_lines, why_lines
from tripmargin.cli.case_keeping import ask_where, free_name, keep_unasked, stopped_gently
from tripmargin.cli.case_page import picture_of
from tripmargin.cli.case_readings import answer_of
from tripmargin.cli.case_report import report_lines, so_far_lines
from tripmargin.cli.case_screen import Lines, read, show, write
from tripmargin.cli.case_standing import notice_lines, status_lines
from tripmargin.cli.case_words import card_lines
from tripmargin.cli.output import Output
from tripmargin.cli.progress import working
from tripmargin.faultfinding.wording.belief_words import told_nothing
from tripmargin.faultfinding.wording.readings import read_as, reading_of
from tripmargin.faultfinding.wording.standing_words import has_ended
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import later, say
from tripmargin.ground.os_words import os_words

if TYPE_CHECKING:
    from tripmargin.faultfinding import Card, Case
    from tripmargin.faultfinding.cases.so_far import Done

OTHERS, MOST = 3, 10
INTERRUPTED, INPUT_ENDED = 130, 1
_KEYS = later("u undo, r redo, w why, o other cards, s skip, p page, h hand over, q quit")


@dataclass(slots=True)
class Talk:
    """One sitting with a case."""

    case: Case
    again: str
    """The command that goes on with the case, without its `--case`."""
    output: Output = field(default_factory=Output)
    chosen: str = ""
    skipped: list[str] = field(default_factory=list)
    shown: int = 0
    ended: bool = False


def talk_through(talk: Talk) -> int:
    """Ask card after card until the case ends or is left; the exit code."""
    code = 0
    try:
        with stopped_gently():
            _begin(talk)
            while not talk.ended:
                _one_card(talk)
    except KeyboardInterrupt:
        code = INTERRUPTED
    except (EOFError, OSError):  # the input ended, or the terminal went away
        code = 0 if has_ended(talk.case) else INPUT_ENDED
    if code or not talk.ended:
        keep_unasked(talk.case, talk.again, ended=talk.ended)
    if talk.output.save is not None:
        _save_page(talk, talk.output.save)
    return code


def _begin(talk: Talk) -> None:
    from tripmargin.faultfinding.cases.cautions import FIRST

    lines = Lines()
    heading = say("{machine}: finding a fault.", machine=talk.case.of.machine.name)
    lines.write(" ".join([heading, say(FIRST)]))
    lines.write(say("Answer with a number or a key, then Enter. Nothing entered is ever lost."))
    show(lines.all)
    show(notice_lines(talk.case))
    if talk.case.entries:
        show(so_far_lines(talk.case))
        show(["", *belief_lines(talk.case)])
    else:
        _ask_complaint(talk)


def _ask_complaint(talk: Talk) -> None:
    from tripmargin.faultfinding import ASK, COMPLAINTS

    lines = Lines()
    lines.gap()
    lines.write(say("What does the operator say?"))
    for number, sentence in enumerate(COMPLAINTS.values(), 1):
        lines.write(say(sentence), f"  {number}  ")
    lines.write(say("nobody knows"), "  s  ")
    show(lines.all)
    while True:
        said = read().lower()
        if said in ("s", "c"):
            return
        if said == "q":
            talk.ended = True
            return
        if said.isdecimal() and 1 <= int(said) <= len(COMPLAINTS):
            _record(talk, ASK, list(COMPLAINTS)[int(said) - 1])
            return
        write(
            say(
                "Type a number from 1 to {most}, s to go on without, or q to quit.",
                most=len(COMPLAINTS),
            )
        )


# --- one card ----------------------------------------------------------------------------------


def _one_card(talk: Talk) -> None:
    """Show the card that is due, and take answers until the case has moved on."""
    if has_ended(talk.case):
        _finish(talk)
        return
    with working(say("choosing the next card")):
        card = _due(talk)
    talk.shown += 1
    show(["", *status_lines(talk.case)])
    show(["", *card_lines(talk.case, card, talk.shown, told=True), ""])
    write(say("Keys: {keys}", keys=say(_KEYS)))
    while not _answered(talk, card, read()):
        pass


def _due(talk: Talk) -> Card:
    """The best card that is not skipped, or the one that was picked."""
    wanted = OTHERS if talk.chosen else len(talk.skipped) + 1
    cards = talk.case.next_checks(min(wanted, MOST))
    picked = [card for card in cards if card.id == talk.chosen]
    left = [card for card in cards if card.id not in talk.skipped]
    if not left:
        talk.skipped.clear()
        write(say("No other card is worth its minutes: the first one comes again."))
    return (picked or left or list(cards))[0]


def _answered(talk: Talk, card: Card, said: str) -> bool:
    """Take one line; whether the card is done with."""
    keys: dict[str, Callable[[Talk, Card], bool]] = {
        "u": _undo,
        "r": _redo,
        "w": _why,
        "o": _others,
        "s": _skip,
        "p": _page,
        "h": _hand_over,
        "q": _quit,
    }
    if said.lower() in keys:
        return keys[said.lower()](talk, card)
    if card.kind == "hand over" and said == "1":
        return _hand_over(talk, card)
    word = answer_of(card, said)
    try:
        if word is None and card.unit and said:
            return _record(talk, card.id, reading_of(talk.case.of.questions[card.id], said))
        if word is not None:
            return _record(talk, card.id, word)
    except TripmarginError as error:
        write(str(error))
        return False
    write(say("Type one of the keys in front of the answers. Keys: {keys}.", keys=say(_KEYS)))
    return False


def _record(talk: Talk, check: str, finding: str | float) -> bool:
    """Record a finding, and say what it changed."""
    talk.case.record(check, finding, _note(finding), failed_at=_failed_at(talk, check, finding))
    talk.chosen = ""
    talk.skipped.clear()
    read = read_as(talk.case)
    if read:
        write(read)
    if has_ended(talk.case):
        return True
    show(["", *change_lines(talk.case)])
    if told_nothing(talk.case):
        write(say("That tells next to nothing new."))
    else:
        show(["", *belief_lines(talk.case)])
    return True


def _failed_at(talk: Talk, check: str, finding: str | float) -> int | None:
    """The step at which the daily test failed: it tells which faults are left."""
    from tripmargin.faultfinding.cases.cards import FAILED

    if check not in talk.case.of.works or finding != FAILED:
        return None
    most = talk.case.of.daily_steps
    write(say("At which step did it fail, 1 to {most}? Enter alone: not known.", most=most))
    while (said := read()) and not (said.isdecimal() and 1 <= int(said) <= most):
        write(say("Type a number from 1 to {most}, or Enter alone.", most=most))
    return int(said) if said else None


def _note(finding: str | float) -> str:
    """What was seen where no answer of the card fits: whoever goes on needs it."""
    from tripmargin.faultfinding import SAW_ELSE

    if finding != SAW_ELSE:
        return ""
    write(say("What did you see? One sentence; Enter alone leaves it out."))
    return read()


def _undo(talk: Talk, _: Card | None = None) -> bool:
    done = _done(talk.case)
    if not done:
        write(say("There is nothing to take back."))
        return False
    talk.case.undo()
    return _moved(talk, say("Taken back"), done[-1])


def _redo(talk: Talk, _: Card) -> bool:
    if talk.case.redo() is None:
        write(say("There is nothing to bring back."))
        return False
    return _moved(talk, say("Brought back"), _done(talk.case)[-1])


def _done(case: Case) -> tuple[Done, ...]:
    from tripmargin.faultfinding.cases.so_far import done_so_far

    return done_so_far(case)


def _moved(talk: Talk, said: str, done: Done) -> bool:
    talk.chosen = ""
    talk.skipped.clear()
    write(f"{said}: {done.what.rstrip('.')}: {done.found}")
    show(["", *belief_lines(talk.case)])
    return True


def _why(talk: Talk, card: Card) -> bool:
    show(why_lines(talk.case, card))
    return False


def _skip(talk: Talk, card: Card) -> bool:
    talk.chosen = ""
    talk.skipped.append(card.id)
    return True


def _others(talk: Talk, _: Card) -> bool:
    cards = talk.case.next_checks(OTHERS)
    show(other_lines(cards))
    write(say("Which one? Enter alone stays with this card."))
    said = read()
    if not (said.isdecimal() and 1 <= int(said) <= len(cards)):
        return False
    talk.chosen = cards[int(said) - 1].id
    return True


def _page(talk: Talk, card: Card | None = None) -> bool:
    path = talk.output.save or free_name(talk.case, ".html")
    try:
        _save_page(talk, path, card)
    except OSError as error:
        write(say("Not saved: {path}: {why}.", path=path, why=os_words(error)))
    return False


def _hand_over(talk: Talk, _: Card) -> bool:
    from tripmargin.faultfinding import HAND_OVER

    write(say("Why do you hand it over? One sentence for whoever goes on. Enter alone goes back."))
    why = read()
    return _record(talk, HAND_OVER, why) if why else False


def _quit(talk: Talk, _: Card) -> bool:
    talk.ended = True
    ask_where(talk.case, talk.again)
    return True


# --- the end -----------------------------------------------------------------------------------


def _finish(talk: Talk) -> None:
    show(["", *report_lines(talk.case), ""])
    write(say("Enter ends. u takes the last entry back, p saves the page."))
    while True:
        said = read().lower()
        if said == "p":
            _page(talk)
        elif said == "u":
            _undo(talk)
            return
        elif said in ("", "q"):
            talk.ended = True
            ask_where(talk.case, talk.again)
            return
        else:
            write(say("Enter ends. u takes the last entry back, p saves the page."))


def _save_page(talk: Talk, path: Path, card: Card | None = None) -> None:
    if card is None and not has_ended(talk.case):
        card = _due(talk)
    talk.output.save_as(path, picture_of(talk.case, card))
    click.echo(say("Saved: {path}", path=path))
