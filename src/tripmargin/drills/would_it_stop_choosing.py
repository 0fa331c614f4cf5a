"""Choosing questions that teach: spread over the map's regions, some on its soft edges."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from math import ceil

import numpy as np
from numpy.typing import NDArray

from tripmargin.drills.would_it_stop_answers import (
    DOUBTFUL,
    MISSED,
    PROTECTED,
    REGIONS,
    TOO_LATE,
    Chances,
    region_of,
)
from tripmargin.drills.would_it_stop_kinds import (
    FAST_FEED,
    IN_TIME,
    LONG_STOP,
    NOT_FERROUS,
    SLOW_FEED,
    SMALL_PIECE,
    WEAK_PLACE,
    cuts_on_offer,
)
from tripmargin.drills.would_it_stop_questions import Question, chances_of, question_of
from tripmargin.drills.would_it_stop_races import Races, Situation
from tripmargin.drills.would_it_stop_scenes import Scene, Scenes
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine
from tripmargin.protection.bench import Bench
from tripmargin.protection.spots import Spot
from tripmargin.sensing import Piece, simulate_pass
from tripmargin.stopping.feed import metal_speed

BALL = "ball"
STEEL, NOT_STEEL = "steel piece", NOT_FERROUS
_REFERENCE = 0.01  # m
_SIZES = np.unique(np.geomspace(4.0, 50.0, 160).round(1)) * 1e-3
"""m, in tenths of a millimetre: soft edges are narrow."""
_WHOLE = np.isclose((_SIZES * 1e3) % 1, 0)
_TRIES, _NAMED_TRIES = 14, 9
_BALLS = 0.25
"""Share of the questions about a ball, which can be sized; the others are found in a field."""
_FAILS = {MISSED: 2, TOO_LATE: 2, PROTECTED: 2, DOUBTFUL: 3}
"""Runs of tries without success, after which a machine is taken to have none there: many stop long
before the shear bar, so that nothing on them is too late."""
_SILENCE, _SEEN = 1e-6, 1.2
"""Thresholds: a race there has no signal at all; a piece is surely seen, and the inverse surely
missed, near enough to spare the race."""
_SOFT = (0.55, 0.97)
"""What the likeliest outcome of a question on a soft edge should have, of balls that can be sized
to it."""
_REGION_OF_KIND = {
    SLOW_FEED: MISSED, WEAK_PLACE: MISSED, SMALL_PIECE: MISSED, NOT_FERROUS: MISSED,
    FAST_FEED: TOO_LATE, LONG_STOP: TOO_LATE, IN_TIME: PROTECTED,
}  # fmt: skip


@dataclass(slots=True)
class Chooser:
    """Questions of one machine and one seed, one after the other."""

    races: Races
    scenes: Scenes
    made: list[Question] = field(default_factory=list)
    fails: Counter[str] = field(default_factory=Counter)

    @property
    def machine(self) -> Machine:
        """As its file has it."""
        return self.races.machine

    def choose(self, count: int, about: tuple[str, ...]) -> tuple[Question, ...]:
        """So many questions; the first ones about these kinds, where the machine has such.

        Raises
        ------
        NotKnownError
            If the machine file lacks what the race needs.
        TripmarginError
            If no question can be made at all.
        """
        cuts_on_offer(self.machine)
        for number, kind in enumerate(about[: ceil(count / 2)]):
            wanted = _REGION_OF_KIND[kind]
            found = self._one(f"about {number}", wanted, self._family(wanted, kind), kind)
            self.made += [] if found is None else [found]
        left = count - len(self.made)
        for number, (wanted, metal) in enumerate(self._slots(left)):
            found = self._any(number, wanted, metal, ceil(count / 2))
            if found is None:
                raise TripmarginError(
                    say(
                        "{machine}: no question can be made from its file.",
                        machine=self.machine.name,
                    )
                )
            self.made.append(found)
        order = sorted(range(count), key=lambda k: self.scenes.toss("order", k))
        return tuple(self.made[k] for k in order)

    def _slots(self, count: int) -> list[tuple[str, str]]:
        """Regions in turn, each round of them in another order, and what the piece is.

        Now a ball, now something found in a field. One missed piece of each eight is one that a
        magnet hardly moves; these come first, so that what else is missed is counted with them.
        """
        made: list[tuple[str, str]] = []
        while len(made) < count:
            turn = len(made)
            for name in sorted(REGIONS, key=lambda name: self.scenes.toss("wanted", turn, name)):
                other = name == MISSED and turn % 8 == 0
                made.append((name, NOT_STEEL if other else self._family(str(turn), name)))
        return sorted(made[:count], key=lambda slot: slot[1] != NOT_STEEL)

    def _family(self, wanted: str, kind: str) -> str:
        if kind == NOT_FERROUS:
            return NOT_STEEL
        return BALL if self.scenes.toss("family", wanted, kind) < _BALLS else STEEL

    def _any(self, number: int, wanted: str, metal: str, most: int) -> Question | None:
        """A question in the wanted region; where the machine has none there, in the rarest."""
        if metal == NOT_STEEL:
            other = self._one(number, wanted, metal)
            if other is not None:
                return other
            metal = BALL
        count = Counter(self._part(question.chances) for question in self.made)
        others = sorted(
            (name for name in REGIONS if name != wanted),
            key=lambda name: (count[name], self.scenes.toss("instead", number, name)),
        )
        free = [name for name in (wanted, *others) if count[name] < most]
        for name in (*free, *(name for name in others if name not in free)):
            if self.fails[name] < _FAILS[name]:
                found = self._one(number, name, metal)
                if found is not None:
                    return found
                self.fails[name] += 1
        return None

    def _one(
        self, number: object, wanted: str, metal: str, kind: str | None = None
    ) -> Question | None:
        """A question in a region, with that metal if it comes about soon."""
        for attempt in range(_TRIES):
            of = (number, wanted, attempt)
            scene = self.scenes.scene(wanted, *of)
            if metal == NOT_STEEL:
                piece: str | None = self.scenes.not_steel(*of)
            elif metal == STEEL and attempt < _NAMED_TRIES and wanted != DOUBTFUL:
                piece = self.scenes.piece(*of)
            else:
                piece = None if self._silent(scene) else self._ball(scene, wanted, of)
            if piece is None or self._asked(piece, scene) or not self._fits(piece, scene):
                continue
            where = "" if metal == NOT_STEEL else wanted
            found = self._question(_situation(piece, scene), where)
            if found is not None and kind in (None, found.kind):
                return found
        return None

    def _question(self, situation: Situation, wanted: str) -> Question | None:
        """A situation as a question, where it lies in the wanted part; any part without one."""
        one = self.races.one_pass(situation)
        signal = one.peak / one.threshold
        if (
            signal < _SILENCE
            or (wanted == MISSED and signal > _SEEN)
            or (wanted in (TOO_LATE, PROTECTED) and signal < 1 / _SEEN)
        ):
            return None  # spares the race
        run = self.races.race(situation)
        if wanted and self._part(chances_of(run)) != wanted:
            return None
        return question_of(self.races, situation, run)

    def _part(self, chances: Chances) -> str:
        """The region of a situation, all that is not sure counted as a soft edge."""
        sure = self.machine.limits.confidence.nominal
        return region_of(chances, sure) if max(chances) >= sure else DOUBTFUL

    def _silent(self, scene: Scene) -> bool:
        """Whether the windings cancel at this place, so that a race there has no signal at all."""
        ball = Piece.ball(_REFERENCE)
        speed = metal_speed(self.machine, scene.cut_length)
        one = simulate_pass(self.machine, ball, x=scene.x, height=scene.height, speed=speed)
        return one.peak < _SILENCE * one.threshold

    def _fits(self, piece: str, scene: Scene) -> bool:
        """Whether the piece lies between the rolls: not into the lower one, not beside them."""
        of = Piece.from_text(piece)
        width, depth = self.machine.need(
            later("would it stop?"), "feed.roll_width", "feed.crop_depth"
        )
        reach = np.abs(of.orientation) @ _sides(of) / 2
        above = reach[2] <= scene.height and 2 * reach[2] <= depth.high
        return bool(above and abs(scene.x) + reach[0] <= width.nominal / 2)

    def _asked(self, piece: str, scene: Scene) -> bool:
        """Whether the piece was asked about at this cut."""
        return any(
            each.situation.piece == piece and each.situation.cut_length == scene.cut_length
            for each in self.made
        )

    def _ball(self, scene: Scene, wanted: str, of: tuple[object, ...]) -> str | None:
        """A steel ball of a size that brings the scene into the region; None where none does."""
        missed, late = self._over_sizes(scene)
        parts = np.array([missed, late, 1 - missed - late])
        sure = self.machine.limits.confidence.nominal
        if wanted == DOUBTFUL:
            top = parts.max(axis=0)
            fit = np.flatnonzero((top >= _SOFT[0]) & (top <= _SOFT[1]))
        else:
            row = (MISSED, TOO_LATE, PROTECTED).index(wanted)
            fit = np.flatnonzero((parts[row] >= sure) & _WHOLE)
        if fit.size == 0:
            return None
        # What is close to an edge teaches: the largest that are missed, the smallest protected.
        near = {MISSED: fit[-4:], PROTECTED: fit[:4]}.get(wanted, fit)
        size = float(_SIZES[self.scenes.pick(near, "size", *of)])
        return f"{size * 1e3:g} mm ball"

    def _over_sizes(self, scene: Scene) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Chances of missing and of coming too late, for steel balls of all sizes."""
        machine, stops = self.races.set_machine(scene.settings), self.races.stops(scene.settings)
        ball = Piece.ball(_REFERENCE)
        spot = Spot.of(machine, scene.cut_length, ball, scene.x, scene.height)
        bench = Bench(machine, [scene.cut_length], sights=spot.sights, stops=stops)
        scales = (_SIZES / _REFERENCE) ** 3
        found = bench.chances(spot.seen, scene.cut_length, scales, fine=True)
        return found.missed, found.too_late


def _situation(piece: str, scene: Scene) -> Situation:
    return Situation(piece, scene.cut_length, scene.x, scene.height, scene.settings)


def _sides(piece: Piece) -> NDArray[np.float64]:
    """A piece's length, width and thickness along its body axes, m."""
    if piece.kind == "ball":
        return np.full(3, piece.dimensions[0])
    if piece.kind == "rod":
        diameter, length = piece.dimensions
        return np.array([length, diameter, diameter])
    return np.array(piece.dimensions)
