"""`tripmargin measure`: learn a machine from what the yard found, one test piece after another."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.output import Output, machine_argument, output_options
from tripmargin.cli.progress import working
from tripmargin.cli.tables import folded
from tripmargin.cli.typed_numbers import pieces_typed
from tripmargin.ground.cautions import PASSING
from tripmargin.ground.languages import say
from tripmargin.ground.typed import typed_quantity

if TYPE_CHECKING:
    from tripmargin.machine import Machine
    from tripmargin.recordings import Calibration
    from tripmargin.recordings.calibrating import NextPass

_SAID = {"c": True, "caught": True, "m": False, "missed": False}


@click.command()
@machine_argument
@click.option(
    "--findings",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="What was found: [[pass]], [[peak]], [[found]] and [[stop]] tables. With --ask, answers"
    " are added to it as they are given.",
)
@click.option("--ask", is_flag=True, help="Say which piece to pass, and ask what came of it.")
@click.option(
    "--have",
    "pieces",
    metavar="PIECE",
    multiple=True,
    help='A test piece that the yard has, such as "15 mm ball"; several times, or several with'
    " commas between. They are kept in the findings file, and none but these are asked for."
    " Default: steel balls of 8 to 40 mm.",
)
@click.option("--prove", "prove_too", is_flag=True, help="Prove the machine before and after.")
@click.option(
    "--write",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write the calibrated machine's file there; the machine's own stays as it is.",
)
@click.option(
    "--drift",
    "drift",
    metavar="[FIELD=]DRIFT",
    multiple=True,
    help='With --write: by how much what was learned may move in a year, such as "3 %" for all of'
    ' it, or "chain.relay_release=0.5 ms" for one field; several times. Without it age does not'
    " widen the values.",
)
@output_options
def measure(
    machine: str,
    findings: Path | None,
    ask: bool,
    pieces: tuple[str, ...],
    prove_too: bool,
    write: Path | None,
    drift: tuple[str, ...],
    output: Output,
) -> None:
    """Learn a machine from pieces passed, peaks, timed stops and found metal."""
    from tripmargin.machine import load_machine

    if findings is None:
        raise click.UsageError(
            say("Give --findings FILE: a file of what was found, or with --ask where to keep it.")
        )
    if ask and output.as_json:
        raise click.UsageError(say("--ask talks; --json does not. Give one of them."))
    loaded = load_machine(machine)
    yearly = _drift_of(drift, write)
    if not output.as_json:
        click.echo(folded(say("CAUTION. {caution}", caution=say(PASSING))) + "\n")
    if not (ask or findings.exists()):
        raise click.UsageError(
            say("There is no file {findings}. With --ask it is begun.", findings=findings)
        )
    yards = _pieces(loaded, findings, pieces)
    if ask and not _ask_on(loaded, findings, yards):
        return
    learned = _learned(loaded, findings, yards, quiet=output.as_json)
    proofs = _proofs(loaded, learned.machine) if prove_too else None
    if write is not None:
        _write(loaded, learned, write, findings, yearly)
    made = learned.to_dict()
    if proofs is not None:
        made["before"], made["after"] = (proof.to_dict() for proof in proofs)
    output.show(made, lines=lambda: _print(learned, proofs, output.us))
    if write is not None:
        click.echo(say("Written: {write}", write=write), err=output.as_json)


def _pieces(machine: Machine, findings: Path, named: tuple[str, ...]) -> Any:
    """The yard's own pieces, those named now kept in the findings file; None: it names none."""
    from tripmargin.recordings.calibrating.findings_beside import own_pieces

    try:
        read = [one for each in named for one in pieces_typed(each)]
    except ValueError as error:
        raise click.UsageError(f"--have: {error}") from error
    return own_pieces(findings, machine, read) or None


