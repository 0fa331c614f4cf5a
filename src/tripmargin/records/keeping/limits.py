"""How often: tries to sign in, and whatever else is limited in number.

Counted in the database, so that every process of the server counts along.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

from django.db import connection
from django.db.models import QuerySet
from django.utils import timezone

from tripmargin.records.keeping.in_turn import writing_in_turn
from tripmargin.records.store.models import LimitedAct, SignInAttempt
from tripmargin.records.store.models.people import name_key

# A slip of the thumb costs nothing; a guesser gets 13 tries an hour on a name, about 300 a day.
FREE_OF_NAME, FREE_OF_ADDRESS = 5, 20
FIRST_WAIT, LONGEST_WAIT = timedelta(seconds=30), timedelta(minutes=15)
REMEMBERED = timedelta(hours=1)


def try_to_sign_in(name: str, address: str) -> timedelta | None:
    """Take a try to sign in: None where it may be made, else how long to wait.

    A try that has to wait is not counted: nobody waits longer for having tapped twice. A name that
    nobody has waits as any other.
    """
    name = _name(name)
    with _one_at_a_time(f"name {name}", f"address {address}"):
        now = timezone.now()
        waits = [
            _wait(SignInAttempt.objects.filter(name=name), FREE_OF_NAME),
            _wait(SignInAttempt.objects.filter(address=address), FREE_OF_ADDRESS),
        ]
        ends = [end for end in waits if end is not None and end > now]
        if ends:
            return max(ends) - now
        SignInAttempt.objects.create(name=name, address=address, at=now)
    return None


def forget_tries(name: str) -> None:
    """The right password was given: the tries of this name count no more."""
    SignInAttempt.objects.filter(name=_name(name)).delete()


def _name(name: str) -> str:
    """One spelling for all that the same person is found by, and a little more.

    The capital of a dotless i is that of any other, as they look to many: the tries on both count
    together.

    >>> _name("M\u0131ke") == _name("MIKE")
    True
    """
    return name_key(name).upper().casefold()[:60]


def _wait(tries: QuerySet, free: int) -> datetime | None:
    """When the next try may be made, None for at once: 30 s, doubled with each try beyond."""
    recent = list(
        tries.filter(at__gt=timezone.now() - REMEMBERED)
        .order_by("-at")
        .values_list("at", flat=True)[: free + 10]
    )
    if len(recent) < free:
        return None
    last: datetime = recent[0]
    return last + min(FIRST_WAIT * 2 ** (len(recent) - free), LONGEST_WAIT)


def take_turn(what: str, by: str, *, times: int, within: timedelta) -> timedelta | None:
    """Take a turn at something that may be done `times` `within` a while.

    Returns
    -------
    timedelta or None
        None where the turn was taken, else how long to wait for the next one.
    """
    with _one_at_a_time(f"{what} {by}"):
        now = timezone.now()
        mine = LimitedAct.objects.filter(what=what, by=by)
        mine.filter(at__lte=now - within).delete()
        taken = list(mine.order_by("-at").values_list("at", flat=True)[:times])
        if len(taken) >= times:
            return max(taken[-1] + within - now, timedelta(seconds=1))
        LimitedAct.objects.create(what=what, by=by, at=now)
    return None


def turns_left(what: str, by: str, *, times: int, within: timedelta) -> timedelta | None:
    """How long to wait until a turn may be taken; None where there is one. Takes none."""
    now = timezone.now()
    mine = LimitedAct.objects.filter(what=what, by=by, at__gt=now - within).order_by("-at")
    taken = list(mine.values_list("at", flat=True)[:times])
    return max(taken[-1] + within - now, timedelta(seconds=1)) if len(taken) >= times else None


def forget_old() -> None:
    """Clear away what no limit looks at any more."""
    now = timezone.now()
    SignInAttempt.objects.filter(at__lt=now - REMEMBERED).delete()
    LimitedAct.objects.filter(at__lt=now - timedelta(days=1)).delete()


@contextmanager
def _one_at_a_time(*keys: str) -> Iterator[None]:
    """A transaction in which nobody else counts the same: else many at once would all be first."""
    with writing_in_turn():
        # SQLite has one writer at a time from the transaction's beginning (records/home.py).
        if connection.vendor == "postgresql":
            numbers = sorted(
                int.from_bytes(hashlib.sha256(key.encode()).digest()[:8], "big", signed=True)
                for key in keys
            )
            with connection.cursor() as cursor:
                for number in numbers:
                    cursor.execute("SELECT pg_advisory_xact_lock(%s)", [number])
        yield
