"""`tripmargin machine new`: one question at a time, and nothing that was answered is ever lost."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from pathlib import Path

import click

from tripmargin.cli.typed_numbers import piece_name
from tripmargin.ground.errors import MachineFileError, QuantityError
from tripmargin.ground.languages import later, say
from tripmargin.machine.asking import CAUTIONS, REMINDER, Answers, Question, spoken
from tripmargin.machine.odd_answers import unprintable
from tripmargin.machine.typed_answers import spelled_allowed, spelled_answer, typed_answer

_HOW = later(
    'Answer and press Enter. Enter alone leaves a field out; "back" goes one back,'
    ' "skip" drops an answer. Ctrl-C stops and keeps what was answered in a draft.\n'
    "Magnets, windings, gain, threshold, inductance, release current and stage times come from a"
    " type sheet or from bench values; docs/how-to/measure-a-machine.md says how.\n"
    'Write how far off a value may be: "330 mm +- 4 mm", or "325 mm .. 335 mm".'
)
_LEFT = (EOFError, KeyboardInterrupt)


@dataclass(slots=True)
class Interview:
    """The state of one interview."""

    file: Path | None
    answers: Answers = field(default_factory=Answers)

    @property
    def folder(self) -> Path:
        """Where the file goes, and where its type sheet lies."""
        return self.file.parent if self.file else Path()


def hold_interview(file: Path | None) -> int:
    """Ask, and write the file; the exit code."""
    talk = Interview(file)
    try:
        _before(talk)
        _ask_all(talk)
        path = _where(talk)
        _write(talk, path)
    except _LEFT as left:
        return _keep_draft(talk, 130 if isinstance(left, KeyboardInterrupt) else 1)
    click.echo("\n" + say("Written: {path}", path=path))
    click.echo(say('Check it with `tripmargin machine check "{path}"`.', path=path))
    return 0


def _before(talk: Interview) -> None:
    click.echo(
        f"{say('A new machine file.')}\n{say(_HOW)}\n\n"
        + say("CAUTION. {caution}", caution=say(CAUTIONS))
        + "\n"
    )
    while True:
        said = _read(say("Units when you write a bare number, metric or us?"), "metric").lower()
        if said in ("", "metric", "m", "us", "u"):
            talk.answers.us = said.startswith("u")
            break
        click.echo("  " + say("Allowed: metric | us."))
    _take_sheet(talk)
    _take_pawls(talk)


def _take_sheet(talk: Interview) -> None:
    while True:
        name = _read(say("Type sheet to build on, a file name beside the new file?"), "none")
        if not name or name.lower() == "none":
            return
        try:
            talk.answers.take_sheet(name, talk.folder)
            return
        except MachineFileError as error:
            click.echo(_indented(str(error)))


def _take_pawls(talk: Interview) -> None:
    if talk.answers.sheet_has_pawls:
        return
    while True:
        names = _read(say("Which pawls stop the rolls, by names of your own?"), "lower, upper")
        try:
            talk.answers.take_pawls(names or "lower, upper")
            return
        except MachineFileError as error:
            click.echo(_indented(str(error)))


def _ask_all(talk: Interview) -> None:
    questions = talk.answers.questions()
    index, section = 0, ""
    while index < len(questions):
        question = questions[index]
        if question.path[0] != section:
            section = question.path[0]
            click.echo(f"\n[{section}]")
            if question.near:
                click.echo(say("CAUTION. {caution}", caution=say(REMINDER)))
        index = max(0, index + _ask(talk, question, f"{index + 1}/{len(questions)}"))


def _ask(talk: Interview, question: Question, place: str) -> int:
    """Ask until it is answered, left out, or left; the step to the next question."""
    click.echo(f"\n{place}  {question.name}: {question.meaning}.")
    if question.while_running:
        click.echo("  " + say("CAUTION. {caution}", caution=question.while_running))
    if question.spec.measure:
        click.echo("  " + say("How: {how}", how=question.spec.to_measure))
    click.echo("  " + say("Allowed: {allowed}.", allowed=spelled_allowed(question.allowed())))
    earlier = talk.answers.values.get(question.path)
    while True:
        said = _read(
            "",
            say("keep {earlier}", earlier=spelled_answer(question, spoken(earlier)))
            if earlier is not None
            else question.left_out(spelled=True),
        )
        if said.lower() == "back":
            return -1
        if said.lower() == "skip":
            talk.answers.leave_out(question)
            return 1
        if not said:
            return 1
        try:
            meant = _meant(question, said)
            _check_piece(question, meant)
            value = talk.answers.answer(question, meant)
        except (MachineFileError, QuantityError) as error:
            click.echo(_indented(str(error)))
            continue
        taken = spelled_answer(question, spoken(value))
        if taken != said:
            click.echo("  " + say("Taken as: {value}", value=taken))
        return 1


def _meant(question: Question, said: str) -> str:
    """The answer in the file's words, with decimal points."""
    if question.name == "limits.must_stop":
        return piece_name(said)
    return typed_answer(question, said)


