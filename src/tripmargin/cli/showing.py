"""`tripmargin show`: how a machine stops, as one page that plays it."""

from __future__ import annotations

from pathlib import Path

import click

from tripmargin.cli.output import length_of, machine_argument, machine_with, piece_of
from tripmargin.cli.progress import working


@click.command()
@machine_argument
@click.option(
    "--cut", metavar="LENGTH", help='Cut length, such as "9 mm". Default: the longest on offer.'
)
@click.option(
    "--piece",
    metavar="PIECE",
    help='What comes, such as "20 mm ball". Default: the machine file\'s must_stop.',
)
@click.option(
    "--save",
    metavar="FILE",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Where to. Default: how-NAME.html in this folder.",
)
def show(machine: str, cut: str | None, piece: str | None, save: Path | None) -> None:
    """Write a page that plays the whole stop, for a projector or a phone.

    One HTML file that needs no network: a piece drifts over the sensor, the trip latches, the
    plunger falls, the pawls catch, the metal stops. Play it slowly, move along it, cut the power,
    and see what a longer cut, a weaker magnet or a wider gap changes.
    """
    from tripmargin.ground.errors import NotKnownError
    from tripmargin.reports.how.page import how_page
    from tripmargin.sensing import Piece

    loaded = machine_with(machine, ())
    what = Piece.from_text(loaded.limits.must_stop) if piece is None else piece_of(piece)
    path = save or Path(f"how-{_plain(loaded.name)}.html")
    if path.suffix.lower() not in (".html", ".htm"):
        raise click.UsageError(f"--save = {path}: not a page. Allowed: a name that ends in .html.")
    if cut is not None:
        length = length_of(cut, "--cut")
    elif loaded.feed is not None and loaded.feed.cut_lengths:
        length = loaded.feed.cut_lengths[-1]
    else:
        raise NotKnownError("the stop", ("feed.cut_lengths (or --cut)",))
    with working("working out the stop") as progress:
        text = how_page(loaded, cut_length=length, piece=what, progress=progress)
    path.write_text(text, "utf-8")
    click.echo(f"Saved: {path} ({len(text.encode()) / 1000:.0f} kB).")


def _plain(name: str) -> str:
    """A name that every system takes for a file."""
    return "".join(c if c.isalnum() else "-" for c in name).strip("-").lower() or "machine"
