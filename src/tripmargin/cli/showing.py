"""`tripmargin show`: how a machine stops, as one page that plays it."""

from __future__ import annotations

from pathlib import Path

import click

from tripmargin.cli.output import (
    length_of,
    machine_argument,
    machine_with,
    piece_of,
    what_if_option,
)
from tripmargin.cli.progress import working
from tripmargin.ground.languages import say


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
@click.option("--x", metavar="LENGTH", help="Its place across the roll, from the middle.")
@click.option("--height", metavar="LENGTH", help="Its height above the lower front roll.")
@what_if_option
@click.option("--us", is_flag=True, help="US units instead of metric.")
@click.option(
    "--save",
    metavar="FILE",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Where to. Default: how-NAME.html in this folder.",
)
def show(
    machine: str,
    cut: str | None,
    piece: str | None,
    x: str | None,
    height: str | None,
    settings: tuple[str, ...],
    us: bool,
    save: Path | None,
) -> None:
    """Write a page that plays the whole stop, for a projector or a phone.

    One HTML file that needs no network: a piece drifts over the sensor, the trip latches, the
    plunger falls, the pawls catch, the metal stops. Play it slowly, move along it, cut the power,
    and see what a longer cut, a weaker magnet or a wider gap changes. With --x the piece comes at
    another place, such as one that the sensor is blind to. With --set the machine so set and as its
    file has it stand one below the other, on one clock.
    """
    from tripmargin.ground.errors import NotKnownError
    from tripmargin.pictures.save import write_whole
    from tripmargin.reports.how.page import how_page
    from tripmargin.sensing import Piece

    before = machine_with(machine, ())
    loaded = machine_with(machine, settings)
    what = Piece.from_text(loaded.limits.must_stop) if piece is None else piece_of(piece)
    path = save or Path(f"how-{_plain(loaded.name)}.html")
    if path.suffix.lower() not in (".html", ".htm"):
        raise click.UsageError(
            say("--save = {path}: not a page. Allowed: a name that ends in .html.", path=path)
        )
    if cut is not None:
        length = length_of(cut, "--cut")
    elif loaded.feed is not None and loaded.feed.cut_lengths:
        length = loaded.feed.cut_lengths[-1]
    else:
        raise NotKnownError(say("the stop"), (say("feed.cut_lengths (or --cut)"),))
    across = None if x is None else length_of(x, "--x")
    above = None if height is None else length_of(height, "--height")
    with working(say("working out the stop")) as progress:
        text = how_page(
            loaded, cut_length=length, piece=what, x=across, height=above,
            before=before if settings else None, us=us, progress=progress,
        )  # fmt: skip
    write_whole(path, text.encode())
    click.echo(say("Saved: {path} ({size:.0f} kB).", path=path, size=len(text.encode()) / 1000))


def _plain(name: str) -> str:
    """A name that every system takes for a file."""
    return "".join(c if c.isalnum() else "-" for c in name).strip("-").lower() or "machine"
