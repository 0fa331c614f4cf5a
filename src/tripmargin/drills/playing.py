"""A drill being played: every move that a learner may make, and what it costs."""

from __future__ import annotations

from dataclasses import dataclass, field

from tripmargin.drills import moves as m
from tripmargin.drills.believing import Believer
from tripmargin.drills.broken_machine import BrokenMachine
from tripmargin.drills.moves import Move
from tripmargin.drills.naming import look_named, repair_named, state_named
from tripmargin.drills.refusals import (
    DrillError,
    Unsafe,
    unsafe_declaring,
    unsafe_look,
    unsafe_mend,
)
from tripmargin.drills.told import told, told_as
from tripmargin.faultfinding import HAND_OVER, PROVE_AGAIN, MachineProblem
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written


@dataclass(slots=True)
class Play:
    """One play on a machine with a hidden fault.

    Minutes are those of find-fault: the way into a state, the look, the work, the price of parts by
    the price of an hour, the daily test.

    Attributes
    ----------
    machine : BrokenMachine
    believer : Believer
        What the best player would believe: hints come from it. It knows nothing of the fault.
    moves : list of Move
    ended : bool
    """

    machine: BrokenMachine
    believer: Believer
    moves: list[Move] = field(default_factory=list)
    ended: bool = False

    @property
    def of(self) -> MachineProblem:
        """The machine's problem."""
        return self.machine.of

    @property
    def at(self) -> int:
        """Number of the state that the machine stands in."""
        return self.believer.situation.state

    @property
    def minutes(self) -> float:
        """Spent so far, prices counted as minutes."""
        return sum(move.minutes for move in self.moves)

    @property
    def mended(self) -> bool:
        """Whether nothing of the fault is left; only the drill itself may ask before its end."""
        return self.machine.sound

    def make(self, do: str, what: str = "") -> Move:
        """Make a move by its name: one of `MOVES`.

        Raises
        ------
        DrillError
            If there is no such move, state, look or repair, if the look belongs to another state,
            or if the drill has ended. Nothing is counted then.
        """
        if self.ended:
            raise DrillError(
                say("move"), do, say("the drill has ended"), say("no further move"),
                say("Begin another drill."),
            )  # fmt: skip
        ways = {m.GO: self._go, m.LOOK: self._look, m.MEND: self._mend}
        alone = {
            m.TEST: self._test,
            m.HINT: self._hint,
            m.DECLARE: self._declare,
            m.HAND_OVER: self._hand_over,
        }
        if do in ways:
            move = ways[do](what)
        elif do in alone:
            move = alone[do]()
        else:
            raise DrillError(say("move"), do, say("no such move"), ", ".join(m.MOVES))
        self.moves.append(move)
        self.ended = do in m.ENDING and not move.unsafe
        return move

    def _go(self, what: str) -> Move:
        to = state_named(self.of, what)
        minutes = float(self.of.problem.move[self.at, to])
        self.believer.went(to)
        return Move(m.GO, self.of.problem.states[to], "", minutes)

    def _look(self, what: str) -> Move:
        question = look_named(self.of, what, self.at)
        here = self.of.problem.states[self.at]
        if question.state != here:
            broken = unsafe_look(self.of, question, self.at)
            if broken is not None:
                return _refused(m.LOOK, question.id, broken)
            raise DrillError(
                say("look"), question.id,
                say('the machine is in "{state}"', state=as_written(here)),
                say('this look in the state "{state}"', state=as_written(question.state)),
                say("First: {move}", move=f"{m.GO} {question.state}"),
            )  # fmt: skip
        word = self.machine.look(question.id)
        self.believer.looked(question.id, word)
        came = told_as(word, lambda: question.said(word))
        return Move(m.LOOK, question.id, came, question.minutes)

    def _mend(self, what: str) -> Move:
        work = repair_named(self.of, what)
        broken = unsafe_mend(self.of, self.at)
        if broken is not None:
            return _refused(m.MEND, work.id, broken)
        row = self._row(work.id)
        touched = self.machine.mend(row)
        self.believer.mended(row)
        wrong = work.module and not touched
        minutes = self.of.problem.repairs[row].minutes
        return Move(m.MEND, work.id, "mended", minutes, work.price, wrong)

    def _test(self) -> Move:
        minutes = float(self.of.problem.fix_minutes[self.at, self._row(PROVE_AGAIN)])
        step = self.machine.test()
        self.believer.made_test(step is None, step)
        came = m.PASSED if step is None else f"{m.FAILED} at step {step}"
        return Move(m.TEST, "", came, minutes)

    def _hint(self) -> Move:
        if self.believer.proved():
            why = told(lambda: say("Declare it mended: the test proves enough."))
            return Move(m.HINT, "", m.DECLARE, why=why)
        kind, _, name = self.believer.best().partition(":")
        if kind == "check":
            question = self.of.questions[name]
            why = told(
                lambda: say(
                    'In the state "{state}": look: {look}.',
                    state=as_written(question.state), look=question.about,
                )
            )  # fmt: skip
            return Move(m.HINT, name, m.LOOK, why=why)
        if name == PROVE_AGAIN:
            return Move(m.HINT, "", m.TEST, why=told(lambda: say("Make the daily test.")))
        if name == HAND_OVER:
            return Move(m.HINT, "", m.HAND_OVER, why=told(lambda: say("Hand the machine over.")))
        work = self.of.works[name]
        return Move(m.HINT, name, m.MEND, why=told(lambda: say("At rest: {do}", do=work.do)))

    def _declare(self) -> Move:
        broken = unsafe_declaring(self.believer.tested)
        if broken is not None:
            return _refused(m.DECLARE, "", broken)
        came = "mended" if self.mended else "a fault is left"
        return Move(m.DECLARE, "", came)

    def _hand_over(self) -> Move:
        minutes = float(self.of.problem.fix_minutes[self.at, self._row(HAND_OVER)])
        return Move(m.HAND_OVER, "", "handed over", minutes)

    def _row(self, work: str) -> int:
        return self.of.problem.numbers[f"repair:{work}"] - len(self.of.problem.checks)


def _refused(do: str, what: str, broken: Unsafe) -> Move:
    return Move(do, what, m.REFUSED, caution=broken.caution, why=broken.why)
