"""Setting the pawls, one step at a time: gaps as found, what to do, what was read, into the log."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, numeral, say, say_as
from tripmargin.pictures.adjuster_words import adjuster_rows
from tripmargin.pictures.pawl_gaps import pawl_gaps_picture
from tripmargin.pictures.setting_words import before_after, gap_table, learned_lines, leave_line
from tripmargin.pictures.trade_words import pawl_place
from tripmargin.pictures.words import said
from tripmargin.protection.setting.pawls import QUICK_SHORT
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.sensing.piece_said import said_piece
from tripmargin.stopping.setting import Adjusters, SettingError, adjusters_of
from tripmargin.stopping.setting.rounds import Round
from tripmargin.stopping.setting.step_words import CAUTIONS, prove_words
from tripmargin.web.doors.roles import LOG, needs
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.machines.working import a_few_at_once
from tripmargin.web.setting.asked import said_in
from tripmargin.web.setting.lengths import in_box
from tripmargin.web.setting.pawl_card import Card, as_turned, card_of, done_so_far, otherwise
from tripmargin.web.setting.pawl_form import GAP, PawlForm
from tripmargin.web.setting.pawl_work import PawlWork, pawl_work
from tripmargin.web.setting.pawls_into_log import keep_setting
from tripmargin.web.setting.rounds_sent import RoundError, did_of, round_of

CHANGED = later(
    "Another version of the machine's file came into force meanwhile: from here on the steps are"
    " worked out with that. What you measured stays as it is."
)
TURNED_OTHERWISE = later(
    "The gap went the other way than it was to: it is taken that the clevis was turned the other"
    " way. If it was not, take this reading back and measure again."
)
UNIT_WORDS = (("mm", later("millimetres")), ("in", later("inches")))
_WIDEST = 400.0  # px; on a desk the drawing stands beside the step
NO_PAWLS = later(
    "The machine's file names no pawls (chain.pawls): there is nothing to set here yet."
)
NOTHING_TO_TAKE_BACK = later("There is no reading to take back.")


@dataclass(slots=True)
class Asked:
    """One request: the machine, the form, and what is told of it besides."""

    request: HttpRequest
    said: QueryDict
    machine: Machine
    version: MachineVersion
    form: PawlForm
    notices: list[str] = field(default_factory=list)
    reading: str = ""
    turned: str = ""

    def work(self) -> PawlWork | None:
        """Where the work stands; None where the gaps tell nothing, and then it is said beside."""
        readings, feeler = self.form.read()
        if not self.form.good:
            return None
        try:
            return self._worked_out(readings, feeler, self.form.rounds)
        except SettingError as error:
            self.form.refuse(error)
        return None

    def with_round(self, one: Round) -> PawlWork | SettingError:
        """The work with one reading more, which is kept in the form; or why it cannot be."""
        readings, feeler = self.form.read()
        rounds = (*self.form.rounds, one)
        try:
            made = self._worked_out(readings, feeler, rounds)
        except SettingError as error:
            return error
        self.form.rounds = rounds
        return made

    def _worked_out(
        self, readings: dict[str, float], feeler: float | None, rounds: tuple[Round, ...]
    ) -> PawlWork:
        return pawl_work(
            self.machine, self.version, readings, rounds, feeler=feeler, best=self.form.best
        )


@needs(LOG)
@require_http_methods(["GET", "HEAD", "POST"])
@a_few_at_once
def pawls(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The gaps as found; then step by step; then the log."""
    machine = machine_at(uid)
    version = version_at(machine)
    loaded = machine_of(version)
    said = said_in(request)
    try:
        adjusters = adjusters_of(loaded)
    except NotKnownError:
        page = {**_frame(machine, version), "trouble": say(NO_PAWLS)}
        return render(request, "setting/pawls.html", page)
    asked = Asked(request, said, machine, version, _form(request, said, adjusters, loaded.chain))
    if not any(key.startswith(GAP) for key in said):
        return _gaps(asked, status=200)
    if said.get("version") not in (None, str(version.number)):
        asked.notices.append(say(CHANGED))
    if said.get("do") == "again":
        asked.form.read()
        return _gaps(asked, status=200)
    try:
        work = asked.work()
    except NotKnownError as error:
        asked.form.troubles.append(str(error))
        work = None
    if work is None:
        return _gaps(asked, status=422)
    return _go_on(asked, work)


def _form(request: HttpRequest, said: QueryDict, adjusters: Adjusters, chain: Any) -> PawlForm:
    filed = chain.feeler_step if chain is not None else None
    step = None if filed is None else filed.nominal
    return PawlForm.of(said, adjusters, step, us=us_units(request))


