"""An MDF file opened through its library, whose own complaints are said in our words."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from traceback import walk_tb
from typing import Any, cast

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.refusing import needs_extra, refusal


@contextmanager
def opened(original: Original) -> Iterator[Any]:
    """The library's file.

    Raises
    ------
    RecordingError
        Where the library is missing or cannot make sense of the file.
    """
    import warnings

    try:
        from asammdf import MDF
    except ImportError as error:
        raise needs_extra(original.path, "MDF4", "asammdf") from error
    with original.open() as plain, warnings.catch_warnings(), _unheard("asammdf"):
        warnings.simplefilter("ignore")  # about its own inner workings
        try:
            file = MDF(cast(Any, plain))
        except Exception as error:  # the library raises whatever a damaged block leads to
            _forget(error)
            why = str(error).rstrip(".")
            raise refusal(
                original.path,
                say("the MDF file is damaged: {why}", why=why),
                allowed=say("a whole file"),
                hint=say("Copy it from the logger again: the copy or the writing broke off."),
            ) from error
        try:
            yield file
        finally:
            file.close()


@contextmanager
def _unheard(name: str) -> Iterator[None]:
    """Without what a library tells its log about blocks that it cannot read: we say it."""
    import logging

    log = logging.getLogger(name)
    before, log.disabled = log.disabled, True
    try:
        yield
    finally:
        log.disabled = before


def _forget(error: Exception) -> None:
    """Keep a half-built file of the library from complaining when it is thrown away.

    Its own closing looks for parts that were never made, and says so on the error stream.
    """
    for frame, _ in walk_tb(error.__traceback__):
        half: Any = frame.f_locals.get("self")
        if type(half).__name__.startswith("MDF"):
            half.close = lambda: None
            if (scratch := getattr(half, "_tempfile", None)) is not None:
                scratch.close()
