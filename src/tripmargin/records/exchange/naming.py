"""Finding what a person names: a machine by its name, an entry by the beginning of its id."""

from __future__ import annotations

import re
from collections.abc import Iterable
from uuid import UUID

from tripmargin.ground.errors import nearest, shortened
from tripmargin.ground.languages import say
from tripmargin.records.home import RecordsError
from tripmargin.records.store.models import Entry, Machine

SHORTEST_ID = 4  # signs of an id


class NoSuchNameError(RecordsError, ValueError):
    """Nothing in the records has this name, or several things have it."""


def machine_named(name: str) -> Machine:
    """The machine of a name, whatever its capitals.

    Raises
    ------
    NoSuchNameError
        With the nearest name.
    """
    machines = {str(one.name): one for one in Machine.objects.order_by("name")}
    found = name_meant(name, machines)
    return machines[found]


def name_meant(name: str, names: Iterable[str]) -> str:
    """The one of the names that is meant, whatever its capitals; raises as `machine_named`."""
    known = list(names)
    if name in known:
        return name
    same = [one for one in known if one.casefold() == name.strip().casefold()]
    if len(same) == 1:
        return same[0]
    if same:
        raise NoSuchNameError(
            say(
                '"{name}" may be: {same}.\n  Write it as it is there.',
                name=name,
                same=", ".join(same),
            )
        )
    if not known:
        raise NoSuchNameError(
            say(
                'There is no machine "{name}": the records hold none yet.\n  Put one in:'
                " tripmargin log take FILE.",
                name=shortened(name),
            )
        )
    near = nearest(name.casefold(), [one.casefold() for one in known])
    meant = next((one for one in known if one.casefold() == near), None)
    mend = say("There are: {known}.", known=_some(known))
    if meant:
        mend = say('Did you mean "{meant}"?', meant=meant)
    raise NoSuchNameError(
        say(
            'There is no machine "{name}" in the records.\n  {mend}',
            name=shortened(name),
            mend=mend,
        )
    )


def entry_named(text: str, machine: Machine | None = None) -> Entry:
    """The entry whose id begins so.

    Raises
    ------
    NoSuchNameError
        If none does, or several do.
    """
    digits = text.strip().lower().replace("-", "")
    if not re.fullmatch(rf"[0-9a-f]{{{SHORTEST_ID},32}}", digits):
        raise NoSuchNameError(
            say(
                '"{text}" is no id of an entry.\n  Allowed: its first {least} signs or'
                " more, as `tripmargin log show` prints it.",
                text=shortened(text),
                least=SHORTEST_ID,
            )
        )
    low, high = UUID(digits.ljust(32, "0")), UUID(digits.ljust(32, "f"))
    entries = Entry.objects.select_related("machine").filter(uid__gte=low, uid__lte=high)
    if machine is not None:
        entries = entries.filter(machine=machine)
    found = list(entries[:2])
    if len(found) == 1:
        only: Entry = found[0]
        return only
    if found and machine:
        raise NoSuchNameError(
            say(
                "Several ids of {machine} begin with {text}.\n  Write more of it.",
                machine=machine,
                text=text,
            )
        )
    if found:
        raise NoSuchNameError(say("Several ids begin with {text}.\n  Write more of it.", text=text))
    if machine:
        raise NoSuchNameError(
            say(
                "No entry of {machine} has an id that begins with {text}.\n  The ids stand at the"
                " left of: tripmargin log show MACHINE.",
                machine=machine,
                text=text,
            )
        )
    raise NoSuchNameError(
        say(
            "No entry has an id that begins with {text}.\n  The ids stand at the left of:"
            " tripmargin log show MACHINE.",
            text=text,
        )
    )


def _some(names: list[str], most: int = 8) -> str:
    named = ", ".join(names[:most])
    if len(names) > most:
        return say("{named} and {more} more", named=named, more=len(names) - most)
    return named