def _check_piece(question: Question, said: str) -> None:
    """A piece in words must be one that the sensor's room can read."""
    if question.name == "limits.must_stop":
        from tripmargin.sensing.pieces import Piece

        Piece.from_text(said)


def _read(question: str, default: str) -> str:
    """A line from the person. EOFError at the end of the input, KeyboardInterrupt on Ctrl-C."""
    while True:
        click.echo(f"{question} {say('[Enter: {default}]', default=default)} > ".lstrip(), nl=False)
        sys.stdout.flush()
        line = input()
        letter = unprintable(line.strip())
        if not sys.stdin.isatty():  # piped answers: the transcript shows them
            click.echo(ascii(line) if letter else line)
        if not letter:
            return line.strip()
        click.echo(
            "  "
            + say(
                "It holds a character that cannot be printed ({letter}), which no file of"
                " ours takes. Type it anew.",
                letter=letter,
            )
        )


def _where(talk: Interview) -> Path:
    """Where to write; a file that is there is not overwritten unasked."""
    name = talk.answers.values.get(("machine", "name"), "machine")
    path = talk.file
    while True:
        if path is None:
            said = _read("\n" + say("File to write?"), str(_file_name(str(name))))
            path = talk.folder / said if said else _file_name(str(name))
        if not path.parent.is_dir():
            click.echo("  " + say("There is no folder {folder}.", folder=path.parent))
        elif not path.exists() or (path.is_file() and _may_overwrite(path)):
            return path
        path = None


def _may_overwrite(path: Path) -> bool:
    said = _read(say("{path} is there already. Overwrite it, yes or no?", path=path), "no")
    return said.lower() in ("y", "yes", say("yes"))


def _file_name(name: str) -> Path:
    """A file name that every system takes.

    >>> _file_name('Sand/martin: 2').name
    'sand-martin-2.toml'
    """
    kept = "".join(letter if letter.isalnum() else "-" for letter in name.lower())
    return Path("-".join(part for part in kept.split("-") if part)[:60] or "machine").with_suffix(
        ".toml"
    )


def _keep_draft(talk: Interview, code: int) -> int:
    """Write what was answered beside the file asked for, under a name of its own."""
    click.echo("")
    if not talk.answers.values:
        click.echo(say("Stopped. Nothing was answered, so nothing was written."), err=True)
        return code
    stem = (
        talk.file.stem
        if talk.file
        else _file_name(str(talk.answers.values.get(("machine", "name"), "machine"))).stem
    )
    path, number = talk.folder / f"{stem}.draft.toml", 2
    while path.exists():
        path, number = talk.folder / f"{stem}.draft-{number}.toml", number + 1
    _write(talk, path)
    click.echo(say("Stopped. What you answered is kept in {path}", path=path), err=True)
    return code


def _write(talk: Interview, path: Path) -> None:
    from tripmargin.pictures.save import write_whole

    text = talk.answers.file_text()
    try:
        write_whole(path, text.encode(errors="replace"))
    except OSError:
        click.echo(text)  # nothing that was answered is lost, even where it can't be written
        raise


def _indented(text: str) -> str:
    return "\n".join(f"  {line}" for line in text.splitlines())
