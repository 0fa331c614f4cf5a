"""Pawls that were set into the log: one adjustment, once."""

from __future__ import annotations

from uuid import uuid4

from django.http import HttpRequest, HttpResponse

from tripmargin.ground.languages import later, say
from tripmargin.pictures.trade_words import pawl_place
from tripmargin.records.keeping.entries import EntryConflictError, NewEntry, write_entry
from tripmargin.records.kinds import EntryError
from tripmargin.records.kinds.fields import Value
from tripmargin.records.standing.meanings import AFTER, BEFORE
from tripmargin.records.standing.past_settings import TURNS
from tripmargin.records.store.models import Entry, Machine
from tripmargin.stopping.setting.rounds import Round, net_turns
from tripmargin.stopping.setting.step_words import gap_words, turns_words
from tripmargin.web.measuring.stop_into_log import to_log
from tripmargin.web.setting.pawl_form import PawlForm
from tripmargin.web.setting.pawl_work import PawlWork

SENT_ALREADY = later(
    "This form was sent already with other values, and these are in the log. Look there; to keep"
    " what stands here as a second entry, press the button once more."
)
_LEAST_TURN = 1e-6


def keep_setting(
    request: HttpRequest, machine: Machine, form: PawlForm, work: PawlWork
) -> HttpResponse | str:
    """Into the log, and the log's page; or why it cannot be taken."""
    values, note = values_of(form, work), note_of(form, work)
    there = Entry.objects.filter(uid=form.uid).first()
    if there is not None:
        same = (there.machine_id, there.kind, there.values) == (machine.pk, "adjustment", values)
        if same:
            return to_log(machine, there.uid)
        form.uid = uuid4()
        return say(SENT_ALREADY)
    new = NewEntry(kind="adjustment", values=values, uid=form.uid, note=note)
    try:
        entry = write_entry(machine, new, who=request.user).entry
    except EntryConflictError:
        form.uid = uuid4()
        return say(SENT_ALREADY)
    except EntryError as error:
        return str(error)
    return to_log(machine, entry.uid)


def values_of(form: PawlForm, work: PawlWork) -> dict[str, Value]:
    """Gaps before and after, turns and the feeler's step, SI.

    A gap that others may have moved since it was read is not given as left; nor is an assumed step
    of the feeler.
    """
    values: dict[str, Value] = {}
    net = net_turns(form.rounds)
    moved = {one.pawl for one in form.rounds if one.moved}
    for pawl, gap in work.begun.steps.readings.items():
        values[f"{BEFORE}{pawl}"] = gap
        known = work.known[pawl]
        if known.fresh:
            values[f"{AFTER}{pawl}"] = known.gap
        if pawl not in moved:
            values[f"{TURNS}{pawl}"] = 0.0
        elif abs(net.get(pawl, 0.0)) > _LEAST_TURN:
            values[f"{TURNS}{pawl}"] = abs(net[pawl])
    adjusters = work.steps.adjusters
    if form.feeler.text.strip() or not any(
        one.startswith("chain.feeler_step") for one in adjusters.assumed
    ):
        values["feeler_m"] = adjusters.feeler_step
    return values


def note_of(form: PawlForm, work: PawlWork) -> str:
    """What was done, in the order in which it was."""
    if not any(one.moved for one in form.rounds):
        return say("Measured with the setting's page; nothing was moved.")
    aims = ", ".join(
        f"{pawl_place(aim.pawl)} {gap_words(aim.gap)}" for aim in work.steps.aims.pawls
    )
    done = "; ".join(map(_done, form.rounds))
    return say("Set step by step. {done}. Aim: {aims}.", done=done, aims=aims)[:1900]


def _done(one: Round) -> str:
    """What was done to a pawl, and read then."""
    told = {"pawl": pawl_place(one.pawl), "gap": gap_words(one.gap)}
    if one.turns is None:
        if one.placed:
            return say("{pawl}: clamp placed, read {gap}", **told)
        return say("{pawl}: measured, read {gap}", **told)
    told["turns"] = turns_words(one.turns, 0.5)
    if one.turns > 0:
        return say("{pawl}: opened by {turns} of its clevis, read {gap}", **told)
    return say("{pawl}: closed by {turns} of its clevis, read {gap}", **told)
