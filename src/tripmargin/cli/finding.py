"""`tripmargin find-fault`: what is broken, one card at a time, until it is proved mended."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.complaints import complaint_meant, refuse_unknown_complaint
from tripmargin.cli.output import Output, machine_argument, machine_with, output_options
from tripmargin.cli.progress import working
from tripmargin.ground.languages import say
from tripmargin.ground.languages.lists import listed

if TYPE_CHECKING:
    from tripmargin.faultfinding import Case, MachineChangedError, MachineProblem

CARDS = 1
KEEP = ("as it was", "as it is")  # typed as they stand, in every language


@click.command("find-fault")
@machine_argument
@click.option(
    "--case",
    "file",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Keep the case in this file; where it is there already, go on with it.",
)
@click.option("--complaint", metavar="WORDS", help="What the operator says; asks nothing.")
@click.option(
    "--found",
    metavar='"ID=WORD"',
    multiple=True,
    help="What a card showed: a word, or a reading with its unit; asks nothing.",
)
@click.option("--undo", is_flag=True, help="First take the case's last entry back; asks nothing.")
@click.option(
    "--cards",
    type=click.IntRange(1, 20),
    metavar="N",
    help="Print so many next cards and end; asks nothing.",
)
@click.option(
    "--keep",
    type=click.Choice(KEEP),
    help="Where the machine's file has changed since: which machine to go on with.",
)
@output_options
def find_fault(
    machine: str,
    file: Path | None,
    keep: str | None,
    output: Output,
    **asked: Any,
) -> None:
    """Find what is broken by the cheapest next check, until it is mended and proved.

    Asks one card at a time. With --json, --complaint, --found, --undo or --cards it asks nothing:
    it records what is given, prints what is next, and ends.
    """
    going_on = file is not None and file.exists()
    silent = output.as_json or any(value not in (None, False, ()) for value in asked.values())
    _refuse(file, going_on=going_on, keep=keep, **asked)
    loaded = machine_with(machine, ())
    _refuse_without_wiring(loaded, machine)
    case: Case
    if going_on:
        assert file is not None
        case = _resumed(file, loaded, keep or "", silent=silent, quiet=output.as_json)
    else:
        case = _begun(loaded, None if silent else file, quiet=output.as_json)
    if silent:
        case = _recorded(case, file, going_on, **asked)
        _show(case, asked["cards"] or CARDS, output)
        return
    from tripmargin.cli.case_talk import Talk, talk_through

    code = talk_through(Talk(case, f"tripmargin find-fault {machine}", output))
    click.get_current_context().exit(code)


def _refuse(
    file: Path | None,
    *,
    going_on: bool,
    keep: str | None,
    complaint: str | None,
    undo: bool,
    **_: Any,
) -> None:
    """Refuse what cannot go together, before the work."""
    if complaint is not None:
        refuse_unknown_complaint(complaint)
    if file is None and (keep is not None or undo):
        raise click.UsageError(
            say(
                "{option} is for a case in a file: add --case.",
                option="--undo" if undo else "--keep",
            )
        )
    if file is not None and not file.parent.is_dir():
        raise click.UsageError(say("--case: there is no folder {parent}.", parent=file.parent))
    if going_on and complaint is not None:
        raise click.UsageError(
            say("{file} is a case already: leave --complaint out to go on with it.", file=file)
        )
    if not going_on and undo:
        raise click.UsageError(say("--undo: there is no case {file} yet.", file=file))


def _refuse_without_wiring(machine: Any, name: str) -> None:
    from tripmargin.faultfinding.wording.standing_words import lacking
    from tripmargin.ground.errors import TripmarginError

    words = lacking(machine)
    if words:
        raise TripmarginError(
            say(
                "{machine}: what is broken cannot be found without more in the machine file.",
                machine=name,
            )
            + "".join(f"\n  {say('Add {what}.', what=each)}" for each in words)
            + "\n  "
            + say("docs/reference/machine-file.md lists the fields; the demo machines have both.")
        )


def _begun(machine: Any, file: Path | None, *, quiet: bool) -> Case:
    from tripmargin.faultfinding import Case, machine_problem
    from tripmargin.faultfinding.suspects.kept_folder import keep_what_is_worked_out

    keep_what_is_worked_out()
    with working(say("reading the machine's faults"), quiet=quiet):
        problem = machine_problem(machine)
    return Case(problem, path=file)


def _resumed(file: Path, machine: Any, keep: str, *, silent: bool, quiet: bool) -> Case:
    """The case in a file; asks which machine to go on with, where its file has changed."""
    from tripmargin.faultfinding import Case, CaseFile, MachineChangedError
    from tripmargin.faultfinding.cases.machine_beside import MachineBesideError
    from tripmargin.faultfinding.suspects.kept_folder import keep_what_is_worked_out
    from tripmargin.ground.errors import TripmarginError

    keep_what_is_worked_out()
    name = CaseFile.open(file).head.get("machine_name")
    if name != machine.name and not keep:
        raise click.UsageError(
            say(
                "{file} is a case of {other}, not of {machine}. If it is the same machine under"
                ' another name, add --keep "{word}".',
                file=file,
                other=name,
                machine=machine.name,
                word=KEEP[1],
            )
        )
    try:
        with working(say("reading the machine's faults"), quiet=quiet):
            return Case.resume(file, machine, keep=keep)
    except MachineChangedError as error:
        if silent:
            ways = listed((f'--keep "{word}"' for word in KEEP), "or")
            raise TripmarginError(f"{error}\n  {say('Say which: {ways}.', ways=ways)}") from error
        keep = _asked_which(error)
    except MachineBesideError as error:
        raise TripmarginError(
            f"{error}\n  " + say('For today\'s machine add --keep "{word}".', word=KEEP[1])
        ) from error
    with working(say("reading the machine's faults"), quiet=quiet):
        return Case.resume(file, machine, keep=keep)


def _asked_which(error: MachineChangedError) -> str:
    """Which machine the case goes on with: that of the case, or that of today."""
    from tripmargin.cli.case_screen import read, write

    write(say("The machine's file has changed since the case was begun:"))
    for difference in error.differences:
        click.echo(f"  {difference}")
    write(say("Go on with which machine? What was entered is never lost."))
    write("  1  " + say("as it was when the case was begun"))
    write("  2  " + say("as it is in its file today"))
    while True:
        said = read().lower()
        for number, word in enumerate(KEEP, 1):
            if said in (str(number), word):
                return word
        write(say("Type 1 or 2."))


def _recorded(
    case: Case,
    file: Path | None,
    going_on: bool,
    *,
    complaint: str | None,
    found: tuple[str, ...],
    undo: bool,
    **_: Any,
) -> Case:
    """The case with everything that was given, or an error and nothing recorded at all."""
    from tripmargin.faultfinding import ASK, Case

    given = [_split(case.of, each) for each in found]
    if complaint is not None:
        given.insert(0, (ASK, complaint_meant(complaint)))
    _enter(_copy(case), given, undo)
    if file is not None and not going_on:
        case = Case(case.of, path=file)
    _enter(case, given, undo, told=True)
    return case


def _copy(case: Case) -> Case:
    """The same case in memory: what is wrong with an entry shows there first."""
    from tripmargin.faultfinding import Case

    copy = Case(case.of)
    for entry in case.entries:
        copy.file.append(entry.kind, **entry.fields)
    return copy


def _enter(case: Case, given: list[tuple[str, str]], undo: bool, told: bool = False) -> None:
    from tripmargin.faultfinding.wording.readings import finding_of

    if undo:
        last = case.entries[-1] if case.entries else None
        if last is None or case.undo() is None:
            raise click.UsageError(say("--undo: there is nothing to take back."))
        if told:
            from tripmargin.cli.case_words import taken_back_words

            click.echo(taken_back_words(last), err=True)
    for check, text in given:
        case.record(check, finding_of(case.of, check, text))


def _split(of: MachineProblem, text: str) -> tuple[str, str]:
    """Card and word of `--found`; an id may hold an equals sign itself."""
    from tripmargin.faultfinding import ASK

    for name in sorted((ASK, *of.questions, *of.works), key=len, reverse=True):
        if text.startswith(f"{name}="):
            return name, text[len(name) + 1 :].strip()
    check, equals, word = text.partition("=")
    if not equals:
        raise click.UsageError(
            say('--found {text}: write "ID=WORD", such as "{ask}=dead".', text=text, ask=ASK)
        )
    return check.strip(), word.strip()


def _show(case: Case, cards: int, output: Output) -> None:
    from tripmargin.cli.case_page import picture_of
    from tripmargin.cli.case_report import case_as_dict

    with working(say("choosing the next card"), quiet=output.as_json):
        coming = case.next_checks(cards)
    output.show(
        case_as_dict(case, cards) if output.as_json else None,
        lines=lambda: _print(case, coming),
        picture=picture_of(case, coming[0] if coming else None),
    )


def _print(case: Case, cards: tuple[Any, ...]) -> None:
    from tripmargin.cli.case_beliefs import belief_lines, change_lines
    from tripmargin.cli.case_report import report_lines
    from tripmargin.cli.case_standing import notice_lines, status_lines
    from tripmargin.cli.case_words import card_lines, record_words

    lines = notice_lines(case)
    if not cards:
        lines += report_lines(case)
    else:
        lines += change_lines(case)
        lines += belief_lines(case)
        lines += status_lines(case)
        for number, card in enumerate(cards, 1):
            lines += ["", *card_lines(case, card, number)]
            lines += ["", record_words(card)]
    click.echo("\n".join(lines))