def _drift_of(given: tuple[str, ...], write: Path | None) -> dict[str, str]:
    """Drift a year by field; by "" what is for all."""
    if given and write is None:
        raise click.UsageError(say("--drift says how kept values age; it goes with --write FILE."))
    made: dict[str, str] = {}
    for each in given:
        field, is_one, drift = each.rpartition("=")
        if field.strip() in made:
            if is_one:
                raise click.UsageError(
                    say(
                        "--drift {drift!r}: given for {field} before. Give it once.",
                        drift=each,
                        field=field.strip(),
                    )
                )
            raise click.UsageError(
                say("--drift {drift!r}: given for all before. Give it once.", drift=each)
            )
        made[field.strip()] = typed_quantity(drift.strip())
    return made


def _learned(machine: Machine, findings: Path, pieces: Any, *, quiet: bool) -> Calibration:
    from tripmargin.recordings.calibrating import calibrate, read_findings

    seen = read_findings(findings, machine)
    with working(say("learning"), quiet=quiet):
        return calibrate(machine, seen, pieces=pieces)


def _ask_on(machine: Machine, findings: Path, pieces: Any) -> bool:
    """Say a piece, take the answer, keep it; until enough is known or the person stops.

    Whether there is anything to learn from then.
    """
    from tripmargin.recordings.calibrating import append_finding, first_pass, read_findings

    while True:
        begun = findings.exists() and findings.stat().st_size > 0
        known = begun and bool(read_findings(findings, machine))
        following = None
        if known:
            learned = _learned(machine, findings, pieces, quiet=False)
            if learned.signal is not None and learned.enough:
                return True
            following = learned.next_piece
        if following is None:
            with working(say("looking for the first piece")):
                following = first_pass(machine, pieces=pieces)
        click.echo(folded(say("Pass: {what}", what=_words(following))))
        said = _answer()
        if said is None:
            return known
        values: dict[str, str | bool] = {
            "piece": following.piece.name,
            "across": f"{1e3 * following.x:g} mm",
            "height": f"{1e3 * following.height:g} mm",
            "speed": f"{following.speed:.4g} m/s",
            "caught": said,
        }
        append_finding(findings, "pass", values)
        click.echo("  " + say("Kept in {file}.", file=findings))


def _answer() -> bool | None:
    """Whether it was caught; None where the person has had enough."""
    while True:
        try:
            said = click.prompt(
                "  " + say("Caught or missed? (c, m, or q to stop)"), prompt_suffix=" "
            )
        except (click.Abort, EOFError):
            click.echo("\n" + say("Stopped. All answers are kept."))
            return None
        word = str(said).strip().lower()
        if word in ("q", "quit", "stop"):
            return None
        if word in _SAID:
            return _SAID[word]
        click.echo("  " + say("Allowed: c, m or q."))


def _words(one: NextPass) -> str:
    from tripmargin.sensing.piece_said import said_piece  # heavy

    return say(
        "{piece}, {x:.0f} mm from the roll's middle, {height:.0f} mm above the lower"
        " front roll, at {speed:.2f} m/s. It is caught with {chance:.0f} %, by what is"
        " known now.",
        piece=said_piece(one.piece.name),
        x=1e3 * one.x,
        height=1e3 * one.height,
        speed=one.speed,
        chance=100 * one.chance,
    )


def _proofs(before: Machine, after: Machine) -> Any:
    from tripmargin import protection

    with working(say("proving before and after")):
        return protection.prove(before), protection.prove(after)


