"""A proof in words and tables, for a terminal."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

import click

from tripmargin.cli.tables import aligned, folded
from tripmargin.ground.languages import say
from tripmargin.pictures.proof_sections import (
    CHANCES,
    OVER,
    REST_AS_FILED,
    ROOM_WORDS,
    RUNS_ON,
    best_lines,
    chances,
    changed_words,
    confidence_of,
    cost_tables,
    measure_words,
    measured_words,
    room_headers,
    room_of,
)

if TYPE_CHECKING:
    from tripmargin.protection import Proof


def print_proof(proof: Proof, us: bool) -> None:
    """The verdict first, then the cuts, the reasons, the costs and what to measure next."""
    from tripmargin.pictures.words import MACHINE_NOT_PEOPLE, assumed_words, length, said

    click.secho(f"{proof.machine_name}: {said(proof.verdict)}", bold=True)
    for piece in dict.fromkeys(cut.piece for cut in proof.cuts):
        _print_cuts(proof, piece, us)
    if proof.protection_map is not None:
        click.echo("")
        for line in best_lines(proof, us):
            click.echo(folded(line))
    for null in proof.nulls:
        click.echo(
            say("Blind to every piece: {place} from the roll's middle.", place=length(null, us))
        )
    _print_reasons(proof, us)
    if proof.measured:
        click.echo(say("Measured, and how sure it is by now:"))
        for one in proof.measured:
            click.echo(folded(measured_words(one, us), first="  - "))
        click.echo(say(REST_AS_FILED))
    for note in (assumed_words(proof.assumed), changed_words(proof), say(MACHINE_NOT_PEOPLE)):
        if note:
            click.echo(folded(note))


def _print_cuts(proof: Proof, piece: str, us: bool) -> None:
    from tripmargin.sensing.piece_said import a_piece

    cuts = [cut for cut in proof.cuts if cut.piece == piece]
    click.echo("\n" + say("For {piece}:", piece=a_piece(piece)))
    rows = [chances(cut, confidence_of(proof), us) for cut in cuts]
    _echo_table((say("cut"), *map(say, CHANCES)), rows)
    if any(cut.stop_time_ok is False for cut in cuts):
        click.echo(f" {OVER} " + say("longer than the machine file's limits.stop_time"))
    if all(cut.margin is None and cut.share_of_places is None for cut in cuts):
        return
    click.echo("")
    _echo_table((say("cut"), *room_headers(us)), [room_of(cut, us) for cut in cuts])
    endless = any(cut.margin is not None and not isfinite(cut.margin.low) for cut in cuts)
    words = f"{say(ROOM_WORDS)} {say(RUNS_ON)}" if endless else say(ROOM_WORDS)
    click.echo(folded(words, first="  "))


def _echo_table(headers: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    for line in aligned(headers, rows):
        click.echo(line)


def _print_reasons(proof: Proof, us: bool) -> None:
    from tripmargin.machine.asking import CAUTIONS

    if proof.costs or proof.measure_next:  # what follows sends hands near the machine
        click.echo("\n" + folded(say("CAUTION. {caution}", caution=say(CAUTIONS))))
    if proof.because:
        click.echo("\n" + say("Because:"))
        for reason in proof.because_in(us):
            click.echo(folded(reason, first="  - "))
    for title, headers, rows in cost_tables(proof, us):
        click.echo("\n" + folded(f"{title}:"))
        _echo_table(headers, rows)
    if proof.measure_next:
        click.echo("\n" + say("Measure next:"))
        for measure in proof.measure_next:
            click.echo(folded(measure_words(measure), first="  - "))
            if measure.how:
                click.echo(folded(say(measure.how), first="    "))
    click.echo("")
