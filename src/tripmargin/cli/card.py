"""`tripmargin card`: the phone card of a machine, one file that needs no network."""

from __future__ import annotations

from pathlib import Path

import click

from tripmargin.cli.output import machine_argument, machine_with
from tripmargin.cli.progress import working
from tripmargin.ground.languages import say


@click.command()
@machine_argument
@click.option(
    "--save",
    metavar="FILE",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Where to. Default: card-NAME.html in this folder.",
)
@click.option("--from-log", is_flag=True, help="Learn from the adjustments in this machine's log.")
@click.option("--us", is_flag=True, help="Inches and other US units.")
def card(machine: str, save: Path | None, from_log: bool, us: bool) -> None:
    """Write a machine's card for the phone: daily check, finding faults, pawls, protection.

    One HTML file. Bring it onto the phone by cable, by mail or on a stick, and open it in the
    browser: it needs no network and no server. What is entered is kept on the phone and comes back
    as a file or as codes: `tripmargin log import`.
    """
    from tripmargin.pictures.save import write_whole
    from tripmargin.reports.card.page import card_page

    loaded = machine_with(machine, ())
    history = []
    if from_log:
        from tripmargin.cli.setting_past import past_from_log
        from tripmargin.stopping.stages import pawls_of

        history = past_from_log(loaded.name, [pawl.name for pawl in pawls_of(loaded)])
    path = save or Path(f"card-{_plain(loaded.name)}.html")
    if path.suffix.lower() not in (".html", ".htm"):
        raise click.UsageError(
            say("--save = {path}: not a page. Allowed: a name that ends in .html.", path=path)
        )
    with working(say("making the card")) as progress:
        text = card_page(loaded, us=us, history=history, progress=progress)
    write_whole(path, text.encode())
    click.echo(say("Saved: {path} ({size:.0f} kB).", path=path, size=len(text.encode()) / 1000))


def _plain(name: str) -> str:
    """A name that every system takes for a file."""
    return "".join(c if c.isalnum() else "-" for c in name).strip("-").lower() or "machine"
