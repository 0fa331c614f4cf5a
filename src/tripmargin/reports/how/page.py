"""How it works: one HTML file that plays a machine's stop and needs no network and no server."""

from __future__ import annotations

from collections.abc import Callable

from tripmargin.ground.languages import say
from tripmargin.machine import Machine
from tripmargin.pictures.svg import clean
from tripmargin.reports.how.data import how_data
from tripmargin.reports.one_file import numbers_html, one_file, policy_of, script_of, style_of
from tripmargin.sensing import Piece

SCRIPTS = ("make", "stop", "states", "path", "panels", "plates", "table", "beside", "how")
_HERE = "tripmargin.reports.how"


def how_page(
    machine: Machine,
    *,
    cut_length: float,
    piece: Piece,
    x: float | None = None,
    height: float | None = None,
    before: Machine | None = None,
    us: bool = False,
    sun: bool = False,
    back: str = "",
    progress: Callable[[float], None] | None = None,
) -> str:
    """The page as text.

    Parameters
    ----------
    machine : Machine
    cut_length : float, m
    piece : Piece
    x, height : float, m, optional
        Where it comes; see `how_data`.
    before : Machine, optional
        The same machine before its settings were changed, to be shown beside.
    us : bool
        US units instead of metric.
    sun : bool
        Begin with the greatest contrast.
    back : str
        Address of the page that this one was opened from; without one there is no way back.
    progress : callable, optional
        Told the share that is done, 0 to 1.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the stop needs.
    ValueError
        If the cut length or the place cannot be.
    """
    data = how_data(
        machine, cut_length=cut_length, piece=piece, x=x, height=height, before=before, us=us,
        progress=progress,
    )  # fmt: skip
    data["sun"] = sun
    title = say("{machine}: how it stops", machine=machine.name)
    needs = say("This page needs its script: open it in a browser that runs scripts.")
    way = say("Back to {machine}", machine=machine.name)
    body = (
        (f'<nav><a href="{clean(back)}">{clean(way)}</a></nav>\n' if back else "")
        + f'<main id="page"><h1>{clean(title)}</h1>\n'
        f'<p class="safety">{clean(data["safety"])}</p>\n'
        f'<p id="no-script">{clean(needs)}</p>'
        f"</main>\n{numbers_html('how-data', data)}"
    )
    return one_file(title, style_of(_HERE), script_of(_HERE, SCRIPTS), body)


def how_policy() -> str:
    """The policy of the page's head, for whoever serves it: the header must allow no less."""
    return policy_of(style_of(_HERE), script_of(_HERE, SCRIPTS))
