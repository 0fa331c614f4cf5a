"""A complaint that a person typed: by its name, by its words in their language, by its sentence."""

from __future__ import annotations

import click

from tripmargin.ground.languages import say


def complaint_meant(text: str) -> str:
    """The name of the complaint that was typed; else the text itself, unknown.

    >>> complaint_meant("Dead"), complaint_meant("squeaks")
    ('dead', 'squeaks')
    """
    from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
    from tripmargin.faultfinding.wording.readings import complaint_of
    from tripmargin.pictures.trade_words import complaint_words

    words = {complaint_words(name).lower(): name for name in COMPLAINTS}
    return words.get(text.strip().lower()) or complaint_of(text)


def refuse_unknown_complaint(complaint: str) -> None:
    """Refuse a complaint that there is not, before the machine is read."""
    from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
    from tripmargin.ground.errors import nearest
    from tripmargin.pictures.trade_words import complaint_words

    if complaint_meant(complaint) in COMPLAINTS:
        return
    known = [complaint_words(name) for name in COMPLAINTS]
    near = nearest(complaint, [*known, *COMPLAINTS])
    if near:
        hint = say('Did you mean "{near}"?', near=near)
    else:
        hint = say("Complaints: {known}.", known=", ".join(known))
    refused = say('--complaint: there is no complaint "{complaint}".', complaint=complaint)
    raise click.UsageError(f"{refused} {hint}")
