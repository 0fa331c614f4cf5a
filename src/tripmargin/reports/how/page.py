"""How it works: one HTML file that plays a machine's stop and needs no network and no server."""

from __future__ import annotations

from collections.abc import Callable

from tripmargin.machine import Machine
from tripmargin.pictures.svg import clean
from tripmargin.reports.how.data import how_data
from tripmargin.reports.one_file import numbers_html, one_file, script_of, style_of
from tripmargin.sensing import Piece

SCRIPTS = ("make", "stop", "path", "panels", "plates", "table", "how")
_HERE = "tripmargin.reports.how"


def how_page(
    machine: Machine,
    *,
    cut_length: float,
    piece: Piece,
    progress: Callable[[float], None] | None = None,
) -> str:
    """The page as text.

    Parameters
    ----------
    machine : Machine
    cut_length : float, m
    piece : Piece
    progress : callable, optional
        Told the share that is done, 0 to 1.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the stop needs.
    ValueError
        If the cut length cannot be.
    """
    data = how_data(machine, cut_length=cut_length, piece=piece, progress=progress)
    body = (
        f'<main id="page"><h1>{clean(machine.name)}: how it stops</h1>\n'
        f'<p class="safety">{clean(data["safety"])}</p>\n'
        '<p id="no-script">This page needs its script: open it in a browser that runs scripts.</p>'
        f"</main>\n{numbers_html('how-data', data)}"
    )
    title = f"{machine.name}: how it stops"
    return one_file(title, style_of(_HERE), script_of(_HERE, SCRIPTS), body)
