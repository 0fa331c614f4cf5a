"""More answers about a machine that is in the records: filled from its file, kept as a new version.

What the questions do not ask about stays in the file as it is, comments and all.
"""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.views.decorators.http import require_safe

from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import later, say
from tripmargin.ground.typed import spelled_quantity
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine import differences
from tripmargin.machine.asking import Answers, Question
from tripmargin.machine.files import tables_of
from tripmargin.machine.rewriting import with_values
from tripmargin.records.keeping.machines import add_version, machine_of, read_machine_file
from tripmargin.records.standing.proving_versions import proof_of
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.web.doors.roles import SET, needs
from tripmargin.web.frame import us_units
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.machines.guided_draft import Draft, draft_in, finished, keep, put_aside
from tripmargin.web.machines.naming import called


@needs(SET)
@require_safe
def more(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Begin, filled from the version in force; or go on with what was begun."""
    machine = machine_at(uid)
    there = draft_in(request.session)
    if there is None or there.about != str(machine.uid):
        begun = filled(version_at(machine), us=us_units(request))
        if begun.answers() is None:
            messages.error(
                request,
                say(
                    "The type sheet {sheet} that the file builds on is not in the records, so the"
                    " questions cannot be filled from it. Add it first.",
                    sheet=begun.sheet,
                ),
            )
            return redirect("machine-file", uid=machine.uid)
        put_aside(request.session)
        keep(request.session, begun)
    return redirect("machine-guided")


def filled(version: MachineVersion, *, us: bool) -> Draft:
    """A draft with what a version's own file says; its type sheet lies below it as below that."""
    tables = tables_of(version.text.removeprefix("\ufeff"))
    loaded = machine_of(version)
    pawls = ", ".join(pawl.name for pawl in loaded.chain.pawls) if loaded.chain else ""
    bare = Draft(
        units="us" if us else "metric",
        sheet=str(tables.get("extends", "")),
        pawls=pawls or Draft().pawls,
        uid=str(uuid.uuid4()),
        about=str(version.machine.uid),
        base=version.number,
    )
    answers = bare.answers()
    there = {q.name: _at(tables, q.path) for q in bare.asked(answers)} if answers else {}
    texts = {name: _typed(value) for name, value in there.items() if value is not None}
    return bare.filled_with(texts)


def about_machine(uid: str) -> Machine | None:
    """The machine that a form says it is about; None where there is none such."""
    try:
        return Machine.objects.filter(uid=UUID(uid)).first()
    except ValueError:
        return None


def welcome(request: HttpRequest, machine: Machine) -> None:
    """Say that a machine is in the records, and how to go on with what was skipped."""
    link = reverse("machine-questions", args=[machine.uid])
    there = say("{machine} is in the records.", machine=machine.name)
    more_of_it = say("Answer more questions about it")
    words = format_html('{} <a class="choice" href="{}">{}</a>', there, link, more_of_it)
    messages.success(request, words)


def source(draft: Draft) -> dict[str, Any] | None:
    """The machine and the version that a draft was filled from; None where they are gone."""
    machine = about_machine(draft.about)
    version = machine.versions.filter(number=draft.base).first() if machine else None
    return None if version is None else {"machine": machine, "version": version}


def last_look(request: HttpRequest, draft: Draft, answers: Answers) -> HttpResponse:
    """What the answers make of the file in force, field by field, before anything is kept."""
    machine = machine_at(UUID(draft.about))
    newest = version_at(machine)
    try:
        text, loaded = _made(newest, draft, answers)
    except MachineFileError as error:
        messages.error(request, _clash(error))
        return redirect("machine-guided")
    page = {
        "draft": draft, "machine": machine, "newest": newest, "text": text, "seen": _digest(text),
        "differences": [
            (
                called(one.field),
                one.field,
                spelled_quantity(_listed(one.before)),
                spelled_quantity(_listed(one.after)),
            )
            for one in differences(machine_of(newest), loaded)
        ],
        "way": "file", "here": "machines",
    }  # fmt: skip
    return render(request, "machines/guided_more.html", page)


def keep_version(request: HttpRequest, draft: Draft, answers: Answers) -> HttpResponse:
    """Keep the file that was looked at as a new version, proved."""
    machine = machine_at(UUID(draft.about))
    newest = version_at(machine)
    try:
        text, loaded = _made(newest, draft, answers)
    except MachineFileError as error:
        messages.error(request, _clash(error))
        return redirect("machine-guided")
    if request.POST.get("seen") != _digest(text):
        words = say("The file or the answers changed since you looked: see below.")
        messages.warning(request, words)
        return redirect("machine-guided-file")
    version, new = add_version(
        machine, text, loaded, file_name=newest.file_name, who=request.user,
        note=later("more answers to the guided questions"),
    )  # fmt: skip
    proof_of(version)
    finished(request.session, draft.uid, machine.uid)
    said = (
        say("Version {number} is in force.", number=version.number)
        if new
        else say("That is the version in force.")
    )
    messages.success(request, said)
    return redirect("machine-file", uid=machine.uid)


def _clash(error: MachineFileError) -> str:
    return say("The answers do not go with the rest of the file. {trouble}", trouble=error)


def _made(newest: MachineVersion, draft: Draft, answers: Answers) -> tuple[str, LoadedMachine]:
    """The newest file with what was answered otherwise than it was filled; nothing else moves."""
    tables = tables_of(newest.text.removeprefix("\ufeff"))
    values = {
        q.name: _written(answers.values[q.path], _at(tables, q.path))
        for q in draft.asked(answers)
        if q.path in answers.values and _moved(q, draft, answers)
    }
    return read_machine_file(with_values(newest.text, values).encode(), newest.file_name)


def _moved(question: Question, draft: Draft, answers: Answers) -> bool:
    """Whether an answer is another one than the file's; another spelling of it is none."""
    said, was = (texts.get(question.name, "").strip() for texts in (draft.said, draft.file))
    if said == was:
        return False
    return not was or answers.values[question.path] != answers.value(question, was)


def _written(value: Any, there: Any) -> Any:
    """A bare number as a text where a text stands: as a number it would take its tolerance over."""
    bare = isinstance(value, int | float) and not isinstance(value, bool)
    return str(value) if bare and isinstance(there, str) else value


def _at(tables: Mapping[str, Any], path: tuple[str, ...]) -> Any:
    """What a file says at a question's path; None where it says nothing."""
    found: Any = tables
    for part in path:
        if isinstance(found, list):
            found = next((t for t in found if isinstance(t, dict) and t.get("name") == part), None)
        else:
            found = found.get(part) if isinstance(found, Mapping) else None
    return found


def _typed(value: Any) -> str:
    """A value of a file as a person would type it.

    >>> _typed(["6 mm", "9 mm"]), _typed({"kind": "diode", "voltage": "0.8 V"}), _typed(8)
    ('6 mm; 9 mm', 'diode 0.8 V', '8')
    """
    if isinstance(value, Mapping):
        return " ".join(str(one) for one in value.values())
    if isinstance(value, list):
        return "; ".join(str(one) for one in value)
    return str(value)


def _listed(text: str) -> str:
    """A list as people write it.

    >>> _listed('["6 mm", "9 mm"]'), _listed("3 mm")
    ('6 mm, 9 mm', '3 mm')
    """
    try:
        values = json.loads(text) if text.startswith("[") else None
    except ValueError:
        values = None
    return ", ".join(map(str, values)) if isinstance(values, list) else text


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
