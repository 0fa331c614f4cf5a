"""The questions as a page shows them: each with its answer and what is wrong with it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from tripmargin.ground.decimal_commas import meant_by, meant_by_list, spelled, typed
from tripmargin.ground.errors import Problem, QuantityError, shortened
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.unit_words import unit_words
from tripmargin.ground.units import DIMENSIONS
from tripmargin.machine.answering import answer_all
from tripmargin.machine.asking import NEAR_THE_MACHINE, Answers, Question, spoken
from tripmargin.machine.model import SECTIONS
from tripmargin.machine.odd_answers import unprintable
from tripmargin.machine.typed_answers import spelled_allowed, spelled_answer, typed_answer
from tripmargin.pictures.question_drawings import question_drawing
from tripmargin.records.keeping.sizes import LONGEST_NAME
from tripmargin.records.store.models import Machine
from tripmargin.sensing import Piece
from tripmargin.sensing.piece_said import said_piece
from tripmargin.sensing.piece_typed import typed_piece
from tripmargin.web.machines.field_words import field_said, section_said
from tripmargin.web.machines.guided_draft import LONGEST, NAME, Draft

_PIECE = "limits.must_stop"
_EXAMPLES = {
    "length": ("330 +- 4", "13 +- 0.2"),
    "clearance": ("3 +- 1", "0.12 +- 0.04"),
    "crop_depth": ("10 .. 90", "0.4 .. 3.5"),
    "slip": ("2 .. 6", "2 .. 6"),
    "cutterhead_speed": ("1000 +- 2 %", "1000 +- 2 %"),
    "resistance": ("18 +- 5 %", "18 +- 5 %"),
    "angle": ("3 +- 2", "3 +- 2"),
    "voltage": ("13.2 +- 0.4", "13.2 +- 0.4"),
    "noise": ("0.07 +- 20 %", "0.07 +- 20 %"),
    "number": ("2 +- 1 %", "2 +- 1 %"),
}
"""How a tolerance is written in the unit beside the box, metric and US: by field or dimension."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One question on the page."""

    id: str
    question: Question
    us: bool
    typed: str = ""
    taken: str = ""
    trouble: str = ""
    in_file: str = ""
    """What the version says that the draft was filled from; empty where it says nothing."""

    @property
    def name(self) -> str:
        """The field's dotted path, which the form sends it by."""
        return self.question.name

    @property
    def label(self) -> str:
        """What the trade calls it."""
        path = self.question.path
        words = field_said(path[-1])
        if path[:2] == ("chain", "pawls"):
            return say("{field}, {name} pawl", field=words, name=as_written(path[2]))
        if "hold_winding" in path:
            return say("{field}, hold winding", field=words)
        return words

    @property
    def unit(self) -> str:
        """What a bare number is taken in."""
        spec = self.question.spec
        if spec.bare or spec.kind not in ("quantity", "lengths"):
            return ""
        kind = DIMENSIONS[spec.dimension]
        return unit_words(kind.us if self.us else kind.metric)

    @property
    def tolerance(self) -> str:
        """An example with a tolerance; empty where none may be."""
        spec, last = self.question.spec, self.question.path[-1]
        if spec.kind != "quantity" or spec.whole:
            return ""
        return spelled(_EXAMPLES[last if last in _EXAMPLES else spec.dimension][self.us])

    @property
    def keys(self) -> str:
        """Which keys a phone shows: a tolerance and a unit need letters."""
        return "numeric" if self.question.spec.whole else "text"

    @property
    def allowed(self) -> str:
        """What may be answered."""
        if self.name == _PIECE:
            return say('a piece such as "20 mm ball" or "M8x30 bolt"')
        return spelled_allowed(self.question.allowed())

    @property
    def mends(self) -> tuple[str, ...]:
        """What may be meant by an answer that was refused and has a comma in a number."""
        spec = self.question.spec
        if not self.trouble or (spec.kind == "text" and self.name != _PIECE):
            return ()
        return (meant_by_list if spec.kind == "lengths" else meant_by)(self.typed)

    @property
    def left_out(self) -> str:
        """What happens without an answer."""
        if self.in_file:
            return say("it stays as the file has it")
        if self.name == NAME:
            return say("the machine cannot be added; the list shows it by its name")
        if self.question.path[0] == "machine":
            return say("it stays empty")
        if self.name == _PIECE:
            if self.question.from_sheet:
                return say("the type sheet's {value}", value=said_piece(self.question.from_sheet))
            return say("assumed: {value}", value=said_piece(spoken(self.question.spec.assumed)))
        return self.question.left_out(spelled=True)


@dataclass(frozen=True, slots=True)
class Section:
    """The questions of one section of the file."""

    name: str
    meaning: str
    near: bool
    asked: tuple[Asked, ...]

    @property
    def title(self) -> str:
        """Its name, as people read it."""
        return section_said(self.name)

    @property
    def runs(self) -> bool:
        """Whether some of it is read while the machine runs."""
        return any(one.question.while_running for one in self.asked)

    @property
    def answered(self) -> int:
        """How many have an answer that can stand."""
        return sum(bool(one.taken and not one.trouble) for one in self.asked)