def _write(
    machine: Machine, learned: Calibration, to: Path, findings: Path, drift: dict[str, str]
) -> None:
    """The machine's file with the learned fields put in, its type sheets beside it.

    Refused, and nothing written, where a file stands in the way.
    """
    from datetime import date

    from tripmargin.machine.copies import copy_of
    from tripmargin.machine.measured_text import with_measured
    from tripmargin.machine.rewriting import with_values
    from tripmargin.recordings.calibrating import NO_DRIFT, measured_entries
    from tripmargin.recordings.calibrating.findings_beside import when_and_who

    own, *sheets = copy_of(machine)["sheets"]
    on, by = when_and_who(findings)
    entries = measured_entries(
        learned.fields, on=on or date.today(), by=by, how="tripmargin measure", drift=drift
    )
    fields = {each.path: each.after for each in learned.fields}
    files = {to: with_measured(with_values(own["text"], fields, machine=machine), entries)}
    for sheet in sheets:
        beside = to.parent / sheet["name"]
        if not (beside.exists() and beside.read_text(encoding="utf-8") == sheet["text"]):
            files[beside] = sheet["text"]
    for path in files:
        if path.exists():
            raise click.UsageError(
                say(
                    "{path} is there already. Give another name or folder; nothing was written.",
                    path=path,
                )
            )
    for path, text in files.items():
        path.write_text(text, encoding="utf-8")
    said = machine.measured.fields if machine.measured is not None else ()
    aging = {each.field for each in (*said, *entries) if each.drift}  # what the file said stays
    if ageless := [each.field for each in entries if each.field not in aging]:
        words = say(NO_DRIFT)
        if len(ageless) < len(entries):
            words = say("No drift: {fields}.", fields=", ".join(ageless))
        words += " " + say('Give it with --drift, such as --drift "3 %".')
        click.echo(folded(words), err=True)


def _print(learned: Calibration, proofs: Any, us: bool) -> None:
    from tripmargin.ground.units import shown
    from tripmargin.protection.verdicts import VERDICT_WORDS

    def span(spread: Any, dimension: str) -> str:
        low, middle, high = (
            shown(float(value), dimension, us=us) for value in (spread.low, spread, spread.high)
        )
        return say("{middle}, 95 %: {low} to {high}", middle=middle, low=low, high=high)

    if learned.signal is not None:
        one = learned.signal
        click.echo(
            say(
                "Signal over threshold: {times:.2f} times the file's, 95 %: {low:.2f} to"
                " {high:.2f}",
                times=float(one),
                low=one.low,
                high=one.high,
            )
        )
    if learned.height is not None:
        click.echo(
            say("Sensor's height over the file's: {height}", height=span(learned.height, "length"))
        )
    if learned.stop_time is not None:
        click.echo(
            say(
                "Stop time, as the stops were timed: {time}",
                time=span(learned.stop_time, "time"),
            )
        )
    if learned.stop_time_any_day is not None:
        click.echo(
            say(
                "Stop time on any day: {time}",
                time=span(learned.stop_time_any_day, "time"),
            )
        )
    for line in (*learned.because, *learned.unlikely):
        click.echo(folded(line))
    if learned.fields:
        click.echo("\n" + say("Fields of the machine file, before and after:"))
        for field in learned.fields:
            alone = (
                "; " + say("by itself known to {interval}", interval=field.said_alone)
                if field.said_alone
                else ""
            )
            click.echo(
                f"  {field.path}: {field.before.shown(us=us)} -> {field.after.shown(us=us)}{alone}"
            )
    if learned.next_piece is not None:
        click.echo("\n" + folded(say("Next piece: {what}", what=_words(learned.next_piece))))
    for title, lines in (
        (say("Assumed"), learned.assumed),
        (say("Simplified"), learned.simplified),
    ):
        if lines:
            click.echo(f"\n{title}:")
        for line in lines:
            click.echo(folded(line, first="  "))
    if proofs is not None:
        before, after = proofs
        click.echo("")
        for name, proof in ((say("Before"), before), (say("After"), after)):
            ball, cut = proof.smallest_protected_ball, proof.longest_protected_cut
            told = say(
                "{when}: {verdict}; smallest protected ball {ball}, longest protected cut {cut}.",
                when=name,
                verdict=say(VERDICT_WORDS[proof.verdict]),
                ball=shown(ball, "length", us=us) if ball is not None else say("none"),
                cut=shown(cut, "length", us=us) if cut is not None else say("none"),
            )
            click.echo(folded(told))
