"""`tripmargin prove`: whether this machine is protected, and what holds it back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.output import (
    Output,
    Picture,
    length_of,
    machine_argument,
    machine_with,
    output_options,
    piece_of,
    what_if_option,
)
from tripmargin.cli.progress import working
from tripmargin.cli.tables import aligned

if TYPE_CHECKING:
    from tripmargin.protection import CutVerdict, Measure, Proof, ProtectionMap


@click.command()
@machine_argument
@click.option(
    "--cut",
    "cuts",
    metavar="LENGTH",
    multiple=True,
    help='Cut length, such as "9 mm"; may be given several times. Default: all on offer.',
)
@click.option(
    "--piece",
    "pieces",
    metavar="PIECE",
    multiple=True,
    help='What must be stopped, such as "20 mm ball" or "M12x40 bolt"; may be given several'
    " times. Default: the machine file's must_stop.",
)
@what_if_option
@output_options
def prove(
    machine: str,
    cuts: tuple[str, ...],
    pieces: tuple[str, ...],
    settings: tuple[str, ...],
    output: Output,
) -> None:
    """Prove a machine: is it protected, at which cuts, and what holds it back."""
    from tripmargin import protection

    wanted_cuts = [length_of(cut, "--cut") for cut in cuts] or None
    wanted_pieces = [piece_of(piece) for piece in pieces] or None
    loaded = machine_with(machine, settings)
    with working("proving", quiet=output.as_json) as progress:
        proof = protection.prove(
            loaded, cut_lengths=wanted_cuts, pieces=wanted_pieces, progress=progress
        )
    output.show(proof, lines=lambda: _print(proof, output.us), picture=_picture(proof))


def _print(proof: Proof, us: bool) -> None:
    from tripmargin.pictures.words import MACHINE_NOT_PEOPLE, assumed_words, length

    click.secho(f"{proof.machine_name}: {proof.verdict}", bold=True)
    for piece in dict.fromkeys(cut.piece for cut in proof.cuts):
        click.echo(f"\nFor a {piece}:")
        rows = [_row(cut, us) for cut in proof.cuts if cut.piece == piece]
        for line in aligned(
            ("cut", "verdict", "stopped", "seen", "in time if seen", "stop time"), rows
        ):
            click.echo(line)
    if proof.protection_map is not None:
        _print_pair(
            "Longest protected cut",
            proof.longest_protected_cut,
            proof.longest_protected_cut_worst,
            us,
        )
        _print_pair(
            "Smallest protected ball",
            proof.smallest_protected_ball,
            proof.smallest_protected_ball_worst,
            us,
        )
    for null in proof.nulls:
        click.echo(f"Blind to every piece: {length(null, us)} from the roll's middle.")
    _print_reasons(proof, us)
    for note in (assumed_words(proof.assumed), _changed(proof), MACHINE_NOT_PEOPLE):
        if note:
            click.echo(note)


def _row(cut: CutVerdict, us: bool) -> tuple[str, ...]:
    from tripmargin.pictures.words import length, percent, time_ms

    def share(value: float | None) -> str:
        return "not known" if value is None else percent(value)

    over = "" if cut.stop_time_ok in (True, None) else " (over its limit)"
    time = "not known" if cut.stop_time is None else f"{time_ms(cut.stop_time)} ms{over}"
    return (
        length(cut.cut_length, us),
        cut.verdict,
        share(cut.protected),
        share(cut.seen),
        share(cut.stopped_if_seen),
        time,
    )


def _print_pair(what: str, spread: float | None, worst: float | None, us: bool) -> None:
    from tripmargin.pictures.words import length

    def words(value: float | None) -> str:
        return "none" if value is None else length(value, us)

    click.echo(f"{what}: {words(spread)}; even at the worst place: {words(worst)}.")


def _print_reasons(proof: Proof, us: bool) -> None:
    if proof.because:
        click.echo("\nBecause:")
        for reason in proof.because:
            click.echo(f"  - {reason}")
    if proof.costs:
        click.echo(f"\nWhere the way goes ({'in' if us else 'mm'} of margin, at the worst cut):")
        unit = 0.0254 if us else 1e-3
        rows = [(cost.what, f"{cost.margin / unit:.{2 if us else 1}f}") for cost in proof.costs]
        for line in aligned(("stage or setting", "takes"), rows):
            click.echo(line)
    if proof.measure_next:
        click.echo("\nMeasure next:")
        for measure in proof.measure_next:
            for line in _measure_lines(measure):
                click.echo(line)
    click.echo("")


def _measure_lines(measure: Measure) -> list[str]:
    from tripmargin.pictures.words import percent

    said = "assumed" if measure.assumed else "now"
    lines = [
        f"  - {measure.field} ({said} {measure.written}):"
        f" {percent(measure.share)} of the doubt about the {measure.about}."
    ]
    return [*lines, f"    {measure.how}"] if measure.how else lines


def _changed(proof: Proof) -> str:
    return f"What if: {', '.join(proof.changed)} set otherwise." if proof.changed else ""


def _picture(proof: Proof) -> Picture | None:
    made = proof.protection_map
    if made is None:
        return None

    def draw(width: float, sun: bool, us: bool) -> str:
        from tripmargin.pictures import protection_map_picture

        return protection_map_picture(made, width=width, sun=sun, us=us)

    def verdicts(us: bool) -> tuple[Any, Any]:
        headers = ("cut", "piece", "verdict", "stopped", "seen", "in time if seen", "stop time")
        rows = [(row[0], cut.piece, *row[1:]) for cut in proof.cuts for row in (_row(cut, us),)]
        return headers, rows

    return Picture(
        f"Protection of {proof.machine_name}: {proof.verdict}",
        draw,
        lambda us: _map_table(made, us),
        page_table=verdicts,
    )


def _map_table(made: ProtectionMap, us: bool) -> tuple[Any, Any]:
    """The numbers behind the map, one row a cut and a ball."""
    from tripmargin.pictures.words import length_unit

    name, unit = length_unit(us)
    headers = (f"cut_{name}", f"ball_{name}", "missed", "too_late", "protected")
    rows = [
        (
            float(cut / unit),
            float(ball / unit),
            float(made.missed[i, j]),
            float(made.too_late[i, j]),
            float(made.protected[i, j]),
        )
        for i, cut in enumerate(made.cut_lengths)
        for j, ball in enumerate(made.diameters)
    ]
    return headers, rows