def read(
    answers: Answers, texts: Mapping[str, str], draft: Draft | None = None, *, whole: bool = False
) -> dict[str, str]:
    """Take the answers; what is wrong, in words, by field.

    A name that the records hold already is taken as an answer, and is a trouble all the same.
    `whole` asks for what a machine of the records needs besides. A draft about one of them asks
    for no name.
    """
    questions = {q.name: q for q in (draft or Draft()).asked(answers)}
    texts = {name: text for name, text in texts.items() if name in questions}
    troubles = {}
    for name, question in questions.items():
        trouble = _odd(question, texts.get(name, "").strip())
        if trouble:
            troubles[name] = trouble
    wrong = answer_all(answers, {n: t for n, t in texts.items() if n not in troubles})
    for name, problems in wrong.items():
        said = texts[name].strip()
        troubles[name] = "\n".join(_words(questions[name], said, one) for one in problems)
    called = str(answers.values.get(("machine", "name"), ""))
    if called and _taken(called):
        troubles[NAME] = _taken(called)
    elif whole and not called and NAME in questions and NAME not in troubles:
        troubles[NAME] = say("A machine in the records needs a name.")
    return {name: troubles[name] for name in questions if name in troubles}


def sections(
    answers: Answers, texts: Mapping[str, str], troubles: Mapping[str, str],
    draft: Draft | None = None,
) -> list[Section]:  # fmt: skip
    """All questions, by section, in the file's order."""
    draft = draft or Draft()
    asked = [
        Asked(
            f"q{k}", q, answers.us, spelled_here(q, texts.get(q.name, "")),
            spelled_here(q, spoken(answers.values[q.path])) if q.path in answers.values else "",
            troubles.get(q.name, ""),
            spelled_here(q, draft.file.get(q.name, "")),
        )
        for k, q in enumerate(draft.asked(answers), 1)
    ]  # fmt: skip
    return [
        Section(name, say(SECTIONS[name][1]), name in NEAR_THE_MACHINE, tuple(group))
        for name, group in groupby(asked, key=lambda one: one.question.path[0])
    ]


def drawings(answers: Answers, *, sun: bool) -> dict[str, str]:
    """The drawings, by field; none for a question that needs none."""
    made = {q.name: question_drawing(q.name, sun=sun) for q in answers.questions()}
    return {name: svg for name, svg in made.items() if svg is not None}


def in_file_words(questions: Iterable[Question], texts: Mapping[str, str]) -> dict[str, str]:
    """What was typed, as a file has it: so it is kept, whatever language is read next time."""
    asked = {q.name: q for q in questions}
    return {
        name: (
            typed_piece(typed(text)) if name == _PIECE
            else typed_answer(asked[name], text) if name in asked else text
        )
        for name, text in texts.items()
    }  # fmt: skip


def spelled_here(question: Question, text: str) -> str:
    """An answer as it is kept, for its box and for what is said of it."""
    return said_piece(text) if question.name == _PIECE else spelled_answer(question, text)


def _words(question: Question, said: str, problem: Problem) -> str:
    """A problem, beside its field: where and how to measure stand there already."""
    lines = [
        say(
            "“{said}”: {problem}.",
            said=shortened(spelled_here(question, said)),
            problem=problem.problem,
        ),
        say("Allowed: {allowed}.", allowed=spelled_allowed(question.allowed())),
    ]
    mend = spelled_allowed(problem.hint.replace(question.spec.to_measure, "").strip())
    return "\n".join([*lines, mend] if mend else lines)


def _odd(question: Question, said: str) -> str:
    """What is wrong with an answer before the machine file's rules are asked."""
    if len(said) > LONGEST:
        return say(
            "“{said}”: {count} letters.\nAllowed: {allowed}, in at most {most} letters. Not kept.",
            said=shortened(said, 20),
            count=len(said),
            allowed=spelled_allowed(question.allowed()),
            most=LONGEST,
        )
    if unprintable(said):
        return say(
            "It holds a character that cannot be printed.\nAllowed: {allowed}.",
            allowed=spelled_allowed(question.allowed()),
        )
    if not said:
        return ""
    if question.name == NAME and len(said) > LONGEST_NAME:
        return say("{count} letters.\nAllowed: at most {most}.", count=len(said), most=LONGEST_NAME)
    if question.name == _PIECE:
        return _odd_piece(said)
    return ""


def _taken(name: str) -> str:
    if Machine.objects.filter(name=name).exists():
        return say(
            "A machine “{name}” is in the records already.\n"
            "Give this one another name, or open that one and add a new version of its file.",
            name=name,
        )
    return ""


def _odd_piece(said: str) -> str:
    """A piece in words must be one that the sensor's room can read."""
    try:
        Piece.from_text(said)
    except QuantityError as error:
        lines = [
            say("“{said}”: {problem}.", said=shortened(said), problem=error.problem),
            say("Allowed: {allowed}.", allowed=error.allowed),
        ]
        return "\n".join([*lines, error.hint] if error.hint else lines)
    return ""
