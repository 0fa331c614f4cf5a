"""Past settings as a person writes them, and as the log has them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from tripmargin.cli.log_opening import with_records
from tripmargin.cli.output import length_of
from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.languages import later, say
from tripmargin.records.standing.past_settings import signed_turns

if TYPE_CHECKING:
    from tripmargin.stopping import Adjustment

_ALLOWED = later(
    'such as --past "lower 6.2 mm to 3.7 mm, 1.5 turns; upper 4.1 mm to 3.9 mm, untouched"'
)
_PAWL = re.compile(
    r"\s*(?P<name>\S.*?)\s+(?P<before>[\d.].*?)\s+to\s+(?P<after>[\d.][^,]*?)\s*"
    r"(?:,\s*(?P<turns>\d+(?:\.\d+)?)\s*turns?|,\s*(?P<stayed>untouched))?\s*"
)


def past_setting(text: str) -> Adjustment:
    """A past setting as `--past` has it; which way the clevis went is told by the gaps.

    >>> one = past_setting("lower 6.2 mm to 3.7 mm, 1.5 turns; upper 4.1 mm to 3.9 mm, untouched")
    >>> one.turns, one.untouched
    ({'lower': -1.5}, ('upper',))
    """
    from tripmargin.stopping import Adjustment

    before, after, turns, stayed = {}, {}, {}, []
    for part in typed(text).split(";"):
        match = _PAWL.fullmatch(part)
        if match is None:
            raise click.UsageError(
                say(
                    '--past: "{text}" is not a past setting; {allowed}.',
                    text=part.strip(),
                    allowed=say(_ALLOWED),
                )
            )
        name = match["name"]
        if name in before:
            raise click.UsageError(
                say("--past: the {name} pawl stands twice in one setting.", name=name)
            )
        before[name] = length_of(match["before"], "--past")
        after[name] = length_of(match["after"], "--past")
        if match["turns"] is not None:
            turns[name] = signed_turns(float(match["turns"]), before[name], after[name])
        if match["stayed"]:
            stayed.append(name)
    return Adjustment(before, after, turns=turns, untouched=tuple(stayed))


@with_records
def past_from_log(name: str, pawls: Sequence[str]) -> list[Adjustment]:
    """The adjustments of a machine's log that are in force, oldest first.

    Gaps as found and as left are fields of the entry, and so are the turns; see
    `records.standing.past_settings`.
    """
    from tripmargin.records.exchange.naming import machine_named
    from tripmargin.records.standing.past_settings import past_settings

    return past_settings(machine_named(name), pawls)
