"""Adding a machine question by question: the questions of `machine new` on one page."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import later, say
from tripmargin.ground.typed import spelled_quantity
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine.asking import REMINDER, Answers
from tripmargin.machine.showing import rows
from tripmargin.pictures.words import said
from tripmargin.records.keeping.entries import newest_version
from tripmargin.records.keeping.machines import (
    NameTakenError,
    add_machine,
    read_machine_file,
    safe_name,
    sheets_in_force,
)
from tripmargin.records.standing.proving_versions import proof_of
from tripmargin.records.store.models import Machine
from tripmargin.web.doors.roles import SET, needs
from tripmargin.web.frame import in_the_sun, us_units
from tripmargin.web.machines.finding import version_at
from tripmargin.web.machines.guided_draft import (
    ADDED,
    Draft,
    StartForm,
    draft_in,
    finished,
    keep,
    put_aside,
    take_back,
)
from tripmargin.web.machines.guided_more import (
    about_machine,
    filled,
    keep_version,
    last_look,
    source,
    welcome,
)
from tripmargin.web.machines.guided_page import drawings, in_file_words, read, sections
from tripmargin.web.machines.naming import called
from tripmargin.web.mending import take_mends


@needs(SET)
@require_http_methods(["GET", "POST"])
def guided(request: HttpRequest) -> HttpResponse:
    """The start, and where that is made the questions; a start is sent here."""
    draft = draft_in(request.session)
    if request.method == "POST":
        form = StartForm(request.POST)
        if form.is_valid():
            if draft is not None and draft.about:
                put_aside(request.session)  # this start is of another machine
                draft = None
            keep(request.session, (draft or Draft()).started(form))
            return redirect("machine-guided")
        return _start(request, form, draft, status=422)
    answers = draft.answers() if draft else None
    anew = request.GET.get("start") == "1" and not (draft and draft.about)
    if draft is None or answers is None or anew:
        usual = Draft(units="us" if us_units(request) else "metric")
        form = StartForm(initial=(draft or usual).start)
        return _start(request, form, draft)
    return _questions(request, draft, answers, draft.said, read(answers, draft.said, draft))


@needs(SET)
@require_POST
def check(request: HttpRequest) -> HttpResponse:
    """What one answer is taken as, or what is wrong with it; all that is typed is kept."""
    draft, answers = _sent(request)
    if answers is None:
        return HttpResponse(say("The type sheet is gone. Load this page again."), status=409)
    texts = {**draft.said, **_texts(request, answers)}
    troubles, name = read(answers, texts, draft), request.GET.get("field", "")
    found = sections(answers, texts, troubles, draft)
    asked = next((one for section in found for one in section.asked if one.name == name), None)
    if asked is None:
        return HttpResponse(say("No such question."), status=404)
    page = {"one": asked, "sections": found}
    return render(request, "machines/guided_checked.html", page)


@needs(SET)
@require_http_methods(["GET", "POST"])
def file(request: HttpRequest) -> HttpResponse:
    """The file that comes of the answers, for a last look; the questions are sent here."""
    if request.method == "POST":
        draft, answers = _sent(request)
        if answers is None:
            return redirect("machine-guided")
        texts = {**draft.said, **_texts(request, answers)}
        troubles = read(answers, texts, draft, whole=True)
        if troubles:
            return _questions(request, draft, answers, texts, troubles, status=422)
        return redirect("machine-guided-file")
    return _last_look(request)


@needs(SET)
@require_POST
def add(request: HttpRequest) -> HttpResponse:
    """Add the machine of the file that was looked at."""
    uid = request.POST.get("uid", "")
    if uid and request.session.get(ADDED, {}).get("uid") == uid:
        return redirect("machine", uid=request.session[ADDED]["machine"])
    draft = draft_in(request.session)
    answers = draft.answers() if draft else None
    if draft is None or answers is None:
        words = say("There are no answers any more: sign-in or start over ended them.")
        messages.error(request, words)
        return redirect("machine-guided")
    troubles = read(answers, draft.said, draft, whole=True)
    if draft.about:
        if troubles:
            return _questions(request, draft, answers, draft.said, troubles, status=422)
        return keep_version(request, draft, answers)
    text, name = answers.file_text(), draft.said.get("machine.name", "").strip()
    if troubles:
        there = _same(name, text)
        if there is None:
            return _questions(request, draft, answers, draft.said, troubles, status=422)
        return _welcome(request, draft, there)
    if request.POST.get("seen") != _digest(text):
        words = say("The answers changed since you looked. This is the file now.")
        messages.warning(request, words)
        return redirect("machine-guided-file")
    try:
        _, loaded = read_machine_file(text.encode(), _file_name(name))
        machine = add_machine(
            text, loaded, file_name=_file_name(name), who=request.user,
            note=later("from the guided questions"),
        )  # fmt: skip
    except NameTakenError as error:
        taken = {"machine.name": str(error)}
        return _questions(request, draft, answers, draft.said, taken, status=422)
    except MachineFileError as error:
        messages.error(request, str(error))
        return redirect("machine-guided")
    return _welcome(request, draft, machine)


@needs(SET)
@require_POST
def over(request: HttpRequest) -> HttpResponse:
    """Start over, or go on with what was put aside by that."""
    if request.POST.get("back") == "1":
        take_back(request.session)
        return redirect("machine-guided")
    draft = draft_in(request.session)
    put_aside(request.session)
    if draft is not None and draft.about:
        return redirect("machine-file", uid=draft.about)
    return redirect("machine-guided")


def _sent(request: HttpRequest) -> tuple[Draft, Answers | None]:
    """The draft with what a form sends, kept; the form brings its own start along.

    So a page that lay open while its session was started over, or ended, loses nothing.
    """
    take_mends(request)
    draft = _draft_of(request)
    form = StartForm(request.POST)
    if form.is_valid():
        draft = draft.started(form)
    answers = draft.answers()
    if answers is not None:
        draft = draft.told(_texts(request, answers), [q.name for q in answers.questions()])
        keep(request.session, draft)
    return draft, answers


def _texts(request: HttpRequest, answers: Answers) -> dict[str, str]:
    return in_file_words(answers.questions(), request.POST.dict())


def _draft_of(request: HttpRequest) -> Draft:
    """The draft that a form belongs to; where the session holds another one, that is put aside."""
    there, about = draft_in(request.session), request.POST.get("about", "")
    if there is not None and there.about == about:
        return there
    put_aside(request.session)
    machine = about_machine(about)
    return filled(version_at(machine), us=us_units(request)) if machine else Draft()


def _start(
    request: HttpRequest, form: StartForm, draft: Draft | None, status: int = 200
) -> HttpResponse:
    page = {
        "form": form,
        "answered": len(draft.said) if draft else 0,
        "before": draft_in(request.session, before=True),
        "here": "machines",
    }
    return render(request, "machines/guided_start.html", page, status=status)


def _questions(
    request: HttpRequest, draft: Draft, answers: Answers, texts: Mapping[str, str],
    troubles: Mapping[str, str], status: int = 200,
) -> HttpResponse:  # fmt: skip
    page = {
        "draft": draft,
        "answers": answers,
        "sections": sections(answers, texts, troubles, draft),
        "source": source(draft),
        "drawings": drawings(answers, sun=in_the_sun(request)),
        "refused": status == 422,
        "troubles": troubles,
        "reminder": say(REMINDER),
        "here": "machines",
    }
    return render(request, "machines/guided.html", page, status=status)


def _last_look(request: HttpRequest) -> HttpResponse:
    draft = draft_in(request.session)
    answers = draft.answers() if draft else None
    if draft is None or answers is None:
        return redirect("machine-guided")
    troubles = read(answers, draft.said, draft, whole=True)
    if troubles:
        return _questions(request, draft, answers, draft.said, troubles)
    if draft.about:
        return last_look(request, draft, answers)
    text, name = answers.file_text(), draft.said["machine.name"].strip()
    try:
        _, loaded = read_machine_file(text.encode(), _file_name(name))
    except MachineFileError as error:
        messages.error(request, str(error))
        return redirect("machine-guided")
    page = {
        "draft": draft, "name": name, "text": text, "seen": _digest(text),
        "file_name": _file_name(name), **_not_given(loaded, answers),
        "here": "machines",
    }  # fmt: skip
    return render(request, "machines/guided_file.html", page)


def _not_given(loaded: LoadedMachine, answers: Answers) -> dict[str, Any]:
    """What is assumed, with its value, and what was asked and is not known."""
    found = {f"{row.section}.{row.field}": row for row in rows(loaded, us=answers.us)}
    unknown = [
        (called(q.name), q.name)
        for q in answers.questions()
        if q.path[0] != "machine" and not any(n.startswith(q.name) for n in found)
    ]
    assumed = [
        # In the words of the question where there are some: "5 mm .. 110 mm".
        (called(name), name, getattr(loaded.get(name), "text", "") or row.value)
        for name, row in found.items()
        if row.assumed
    ]
    return {
        "assumed": [(*named, spelled_quantity(said(value))) for *named, value in assumed],
        "unknown": unknown,
    }


def _file_name(name: str) -> str:
    """A file name that is not that of a type sheet, which lies beside it while it is read."""
    made = safe_name(name)
    return f"machine-{made}" if made in sheets_in_force() else made


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _same(name: str, text: str) -> Machine | None:
    """The machine that a first sending of this very file has made already."""
    machine = None if "\0" in name else Machine.objects.filter(name=name).first()
    newest = newest_version(machine) if machine else None
    return machine if newest is not None and newest.text == text else None


def _welcome(request: HttpRequest, draft: Draft, machine: Machine) -> HttpResponse:
    """To the new machine's page, proved: the list then says at once how it stands."""
    version = newest_version(machine)
    if version is not None:
        proof_of(version)
    finished(request.session, draft.uid, machine.uid)
    welcome(request, machine)
    return redirect("machine", uid=machine.uid)
