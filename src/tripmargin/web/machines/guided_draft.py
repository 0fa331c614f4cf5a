"""The answers of an unfinished machine, kept in the session until the machine is added."""

from __future__ import annotations

import tempfile
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from django import forms

from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import later, say
from tripmargin.machine.asking import Answers, Question, spoken, value_of
from tripmargin.machine.odd_answers import odd_answer
from tripmargin.records.keeping.machines import lay_out, sheets_in_force
from tripmargin.web.said_later import said_later

LONGEST = 1000
"""Letters of one answer."""
MOST_PAWLS = 8
NAME = "machine.name"
_NOW, _BEFORE = "guided_machine", "guided_machine_before"
ADDED = "guided_machine_added"
UNITS = (
    ("metric", said_later(later("Metric: mm, m/s"))),
    ("us", said_later(later("US: inches, ft/min"))),
)


class StartForm(forms.Form):
    """What is asked before the questions: they hang on it."""

    units = forms.ChoiceField(
        label=said_later(later("Units of a bare number")), choices=UNITS, widget=forms.RadioSelect
    )
    sheet = forms.ChoiceField(
        label=said_later(later("Type sheet to build on")), required=False, widget=forms.RadioSelect
    )
    pawls = forms.CharField(
        label=said_later(later("Which pawls stop the rolls, by names of your own?")),
        required=False,
        max_length=200,
        help_text=said_later(
            later('Empty means "lower, upper". A type sheet that names its pawls goes first.')
        ),
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )

    answers: Answers | None = None

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        none = ("", say("None: all that is not answered is assumed or not known"))
        self.fields["sheet"].choices = [none, *((n, n) for n in sorted(sheets_in_force()))]

    def clean(self) -> dict[str, Any]:
        """Read the type sheet and the names of the pawls."""
        data: dict[str, Any] = super().clean() or {}
        if self.errors:
            return data
        self.answers = Answers(us=data["units"] == "us")
        data["pawls"] = data["pawls"] or ", ".join(self.answers.pawls)
        try:
            _take_sheet(self.answers, data["sheet"])
        except MachineFileError as error:
            self.add_error("sheet", error.problems[0].problem)
        if not self.answers.sheet_has_pawls:
            self._clean_pawls(self.answers, data["pawls"])
        return data

    def _clean_pawls(self, answers: Answers, said: str) -> None:
        allowed = say('Allowed: names such as "lower, upper".')
        if said.count(",") >= MOST_PAWLS:
            words = say("More than {most} pawls.", most=MOST_PAWLS)
            self.add_error("pawls", f"{words}\n{allowed}")
            return
        try:
            answers.take_pawls(said)
        except MachineFileError as error:
            self.add_error("pawls", f"“{said}”: {error.problems[0].problem}.\n{allowed}")


def _take_sheet(answers: Answers, name: str) -> None:
    """Build on a type sheet of the records, which is a file beside others while it is read."""
    if not name:
        return
    with tempfile.TemporaryDirectory(prefix="tripmargin-") as folder:
        lay_out(sheets_in_force(), Path(folder))
        answers.take_sheet(name, Path(folder))


