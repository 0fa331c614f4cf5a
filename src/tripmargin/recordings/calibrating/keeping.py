"""What was learned, made ready for the machine's file: the values, and that they were measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from tripmargin.ground.errors import QuantityError
from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine
from tripmargin.machine.measured_section import MeasuredField, MeasuredValues, drift_of
from tripmargin.recordings.calibrating.writing_back import CalibratedField
from tripmargin.recordings.recording import RecordingError

NO_DRIFT = later(
    "No drift a year is given: the file keeps these values as sure as they are today,"
    " however old they become, and `prove` says so."
)
_NEAR_ZERO = 1e-12


def drifts(
    fields: Sequence[CalibratedField], given: str | Mapping[str, str] | None
) -> dict[str, str]:
    """The drift a year of each learned field, as `[[measured.fields]]` takes it.

    Parameters
    ----------
    fields : sequence of CalibratedField
        That are to be kept.
    given : str, mapping of path to str, or None
        One for all, a share such as "3 %", or a field's own, a share or a width such as "0.2 mm";
        the key "" of a mapping is for all that it does not name. None: none is given to any.

    Returns
    -------
    dict of path to str
        Fields without a drift are left out: age does not widen them (`NO_DRIFT`).

    Raises
    ------
    RecordingError
        If a drift cannot be read, is of another kind than its field, does not widen it, or is of a
        field that is not kept.

    Examples
    --------
    >>> from tripmargin.ground.quantities import quantity
    >>> gain = quantity("900 +- 50 (sd)", "number")
    >>> drifts([CalibratedField("detector.gain", gain, gain)], "3 %")
    {'detector.gain': '3 %'}
    """
    own = {"": given} if isinstance(given, str) else dict(given or {})
    everywhere = own.pop("", None)
    known = {each.path: each.after for each in fields}
    for path in own:
        if path not in known:
            raise RecordingError(
                say(
                    "Drift of {path}: no field that was learned. Allowed: {known}.",
                    path=path,
                    known=", ".join(known) or say("none"),
                )
            )
    made = {}
    for path, value in known.items():
        text = own.get(path, everywhere)
        if text is None:
            continue
        try:
            out = drift_of(text, value)
        except QuantityError as error:
            words = say(
                'Drift of {path} = "{text}": {problem}. Allowed: a share of the value such as'
                ' "3 %", or {allowed}.',
                path=path,
                text=text,
                problem=error.problem,
                allowed=error.allowed,
            )
            if path not in own:
                hint = say('Give this field its own: {path}="…".', path=path)
                words = f"{words} {hint}"
            raise RecordingError(words) from None
        if out > _NEAR_ZERO:
            made[path] = text
        elif path in own:
            raise RecordingError(
                say(
                    'Drift of {path} = "{text}": that is nothing, as the value is {shown}.'
                    " Give it a width in its own unit, or leave it out.",
                    path=path,
                    text=text,
                    shown=value.shown(),
                )
            )
    return made


def measured_entries(
    fields: Sequence[CalibratedField],
    *,
    on: date,
    by: str | None = None,
    how: str | None = None,
    drift: str | Mapping[str, str] | None = None,
) -> list[MeasuredField]:
    """What `[[measured.fields]]` says of learned fields, for `machine.measured_text.with_measured`.

    Parameters
    ----------
    fields : sequence of CalibratedField
    on : date
        Of the last finding that they were learned from.
    by, how : str, optional
        By whom and with what. How sure a field is by itself is put behind `how` where the file has
        it surer.
    drift : str or mapping, optional
        As for `drifts`.

    Raises
    ------
    RecordingError
        As `drifts`.
    """
    moving = drifts(fields, drift)
    return [
        MeasuredField(
            field=each.path,
            on=on.isoformat(),
            by=by,
            how="; ".join(part for part in (how, _by_itself(each)) if part) or None,
            drift=moving.get(each.path),
        )
        for each in fields
    ]


def as_measured(machine: Machine, fields: Sequence[CalibratedField]) -> Machine:
    """The machine with the learned fields, its `[[measured.fields]]` saying so as of today."""
    changed = machine.with_settings({each.path: each.after for each in fields})
    kept = machine.measured.fields if machine.measured is not None else ()
    learned = {each.path for each in fields}
    entries = measured_entries(fields, on=date.today())
    others = (entry for entry in kept if entry.field not in learned)
    return replace(changed, measured=MeasuredValues(fields=(*others, *entries)))


def simplified(fields: Sequence[CalibratedField], notes: Sequence[str]) -> tuple[str, ...]:
    """What a file with these fields does not say as it was learned, in sentences."""
    if not fields:
        return tuple(notes)
    made = [
        say(
            "The file holds each field by itself, as if none hung on another. Their limits"
            " are chosen so that the ball that is just seen, the pieces that were passed and"
            " the stop time are as sure as was learned; do not read a single field from them."
        )
    ]
    if count := sum(1 for each in fields if each.alone is not None):
        made.append(
            say(
                "{count} of the {fields} fields are written surer than each is known by"
                " itself; how sure that is stands behind each.",
                count=count,
                fields=len(fields),
            )
        )
    return (*made, *notes)


def _by_itself(one: CalibratedField) -> str:
    # It is written into the machine file, in the file's own words.
    return f"by itself known to {one.said_alone}" if one.said_alone else ""
