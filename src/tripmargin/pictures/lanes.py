"""The stages of a stop laid out as rows of bars: what runs after what, and what side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from tripmargin.ground.languages import say
from tripmargin.pictures.data import StageLike
from tripmargin.pictures.trade_words import pawl_words, stage_words
from tripmargin.pictures.words import time_ms

_OF_A_PAWL = ("swing", "tooth")


@dataclass(frozen=True, slots=True)
class Bar:
    """A stage on the time axis, s: where it begins when all before it are nominal."""

    stage: StageLike
    begins: float

    @property
    def ends(self) -> float:
        """When it is over, if it takes its nominal time."""
        return self.begins + self.stage.nominal


@dataclass(frozen=True, slots=True)
class Lane:
    """A row of the bar chart: one stage, or one pawl's swing and tooth; `words` is what it says."""

    name: str
    bars: tuple[Bar, ...]

    @property
    def words(self) -> str:
        """The row's name in people's words."""
        if not self.bars:
            return self.name
        name = self.bars[0].stage.name
        kind, _, pawl = name.partition(" ")
        if pawl and kind in _OF_A_PAWL:
            return pawl_words(pawl)
        return stage_words(name)

    @property
    def lasts(self) -> float:
        """When its last bar or whisker ends, s; what never ends or never begins does not count."""
        instants = [0.0]
        for bar in self.bars:
            instants += [bar.begins, bar.ends, bar.begins + bar.stage.high]
        return max(instant for instant in instants if isfinite(instant))

    @property
    def surely(self) -> float:
        """Until when it lasts at least, or nominally where it then ends, s."""
        instants = [0.0]
        for bar in self.bars:
            instants += [bar.begins, bar.ends, bar.begins + bar.stage.low]
        return max(instant for instant in instants if isfinite(instant))

    @property
    def begins(self) -> bool:
        """Whether it ever begins when all before it are nominal."""
        return all(isfinite(bar.begins) for bar in self.bars[:1])

    @property
    def ends(self) -> bool:
        """Whether it surely ends once begun: none of its bars may stick."""
        return all(isfinite(bar.stage.high) for bar in self.bars)


def lanes_of(stages: Sequence[StageLike]) -> tuple[list[Lane], float]:
    """Rows of bars, and the nominal instant at which the last pawl has caught, s.

    Stages before the pawls run one after another; each pawl's swing and tooth start together with
    the other pawls'; what comes after waits for the last pawl.
    """
    lanes: list[Lane] = []
    start = over = caught = 0.0
    rows: dict[str, int] = {}
    for stage in stages:
        kind, _, pawl = stage.name.partition(" ")
        if not (pawl and kind in _OF_A_PAWL):
            lanes.append(Lane(stage.name.replace("_", " "), (Bar(stage, over),)))
            if stage.name != "rest":
                caught = over + stage.nominal
            start = over = over + stage.nominal
            continue
        if pawl not in rows:
            rows[pawl] = len(lanes)
            lanes.append(Lane(f"{pawl} pawl", ()))
        before = lanes[rows[pawl]].bars
        bar = Bar(stage, before[-1].ends if before else start)
        lanes[rows[pawl]] = Lane(f"{pawl} pawl", (*before, bar))
        caught = over = max(over, bar.ends)
    return lanes, caught


def lane_words(lane: Lane) -> list[str]:
    """What to write beside a row, the fullest first."""
    if not lane.begins:
        return [say("{stage}: never begins", stage=lane.words)]
    nominal = sum(bar.stage.nominal for bar in lane.bars)
    if not isfinite(nominal):
        return [
            say("{stage}: never comes about, the feed runs on", stage=lane.words),
            say("{stage}: never comes about", stage=lane.words),
            say("{stage}: never", stage=lane.words),
        ]
    total = f"{lane.words} {time_ms(nominal)} ms"
    if not lane.ends:
        return [
            say("{stage}, may never come about", stage=total),
            say("{stage} or never", stage=total),
        ]
    if len(lane.bars) == 1:
        return [total]
    swing, tooth = (time_ms(bar.stage.nominal) for bar in lane.bars[:2])
    both = say("{pawl}: swing {swing}, tooth {tooth} ms", pawl=lane.words, swing=swing, tooth=tooth)
    return [both, total]
