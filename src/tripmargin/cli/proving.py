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
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.pictures import Section
    from tripmargin.protection import Proof, ProtectionMap


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
    with working(say("proving"), quiet=output.as_json) as progress:
        proof = protection.prove(
            loaded, cut_lengths=wanted_cuts, pieces=wanted_pieces, progress=progress
        )
    output.show(proof, lines=lambda: _print(proof, output.us), picture=_picture(proof))


def _print(proof: Proof, us: bool) -> None:
    from tripmargin.cli.proof_words import print_proof

    print_proof(proof, us)


def _picture(proof: Proof) -> Picture | None:
    made = proof.protection_map
    if made is None:
        return None

    def draw(width: float, sun: bool, us: bool) -> str:
        from tripmargin.pictures import protection_map_picture

        return protection_map_picture(made, width=width, sun=sun, us=us)

    def verdicts(us: bool) -> tuple[Any, Any]:
        from tripmargin.pictures.proof_sections import page_table

        return page_table(proof, us)

    def sections(us: bool) -> tuple[Section, ...]:
        from tripmargin.pictures.proof_sections import page_sections

        return page_sections(proof, us)

    from tripmargin.machine.asking import CAUTIONS
    from tripmargin.pictures.words import said

    return Picture(
        say(
            "Protection of {machine}: {verdict}",
            machine=proof.machine_name,
            verdict=said(proof.verdict),
        ),
        draw,
        lambda us: _map_table(made, us),
        page_table=verdicts,
        sections=sections,
        cautions=(say(CAUTIONS),),
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