def _go_on(asked: Asked, work: PawlWork) -> HttpResponse:
    """What the button says: a reading more, one less, the aim, or the log."""
    said, form = asked.said, asked.form
    do = said.get("do") or ("next" if said.get("asked") else "plan")
    if do == "next":
        return _read(asked, work)
    if do == "back":
        if not form.rounds:
            asked.notices.append(say(NOTHING_TO_TAKE_BACK))
            return _step(asked, work)
        last = form.rounds[-1]
        form.rounds = form.rounds[:-1]
        asked.reading = in_box(last.gap, form.unit)
        asked.turned = "" if last.turns is None else numeral(abs(last.turns), ".4g")
        again = asked.work()
        return _gaps(asked, status=422) if again is None else _step(asked, again)
    if do == "best":
        form.best = True
        again = asked.work()
        return _gaps(asked, status=422) if again is None else _step(asked, again)
    if do in ("keep", "stop") and asked.request.method == "POST":
        kept = keep_setting(asked.request, asked.machine, form, work)
        if not isinstance(kept, str):
            return kept
        asked.notices.append(kept)
        return _step(asked, work, status=422)
    return _step(asked, work)


def _read(asked: Asked, work: PawlWork) -> HttpResponse:
    """Take a reading, and plan anew from it."""
    said, form = asked.said, asked.form
    asked.reading, asked.turned = said.get("reading", ""), said.get("turned", "")
    if work.next.do == "done":
        return _step(asked, work)
    try:
        pawl, did, turns = did_of(said.get("asked", ""), work.steps.adjusters)
    except RoundError as error:
        asked.notices.append(
            say(
                "What the reading is of came back otherwise than it was sent: {why}. The reading is"
                " still in its box: is it of the step that stands below?",
                why=error,
            )
        )
        return _step(asked, work, status=422)
    card = card_of(form, work, asked.reading, asked.turned)
    gap = card.reading.read()
    if did == "turn":
        made = card.turned.read() if card.turned is not None else abs(turns)
        if made is None or gap is None:
            return _step(asked, work, card, status=422)
        signed = as_turned(turns, made, work.known[pawl], gap, work.steps.adjusters.reading_sd)
        if made and signed * turns < 0:
            asked.notices.append(say(TURNED_OTHERWISE))
        turns = signed
    if gap is None:
        return _step(asked, work, card, status=422)
    one = round_of(pawl, did, turns, gap)
    after = asked.with_round(one)
    if isinstance(after, SettingError):
        form_told = PawlForm.of(said, work.steps.adjusters, None, us=form.us)
        form_told.refuse(after)
        why = [text for box in form_told.gaps for text in box.troubles] or form_told.troubles
        card.reading.troubles.append(why[0])
        return _step(asked, work, card, status=422)
    if (told := otherwise(one, said.get("expected", ""), form.us)) and not asked.notices:
        asked.notices.append(told)
    asked.reading = asked.turned = ""
    return _step(asked, after)


def _gaps(asked: Asked, *, status: int) -> HttpResponse:
    """The form of the gaps as found."""
    page = {**_frame(asked.machine, asked.version), "form": asked.form, "notices": asked.notices,
            "units": [(unit, say(words)) for unit, words in UNIT_WORDS]}  # fmt: skip
    return render(asked.request, "setting/pawls.html", page, status=status)


def _step(
    asked: Asked, work: PawlWork, card: Card | None = None, *, status: int = 200
) -> HttpResponse:
    """The next step, or that all is done; the drawing, what it brings, what is taken."""
    form, us = asked.form, asked.form.us
    look: dict[str, Any] = {
        "width": min(picture_width(asked.request), _WIDEST),
        "sun": in_the_sun(asked.request),
        "us": us,
    }
    done = work.next.do == "done"
    if not done and card is None:
        card = card_of(form, work, asked.reading, asked.turned)
    first = not form.rounds
    page = {
        **_frame(asked.machine, asked.version),
        "form": form,
        "notices": asked.notices,
        "work": work,
        "card": card,
        "found": [
            f"{pawl_place(pawl)} {_as_read(gap, form.unit)}"
            for pawl, gap in work.begun.steps.readings.items()
        ],
        "rounds": done_so_far(form.rounds, us),
        "picture": pawl_gaps_picture(work.steps, work.known, **look),
        "because": [*work.steps.because(us), *learned_lines(work.now, us)],
        "effects": before_after(work.begun, work.now, us),
        "after_words": _after_words(done, first),
        "needs": [said(one) for one in work.now.needs],
        "quick": say(QUICK_SHORT),
        "piece": said_piece(work.now.piece),
        "table": gap_table(work.now, us),
        "taken": adjuster_rows(work.now, us, feeler_typed=bool(form.feeler.text.strip())),
    }
    if done:
        page |= {
            "leave": leave_line(work.now, us),
            "prove": prove_words(),
            "better": not form.best and any(one.aim_is_better for one in work.now.effects),
            "outside": [pawl_place(pawl) for pawl in work.outside],
        }
    return render(asked.request, "setting/pawls_step.html", page, status=status)


def _after_words(done: bool, first: bool) -> str:
    if not done:
        return say("After")
    return say("At the aim") if first else say("As set")


def _as_read(gap: float, unit: str) -> str:
    """A gap as it was typed, for reading."""
    return f"{in_box(gap, unit)} {say_as('unit', 'in') if unit == 'in' else unit}"


def _frame(machine: Machine, version: MachineVersion) -> dict[str, Any]:
    return {
        "machine": machine,
        "way": "measure",
        "here": "machines",
        "version": version,
        "cautions": [say(caution) for caution in CAUTIONS],
    }
