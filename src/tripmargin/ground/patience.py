"""A limit on how long something may be worked out, for where others wait.

Whoever sets a limit does so around the whole work; the work itself asks now and then, between two
pieces of it, whether there is still time. Without a limit it goes on for as long as it takes. What
counts is what the work itself takes of a core, so that nothing fails because others are busy.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say

_until: ContextVar[tuple[float, float] | None] = ContextVar("until", default=None)


class TooLongError(TripmarginError):
    """Work that was given up, as it took longer than it may here."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        super().__init__(say("It was given up after {seconds:.0f} s of work.", seconds=seconds))


@contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """Within it, `still_time` raises once this thread has worked for so many seconds.

    Examples
    --------
    >>> with at_most(60):
    ...     still_time()
    """
    token = _until.set((time.thread_time() + seconds, seconds))
    try:
        yield
    finally:
        _until.reset(token)


def still_time() -> None:
    """Go on if there is still time.

    Raises
    ------
    TooLongError
        If the time that `at_most` gives has gone.
    """
    limit = _until.get()
    if limit is not None and time.thread_time() > limit[0]:
        raise TooLongError(limit[1])