@dataclass(frozen=True, slots=True)
class Draft:
    """What was said so far. `said` holds answers as they were typed, by field.

    Where it is about a machine of the records, `about` is its uid, `base` the number of the version
    that it was filled from, and `file` what stood in the boxes then.
    """

    units: str = "metric"
    sheet: str = ""
    pawls: str = "lower, upper"
    said: Mapping[str, str] = field(default_factory=dict)
    uid: str = ""
    about: str = ""
    base: int = 0
    file: Mapping[str, str] = field(default_factory=dict)

    @property
    def start(self) -> dict[str, str]:
        """As `StartForm` takes it."""
        return {"units": self.units, "sheet": self.sheet, "pawls": self.pawls}

    def answers(self) -> Answers | None:
        """Nothing answered yet; None where the start does not stand any more."""
        form = StartForm(self.start)
        return form.answers if form.is_valid() else None

    def asked(self, answers: Answers) -> tuple[Question, ...]:
        """The questions; a machine of the records has its name, which no version changes."""
        every = answers.questions()
        return tuple(q for q in every if q.name != NAME) if self.about else every

    def filled_with(self, texts: Mapping[str, str]) -> Draft:
        """With what a file says, which stands in the boxes."""
        return replace(self, said=dict(texts), file=dict(texts))

    def started(self, form: StartForm) -> Draft:
        """With another start: what was typed keeps the unit that it was typed in."""
        assert form.answers is not None
        data, before = form.cleaned_data, self.answers()
        made = replace(self, **{key: data[key] for key in ("units", "sheet", "pawls")})
        made = made if made.uid else replace(made, uid=str(uuid.uuid4()))
        if before is None:
            return made
        old, new = before.questions(), form.answers.questions()
        said = dict(self.said)
        if before.us != form.answers.us:
            said |= {q.name: _with_unit(q, said[q.name], before.us) for q in old if q.name in said}
        # A pawl by another name in the same place is the same pawl.
        for was, now in zip(_of_pawls(old), _of_pawls(new), strict=False):
            if was.name in self.said and was.name != now.name:
                said.setdefault(now.name, said[was.name])
        return replace(made, said=said)

    def told(self, texts: Mapping[str, str], names: list[str]) -> Draft:
        """With these answers besides; what is too long to be kept is not."""
        new = {n: texts[n] for n in names if n in texts and len(texts[n]) <= LONGEST}
        kept = {name: text for name, text in {**self.said, **new}.items() if text.strip()}
        return replace(self, said=kept)


def _with_unit(question: Question, text: str, us: bool) -> str:
    """The text with the unit that was meant; as it is where it was no answer."""
    if not text.strip() or question.spec.kind not in ("quantity", "lengths"):
        return text
    if odd_answer(question.name, question.spec.kind, question.allowed(), text) is not None:
        return text
    return spoken(value_of(question, text, us=us))


def _of_pawls(questions: tuple[Question, ...]) -> list[Question]:
    return [q for q in questions if q.path[:2] == ("chain", "pawls")]


def draft_in(session: Any, *, before: bool = False) -> Draft | None:
    """The draft of a session; None where there is none, or something else lies in its place."""
    kept = session.get(_BEFORE if before else _NOW)
    if not isinstance(kept, dict):
        return None
    said, texts = kept.get("said"), [kept.get(key) for key in ("units", "sheet", "pawls", "uid")]
    if not isinstance(said, dict) or not all(isinstance(text, str) for text in texts):
        return None
    if not all(isinstance(text, str) for pair in said.items() for text in pair):
        return None
    units, sheet, pawls, uid = (str(text) for text in texts)
    draft = Draft(units, sheet, pawls, said, uid)
    about, base, file = (kept.get(key) for key in ("about", "base", "file"))
    if isinstance(about, str) and about and isinstance(base, int) and isinstance(file, dict):
        draft = replace(draft, about=about, base=base, file=file)
    return draft


def keep(session: Any, draft: Draft) -> None:
    """Write the draft into the session."""
    about = {"about": draft.about, "base": draft.base, "file": dict(draft.file)}
    kept = {**draft.start, "said": dict(draft.said), "uid": draft.uid}
    session[_NOW] = {**kept, **about} if draft.about else kept


def put_aside(session: Any) -> None:
    """Start over; what was answered can be taken back until the next time."""
    if _NOW in session:
        session[_BEFORE] = session.pop(_NOW)


def take_back(session: Any) -> None:
    """Go on with the answers that were put aside."""
    if _BEFORE in session:
        session[_NOW] = session.pop(_BEFORE)


def finished(session: Any, uid: str, machine: object) -> None:
    """What draft `uid` was about is kept: nothing is unfinished, and a second sending is known."""
    session.pop(_NOW, None)
    session[ADDED] = {"uid": uid, "machine": str(machine)}
