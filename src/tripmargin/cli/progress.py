"""A bar for anything that takes over a second, on a terminal's error stream only."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

PATIENCE = 1.0  # s; below this nobody wonders
_REDRAWN = 0.1  # s


@contextmanager
def working(what: str, *, quiet: bool = False) -> Iterator[Callable[[float], None]]:
    """Show that work goes on, from a second after its start until its end.

    Hands out a function to tell the share done, 0 to 1; where nobody calls it the bar only moves.
    The drawing runs beside the work, in a thread of its own.
    """
    share: list[float] = []
    if quiet or not sys.stderr.isatty():
        yield share.append
        return
    done = threading.Event()
    drawer = threading.Thread(target=_draw, args=(what, share, done), daemon=True)
    drawer.start()
    try:
        yield share.append
    finally:
        done.set()
        drawer.join()


def _draw(what: str, share: list[float], done: threading.Event) -> None:
    if done.wait(PATIENCE):
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task(what, total=None)
        while not done.wait(_REDRAWN):
            if share:
                progress.update(task, total=1.0, completed=share[-1])
