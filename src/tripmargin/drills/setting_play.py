"""Setting pawls in a drill: every move that a learner may make, and what it costs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import isfinite

from tripmargin.drills import moves as m
from tripmargin.drills.moves import Move
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.told import Told, cautions_told, told
from tripmargin.drills.virtual_pawls import VirtualPawls
from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import later, say
from tripmargin.ground.units import shown
from tripmargin.stopping.pawl_words import pawl_words
from tripmargin.stopping.setting import SettingError, Steps
from tripmargin.stopping.setting.rounds import Round, Work, going_on
from tripmargin.stopping.setting.step_words import CAUTIONS, gap_written

MINUTES = {m.SECURE: 1.0, m.MEASURE: 2.0, m.TURN: 5.0, m.PLACE: 5.0}
"""What each move takes; invented."""
UNSEEN = later(
    "A gap that may have changed is measured before the machine goes back to work: until then"
    " nobody knows whether the pawls catch."
)
EQUAL = 1e-6  # turns


@dataclass(slots=True)
class SettingPlay:
    """One play on pawls whose true gaps are hidden.

    Attributes
    ----------
    pawls : VirtualPawls
    plan_for : callable
        Gaps by pawl, m, to the planner's `Steps`.
    us : bool
        Gaps are told in inches.
    moves : list of Move
    secured : bool
        Whether the machine is at rest and blocked: it is not when the drill begins.
    ended : bool
    """

    pawls: VirtualPawls
    plan_for: Callable[[Mapping[str, float]], Steps]
    us: bool = False
    moves: list[Move] = field(default_factory=list)
    secured: bool = False
    ended: bool = False
    readings: dict[str, float] = field(default_factory=dict)
    rounds: list[Round] = field(default_factory=list)
    _moved: dict[str, tuple[float | None, bool]] = field(default_factory=dict)
    _stale: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        """Nothing was measured yet."""
        self._stale = set(self.pawls.gaps)

    @property
    def minutes(self) -> float:
        """Spent so far."""
        return sum(move.minutes for move in self.moves)

    @property
    def mended(self) -> bool:
        """Whether every true gap is inside the window."""
        return self.pawls.inside

    def make(self, do: str, what: str = "") -> Move:
        """Make a move: secure, measure PAWL, turn PAWL TURNS, place PAWL GAP, hint, done.

        Turns are above zero where they open the gap; a gap to place is in metres.

        Raises
        ------
        DrillError
            If there is no such move or pawl, or it cannot be moved so. Nothing is counted then.
        """
        if self.ended:
            raise DrillError(say("move"), do, say("the drill has ended"), say("no further move"))
        ways = {m.MEASURE: self._measure, m.TURN: self._turn, m.PLACE: self._place}
        if do in ways:
            pawl, _, value = what.rpartition(" ") if do != m.MEASURE else (what, "", "")
            self._known(pawl)
            number = self._number(do, pawl, value) if value else 0.0
            if not self.secured:
                why = told(lambda: say("The key is on, and the feed rolls are not blocked."))
                move = Move(do, what, m.REFUSED, caution=cautions_told(CAUTIONS), why=why)
            else:
                move = ways[do](what, pawl, number)
        elif do == m.SECURE:
            self.secured = True
            move = Move(do, "", "at rest, blocked", MINUTES[do])
        elif do == m.HINT:
            move = self._hint()
        elif do == m.DECLARE:
            move = self._declare()
        else:
            raise DrillError(say("move"), do, say("no such move"), ", ".join(m.SETTING_MOVES))
        self.moves.append(move)
        self.ended = do == m.DECLARE and not move.unsafe
        return move

    def next_work(self) -> Work:
        """What the planner would do next, from what was measured.

        Raises
        ------
        SettingError
            If nothing can be planned from the gaps.
        """
        unread = [name for name in self.pawls.gaps if name not in self.readings]
        pawl = next(iter((*self._moved, *unread)), None)
        if pawl is not None:
            return Work("measure", pawl)
        return going_on(self.plan_for, self.readings, self.rounds).work

    def _measure(self, what: str, pawl: str, _: float) -> Move:
        gap = self.pawls.measure(pawl)
        turns, placed = self._moved.pop(pawl, (None, False))
        if pawl in self.readings:
            self.rounds.append(Round(pawl, gap, turns, placed))
        else:
            self.readings[pawl] = gap
        self._stale.discard(pawl)
        return Move(m.MEASURE, what, gap_written(gap, self.us), MINUTES[m.MEASURE])

    def _turn(self, what: str, pawl: str, turns: float) -> Move:
        self.pawls.turn(pawl, turns)
        before = self._moved.get(pawl, (None, False))[0] or 0.0
        self._changed(pawl, (before + turns, False))
        return Move(m.TURN, what, "turned and tightened", MINUTES[m.TURN])

    def _place(self, what: str, pawl: str, gap: float) -> Move:
        step = self.pawls.adjusters.feeler_step
        self.pawls.place(pawl, max(round(gap / step), 1) * step)
        self._changed(pawl, (None, True))
        return Move(m.PLACE, what, "placed and tightened", MINUTES[m.PLACE])

    def _changed(self, pawl: str, how: tuple[float | None, bool]) -> None:
        self._moved[pawl] = how
        share = self.pawls.of(pawl).coupling
        self._stale |= {pawl} if share.mean == 0 and share.sd == 0 else set(self.pawls.gaps)

    def _hint(self) -> Move:
        try:
            work = self.next_work()
        except SettingError:
            return Move(m.HINT, "", "", why=self._not_planned())
        if not self.secured:
            why = told(lambda: say("Bring the machine to rest, and block the rolls and each pawl."))
            return Move(m.HINT, "", m.SECURE, why=why)
        if work.do == "done":
            why = told(lambda: say("Every gap is surely inside: declare it set."))
            return Move(m.HINT, "", m.DECLARE, why=why)
        return Move(m.HINT, asked(work), work.do, why=told(lambda: _work_words(work, self.us)))

    def _not_planned(self) -> Told:
        """Why nothing can be planned from the gaps as they were measured so far."""
        readings, rounds = dict(self.readings), list(self.rounds)

        def saying() -> str:
            try:
                going_on(self.plan_for, readings, rounds)
            except SettingError as error:
                return str(error)
            return ""

        return told(saying)

    def _declare(self) -> Move:
        if self._stale:
            stale = sorted(self._stale)
            why = told(
                lambda: say(
                    "Not measured since it may have changed: {pawls}.",
                    pawls=", ".join(map(pawl_words, stale)),
                )
            )
            return Move(m.DECLARE, "", m.REFUSED, caution=cautions_told([UNSEEN]), why=why)
        return Move(m.DECLARE, "", "inside" if self.mended else "a gap is outside the window")

    def _known(self, pawl: str) -> None:
        names = list(self.pawls.gaps)
        if pawl not in names:
            called = [pawl_words(name) for name in names]
            near = nearest(pawl, called)
            hint = say("Did you mean {name!r}?", name=near) if near else ""
            raise DrillError(say("pawl"), pawl, say("no such pawl"), ", ".join(called), hint)

    def _number(self, do: str, pawl: str, text: str) -> float:
        """Turns of a clevis, or a gap for a clamp in m."""
        each = self.pawls.of(pawl)
        wanted = {m.TURN: "clevis", m.PLACE: "clamp"}[do]
        if each.kind != wanted:
            way = m.TURN if each.kind == "clevis" else m.PLACE
            has = say("it has a clevis") if each.kind == "clevis" else say("it has a clamp")
            raise DrillError(do, pawl, has, f"{way} {pawl}")
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if do == m.PLACE:
            widest = self.pawls.adjusters.window[1] * 2
            if not 0 < value <= widest:
                allowed = say("up to {most}", most=shown(widest, "length", us=self.us))
                seen = shown(value, "length", us=self.us) if isfinite(value) else text
                raise DrillError(say("gap"), seen, say("no gap to place a clamp at"), allowed)
            return value
        most = each.setting_range / (each.pitch * each.leverage.mean)
        if not 0 < abs(value) <= most:
            allowed = say("up to {most:.1f}", most=most)
            raise DrillError(say("turns"), text, say("not what the thread gives"), allowed)
        count = value / each.smallest_turn
        if abs(count - round(count)) > EQUAL:
            allowed = say("multiples of {step:.4g}", step=each.smallest_turn)
            raise DrillError(say("turns"), text, say("not whole smallest turns"), allowed)
        return value


def _work_words(work: Work, us: bool) -> str:
    """What the planner would do next, in words."""
    if work.steps:
        return work.steps[0].words(us)
    return say("Measure the {pawl} pawl's gap.", pawl=pawl_words(work.pawl))


def asked(work: Work) -> str:
    """What a move of the planner is made with: pawl, and turns or gap."""
    if work.do == "turn":
        return f"{work.pawl} {work.steps[0].turns!r}"
    if work.do == "place":
        return f"{work.pawl} {work.steps[0].gap!r}"
    return work.pawl
