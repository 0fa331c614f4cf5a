"""A "would it stop?" drill: pieces to judge on the protection map, scored by Brier's rule."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from tripmargin.drills import moves as m
from tripmargin.drills.moves import Move
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.results import DrillResult, mark_of
from tripmargin.drills.scoring import Part, Score
from tripmargin.drills.setting_drill import SETTING
from tripmargin.drills.told import Told, told
from tripmargin.drills.would_it_stop_answers import (
    FULL,
    Answer,
    answer_said,
    chances_said,
    points_of,
)
from tripmargin.drills.would_it_stop_choosing import Chooser
from tripmargin.drills.would_it_stop_kinds import KINDS
from tripmargin.drills.would_it_stop_questions import Question
from tripmargin.drills.would_it_stop_races import Races
from tripmargin.drills.would_it_stop_scenes import Scenes
from tripmargin.drills.would_it_stop_words import piece_words
from tripmargin.ground.languages import say
from tripmargin.machine import Machine
from tripmargin.protection import ProtectionMap, live_protection

WOULD_IT_STOP = "would it stop"
NO_FAULT = (SETTING, WOULD_IT_STOP)
"""Kinds of results that are about no hidden fault."""
QUESTIONS, MOST_QUESTIONS = 8, 24


@dataclass(frozen=True, slots=True)
class Answered:
    """A question with its answer.

    Attributes
    ----------
    question : Question
    answer : Answer
    points : float
        Up to 100.
    """

    question: Question
    answer: Answer
    points: float

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "question": self.question.to_dict(),
            "answer": self.answer.text,
            "points": self.points,
        }


@dataclass(slots=True)
class WouldItStop:
    """One drill, from the first question to the score.

    Attributes
    ----------
    machine : Machine
    seed : int
    questions : tuple of Question
        With their answers; show no more than `asked_words` of one that is not answered yet.
    about : tuple of str
        Kinds of lesson that were asked for.
    answered : list of Answered
        So far, in the questions' order.
    """

    machine: Machine
    seed: int
    questions: tuple[Question, ...]
    about: tuple[str, ...] = ()
    answered: list[Answered] = field(default_factory=list)

    @property
    def ended(self) -> bool:
        """Whether every question has its answer."""
        return len(self.answered) == len(self.questions)

    @property
    def now(self) -> Question | None:
        """The question that waits for an answer; None at the end."""
        return None if self.ended else self.questions[len(self.answered)]

    def answer(self, text: str) -> Answered:
        """Answer the question that waits; see `Answer.of` for what may be said.

        Raises
        ------
        DrillError
            If it is no answer, or if no question waits. Nothing is counted then.
        """
        question = self.now
        if question is None:
            raise DrillError(
                say("answer"), text, say("the drill has ended"), say("no further answer")
            )
        given = Answer.of(text)
        self.answered.append(Answered(question, given, points_of(given, question.chances)))
        return self.answered[-1]

    def map_of(self, question: Question) -> ProtectionMap | None:
        """The protection map of the machine as it is set in a question; None where not known.

        Quick figures, see `protection.live_protection`: for a picture beside the answer, with the
        piece at `Question.on_map`. It tells the answer.
        """
        at = question.situation
        live = live_protection(self.machine)
        return live.at(cut_length=at.cut_length, **at.settings).protection_map

    def move(self, do: str, what: str = "") -> Move:
        """Answer as a kept move does: `do` is "answer".

        Raises
        ------
        DrillError
            If there is no such move, or it is no answer.
        """
        if do != m.ANSWER:
            raise DrillError(say("move"), do, say("no such move"), m.ANSWER)
        self.answer(what)
        return self.moves[-1]

    @property
    def moves(self) -> tuple[Move, ...]:
        """The answers so far, as moves."""
        return tuple(_move(each.answer, each.question) for each in self.answered)

    def score(self) -> Score:
        """The mean of the answers' points, one part each.

        Raises
        ------
        DrillError
            If a question is left.
        """
        if not self.ended:
            raise DrillError(
                say("drill"), say("not ended"), say("half a drill has no score"),
                say("a drill with every question answered"),
            )  # fmt: skip
        return _scored(self.answered)

    def best_score(self) -> Score:
        """What the exact chances score: 100."""
        return _scored([Answered(each, _best(each), FULL) for each in self.questions])

    def result(self, *, when: datetime, name: str = "") -> DrillResult:
        """What is kept of a drill that has ended."""
        return DrillResult(
            machine=self.machine.name,
            machine_mark=mark_of(self.machine),
            seed=self.seed,
            complaint="",
            fault=WOULD_IT_STOP,
            said=WOULD_IT_STOP,
            kind=WOULD_IT_STOP,
            moves=self.moves,
            best=tuple(_move(_best(each), each) for each in self.questions),
            score=self.score(),
            when=when.isoformat(timespec="seconds"),
            name=name,
            by_kind=points_by_kind(self.answered),
            about=self.about,
        )


def would_it_stop(
    machine: Machine,
    *,
    seed: int,
    questions: int = QUESTIONS,
    about: Sequence[str] = (),
) -> WouldItStop:
    """Ask about pieces of metal on a machine, whether they are missed, too late or protected.

    Parameters
    ----------
    machine : Machine
    seed : int
        From 0. The same seed, number of questions and kinds give the same questions.
    questions : int
        1 to 24.
    about : sequence of str
        Kinds of lesson (`KINDS`) that come first, up to half of the questions, where the machine
        has such.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the race needs.
    DrillError
        If the seed, the number or a kind cannot be.
    TripmarginError
        If the machine gives no question.

    Notes
    -----
    Chances are those of `protection.race`. Each round of four asks for one piece that is surely
    missed, one surely too late, one surely protected and one on a soft edge; where a machine has
    none of a sort, the rarest of the others comes instead, and no sort takes more than half.

    Examples
    --------
    >>> import tripmargin
    >>> drill = would_it_stop(tripmargin.load_machine("whimbrel"), seed=7, questions=1)
    >>> drill.now.situation.piece, drill.answer("protected 90").points > 0
    ('5.6 mm ball', True)
    """
    if seed < 0:
        raise DrillError("seed", str(seed), say("below 0"), say("a whole number from 0"))
    if not 1 <= questions <= MOST_QUESTIONS:
        allowed = say("a whole number from 1 to {most}", most=MOST_QUESTIONS)
        raise DrillError("questions", str(questions), say("out of range"), allowed)
    for kind in about:
        if kind not in KINDS:
            raise DrillError("about", kind, say("no such kind of lesson"), ", ".join(KINDS))
    chosen = Chooser(Races(machine), Scenes(machine, seed)).choose(questions, tuple(about))
    return WouldItStop(machine, seed, chosen, tuple(about))


def points_by_kind(answered: Sequence[Answered]) -> tuple[tuple[str, float], ...]:
    """The mean of the points of each kind of lesson."""
    found: dict[str, list[float]] = {}
    for each in answered:
        found.setdefault(each.question.kind, []).append(each.points)
    return tuple((kind, sum(points) / len(points)) for kind, points in found.items())


def _best(question: Question) -> Answer:
    return Answer.exactly(question.chances)


def _move(answer: Answer, question: Question) -> Move:
    return Move(m.ANSWER, answer.text, told(lambda: chances_said(question.chances)))


def _scored(answered: Sequence[Answered]) -> Score:
    count = len(answered)
    parts = []
    for number, each in enumerate(answered, 1):
        parts.append(Part(_name(number, each), each.points / count, _why(each)))
    return Score(sum(each.points for each in answered) / count, tuple(parts), 0.0, 0.0)


def _name(number: int, each: Answered) -> Told:
    piece = each.question.situation.piece
    return told(lambda: say("{number}. {piece}", number=number, piece=piece_words(piece)))


def _why(each: Answered) -> Told:
    return told(
        lambda: say(
            "You said: {answer}. Calculated: {came}. {points:.1f} of 100.",
            answer=answer_said(each.answer.text), came=chances_said(each.question.chances),
            points=each.points,
        )
    )  # fmt: skip
