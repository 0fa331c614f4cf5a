"""The next card: cautions, the state to bring the machine into, what to do, what may be seen."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from tripmargin.faultfinding.cases.cautions import AT_REST, FIRST, RUNNING, cautions_for, said
from tripmargin.faultfinding.cases.ways import daily_test
from tripmargin.faultfinding.deciding.ranking import NextAction
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.faultfinding.suspects.looks import Question
from tripmargin.faultfinding.suspects.machine_problem import (
    ASK,
    CANNOT_TELL,
    SAW_ELSE,
    MachineProblem,
)
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN, RepairWork
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written

PASSED, FAILED = "passed", "failed"
"""What the daily test after a repair may show."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One thing that may come of a card; `chance` from what is believed now."""

    word: str
    chance: float
    sound: bool
    """Whether a sound machine gives it."""
    said: str = ""
    """The word as its reader says it; a finding is recorded by `word`."""


@dataclass(frozen=True, slots=True)
class Card:
    """One thing to do next.

    Attributes
    ----------
    id : str
        What `Case.record` takes.
    kind : str
        "ask", "look", "repair", "test" (the daily test again) or "hand over".
    cautions : tuple of str
        To be read first.
    state : str
    way : tuple of str
        How to bring the machine into the state, from rest.
    do : str
    place : str
    answers : tuple of Answer
    minutes : float
        Of this alone, moves and any daily test included.
    price : float
        Of parts.
    chance : float
        That a repair cures; 0 for a look.
    module : bool
        Whether a module is replaced whole.
    expected_minutes : float
        To protected and proved again.
    because : tuple of str
    short : tuple of str
        Those of `because` that no other part of a card tells.
    unit : str
        Of a meter's reading; `record` takes the reading itself too.
    second_person : bool
        Whether one is at the controls while another looks or measures; the cautions then say how
        the two go about it.
    """

    id: str
    kind: str
    cautions: tuple[str, ...]
    state: str
    way: tuple[str, ...]
    do: str
    place: str
    answers: tuple[Answer, ...]
    minutes: float
    price: float = 0.0
    chance: float = 0.0
    module: bool = False
    expected_minutes: float = 0.0
    because: tuple[str, ...] = ()
    short: tuple[str, ...] = ()
    unit: str = ""
    second_person: bool = False

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: minutes, chances from 0 to 1."""
        made = asdict(self)
        del made["short"]  # they are among `because`
        return made


def card_of(of: MachineProblem, action: NextAction, because: tuple[str, ...] = ()) -> Card:
    """A ranked action as a card."""
    kind, _, name = action.action.partition(":")
    chances = {result.outcome: result.chance for result in action.results}
    if kind == "repair":
        return _repair(of, of.works[name], action, chances, because)
    if name == ASK:
        answers = tuple(
            Answer(word, chances.get(word, 0.0), False, say(sentence))
            for word, sentence in COMPLAINTS.items()
        )
        do = say("Ask the operator what happened.")
        return Card(
            ASK, "ask", (), action.state, (), do, "", answers, action.minutes,
            expected_minutes=action.expected_minutes, because=because,
        )  # fmt: skip
    return _look(of, of.questions[name], action, chances, because)


def _look(
    of: MachineProblem,
    question: Question,
    action: NextAction,
    chances: dict[str, float],
    because: tuple[str, ...],
) -> Card:
    state = next(each for each in of.states if each.name == question.state)
    words = (*question.words, CANNOT_TELL, SAW_ELSE)
    two = (state.running or state.live) and not seen_from_the_seat(of, question)
    return Card(
        id=question.id,
        kind="look",
        cautions=(*cautions_for(state, two), say(FIRST)),
        state=state.name,
        way=state.way,
        do=do_words(question),
        place=question.place,
        answers=tuple(
            Answer(w, chances.get(w, 0.0), w == question.sound, question.said(w)) for w in words
        ),
        minutes=action.minutes,
        expected_minutes=action.expected_minutes,
        because=because,
        unit=question.bands.unit if question.bands else "",
        second_person=two,
    )


def seen_from_the_seat(of: MachineProblem, question: Question) -> bool:
    """Whether whoever is at the controls sees or hears it: lamps and buzzers not at the machine."""
    return question.kind in ("lamp", "buzzer") and question.subject not in of.checks.beside


def do_words(question: Question) -> str:
    """What to do for a look; the file may leave it out for a lamp, a buzzer or a movement."""
    if question.do:
        return question.do
    if question.kind == "buzzer":
        return say('Listen to the buzzer "{buzzer}".', buzzer=question.about)
    if question.kind == "lamp":
        return say('Look at the lamp "{lamp}".', lamp=question.about)
    return say(_WATCH[question.subject])


_WATCH = {
    "rolls": later("Watch the feed rolls: which way do they turn?"),
    "pawls": later("Look at the pawls: in the ratchets, or out of them?"),
    "plunger": later("Look at the solenoid's plunger: pulled in, or out?"),
}
"""What to do for a movement."""


def _repair(
    of: MachineProblem,
    work: RepairWork,
    action: NextAction,
    chances: dict[str, float],
    because: tuple[str, ...],
) -> Card:
    kind = {PROVE_AGAIN: "test", HAND_OVER: "hand over"}.get(work.id, "repair")
    runs = kind != "hand over" and any(step.running for step in daily_test(of))
    words = () if kind == "hand over" else (PASSED, FAILED)
    return Card(
        id=work.id,
        kind=kind,
        cautions=said((*AT_REST, FIRST)),
        state=action.state,
        way=(),
        do=_with_test(of, work, kind, runs),
        place=work.place,
        answers=tuple(
            Answer(word, chances.get(word, 0.0), word == PASSED, word_said(word)) for word in words
        ),
        minutes=action.minutes,
        price=work.price,
        chance=action.chance_of_cure,
        module=work.module,
        expected_minutes=action.expected_minutes,
        because=because,
        second_person=runs,
    )


def _with_test(of: MachineProblem, work: RepairWork, kind: str, runs: bool) -> str:
    """What is done, and the daily test behind it; in sentences."""
    sentences = [work.do]
    if kind == "test":
        sentences.append(say("It is the path {path}.", path=as_written(of.checks.daily)))
    elif kind == "repair":
        sentences.append(say("Then make the daily test: {path}.", path=as_written(of.checks.daily)))
    if runs:
        sentences.append(say("In it: {caution}", caution=say(RUNNING[0])))
    return " ".join(sentences)
