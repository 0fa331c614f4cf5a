"""The form of setting the pawls: gaps, feeler, unit, and what was done so far."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid4

from django.http import QueryDict

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say
from tripmargin.pictures.trade_words import pawl_title
from tripmargin.stopping.setting import Adjusters, SettingError
from tripmargin.stopping.setting.rounds import Round
from tripmargin.stopping.setting.step_words import gap_words
from tripmargin.web.setting.lengths import UNITS, LengthBox
from tripmargin.web.setting.rounds_sent import LEAST_GAP, MOST_GAP, RoundError, as_sent, rounds_of

GAP = "gap."
_FEELER = (1e-5, 1e-3)  # m; as the log takes it


@dataclass(slots=True)
class PawlForm:
    """What stands in the form, as typed; what is wrong with it stands beside it."""

    unit: str
    gaps: list[LengthBox]
    pawls: tuple[str, ...]
    feeler: LengthBox
    best: bool
    uid: UUID
    rounds: tuple[Round, ...] = ()
    troubles: list[str] = field(default_factory=list)
    """What is wrong with all of it."""

    @classmethod
    def of(
        cls, said: QueryDict, adjusters: Adjusters, filed: float | None, *, us: bool
    ) -> PawlForm:
        """The form as it came back, or an empty one; `filed`: the file's feeler step, m."""
        troubles = []
        unit = said.get("unit") or ("in" if us else "mm")
        if unit not in UNITS:
            troubles.append(
                say(
                    "Unit “{seen}”: not one of {units}.",
                    seen=shortened(unit, 20),
                    units=", ".join(UNITS),
                )
            )
            unit = "in" if us else "mm"
        try:
            rounds = rounds_of(said.getlist("round"), adjusters)
        except RoundError as error:
            rounds = ()
            troubles.append(
                say(
                    "What was done so far came back otherwise than it was sent: {why}. It is left"
                    " out. Measure every gap anew and begin from there.",
                    why=error,
                )
            )
        boxes = [
            LengthBox(f"{GAP}{pawl}", f"gap{i}", pawl_title(pawl), unit, LEAST_GAP,
                      MOST_GAP, said.get(f"{GAP}{pawl}", ""), zero_goes=True)
            for i, pawl in enumerate(adjusters.names)
        ]  # fmt: skip
        step = gap_words(adjusters.feeler_step, unit == "in")
        empty = say("Left empty: {step}, from the machine's file.", step=step)
        if filed is None:
            empty = say("Left empty: {step}, assumed: common practice, no source.", step=step)
        feeler = LengthBox(
            "feeler", "feeler", say("Step from one blade of your feeler to the next"), unit,
            *_FEELER, said.get("feeler", ""), required=False, help=empty,
        )  # fmt: skip
        return cls(unit, boxes, adjusters.names, feeler, said.get("best") == "1",
                   _uid(said.get("uid", "")), rounds, troubles)  # fmt: skip

    @property
    def us(self) -> bool:
        """Whether lengths are in inches."""
        return self.unit == "in"

    @property
    def good(self) -> bool:
        """Whether nothing is wrong so far."""
        boxes = [*self.gaps, self.feeler]
        return not self.troubles and not any(box.troubles for box in boxes)

    @property
    def lines(self) -> tuple[str, ...]:
        """The rounds as the form carries them."""
        return tuple(map(as_sent, self.rounds))

    def read(self) -> tuple[dict[str, float], float | None]:
        """Gaps by pawl and the feeler's step, m; what cannot be is told beside its box."""
        found = {pawl: box.read() for pawl, box in zip(self.pawls, self.gaps, strict=True)}
        step = self.feeler.read()
        return {pawl: gap for pawl, gap in found.items() if gap is not None}, step

    def refuse(self, error: SettingError) -> None:
        """Put what the gaps cannot be planned from beside those that it is about."""
        about = [box for pawl, box in zip(self.pawls, self.gaps, strict=True)
                 if f"gap of {pawl}" in error.what.split(", ")]  # fmt: skip
        if not about:
            self.troubles.append(told(error))
        for box in about[:1]:
            box.troubles.append(told(error))
        for box in about[1:]:
            box.troubles.append(say("The same as with: {pawl}.", pawl=about[0].label))


def told(error: SettingError) -> str:
    """What is wrong, what is allowed, what to look at; lengths have their units on the page."""
    problem = f"{error.problem[:1].upper()}{error.problem[1:]}."
    said = problem
    if error.value:
        said = say("{value}: {problem}.", value=error.value, problem=error.problem)
    hint = "" if "in metres" in error.hint else error.hint
    return "\n".join(filter(None, (said, say("Allowed: {allowed}.", allowed=error.allowed), hint)))


def _uid(text: Any) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        return uuid4()
