"""What every `tripmargin log` command shares: the records are open, who writes, and when."""

from __future__ import annotations

import functools
import getpass
from collections.abc import Callable
from datetime import datetime
from typing import Any

import click

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say

LONGEST_WHO = 60


def with_records(command: Callable[..., Any]) -> Callable[..., Any]:
    """Open the records first, and tell of a database's trouble in plain words."""

    @functools.wraps(command)
    def opened(*args: Any, **more: Any) -> Any:
        from tripmargin.records.home import RecordsError, way_out
        from tripmargin.records.opening import open_records

        open_records()
        from django.db import DatabaseError, connections

        try:
            return command(*args, **more)
        except DatabaseError as error:
            said = str(error).strip().partition("\n")[0]
            where = connections["default"].settings_dict["NAME"]
            raise RecordsError(
                say(
                    "{where}: the database refused: {why}. Nothing was written.",
                    where=where,
                    why=said,
                )
                + f"\n  {way_out(said)}".rstrip()
            ) from error
        finally:
            connections.close_all()

    return opened


def who_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--who NAME`; without it, the login name of the computer."""
    return click.option(
        "--who",
        metavar="NAME",
        callback=_who,
        help="Who enters it. Default: your login name on this computer.",
    )(command)


def _who(_: click.Context, __: click.Parameter, given: str | None) -> str:
    name = given.strip() if given is not None else _login_name()
    if not 0 < len(name) <= LONGEST_WHO or "\0" in name:
        raise click.BadParameter(
            say(
                "a name of 1 to {most} letters, not {name!r}.",
                most=LONGEST_WHO,
                name=shortened(name),
            )
        )
    return name


def _login_name() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError) as error:
        raise click.BadParameter(say("this computer has no login name; give one.")) from error


def time_of(text: str, option: str) -> datetime:
    """A time as a person writes it, ISO 8601; without a zone it is this computer's."""
    try:
        return datetime.fromisoformat(text.strip()).astimezone()
    except (ValueError, OverflowError, OSError) as error:
        raise click.UsageError(
            say(
                '{option} = "{text}": not a time. Allowed: ISO 8601, such as "2026-03-01",'
                ' "2026-03-01 07:30" or "2026-03-01T07:30+01:00"; without a zone it is the'
                " local one.",
                option=option,
                text=shortened(text),
            )
        ) from error


def local(moment: datetime) -> str:
    """A time for people: local, with its zone.

    >>> from datetime import UTC
    >>> len(local(datetime(2026, 3, 1, 7, 30, tzinfo=UTC)))
    23
    """
    here = moment.astimezone()
    zone = f"{here:%z}"
    return f"{here:%Y-%m-%d %H:%M} {zone[:3]}:{zone[3:5]}"
