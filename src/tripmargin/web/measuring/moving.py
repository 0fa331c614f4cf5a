"""A stop's instants as they were found, and where a person has put them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.languages import numeral
from tripmargin.recordings import RecordingError
from tripmargin.recordings.stop_time import StopTime
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.measuring.plain_words import plainly

THERE = "there"
"""The tick of somebody who hears both ends where they stand."""
LONGEST = 1e5
"""ms, of an instant from the stop's beginning."""


@dataclass(slots=True)
class Moving:
    """A stop as it was found, and with the instants where a person has put them.

    The boxes count from where the stop's beginning was found, as the picture does. `there`: both
    ends are heard where they stand, and so count as put by hand, moved or not.
    """

    found: StopTime
    moved: StopTime
    boxes: list[tuple[Any, Number]]
    trouble: str = ""
    there: bool = False

    @classmethod
    def of(cls, found: StopTime, said: Any) -> Moving:
        """From the boxes that came back; without any, as it was found."""
        boxes, times = [], {}
        there = said.get(THERE) == "yes"
        zero = found.instant(found.start).time
        for one in found.instants:
            name, label = f"i.{one.name}", f"{one.said[:1].upper()}{one.said[1:]}"
            as_found = numeral(1e3 * (one.time - zero) + 0.0, ".1f")  # no "-0.0"
            box = Number(name, label, "ms", -LONGEST, LONGEST, said.get(name, as_found))
            value = box.read()
            key = one.name.replace(" ", "_")
            if value is not None and typed(box.text.strip()) != typed(as_found):
                times[key] = zero + value / 1e3
            elif value is not None and there and one.name in (found.start, found.end):
                times[key] = one.time  # exactly, not as the box rounds it
            boxes.append((one, box))
        made = cls(found, found, boxes, there=there)
        try:
            if times:
                made.moved = found.moved(**times)
                made.boxes = [(made.moved.instant(one.name), box) for one, box in boxes]
        except RecordingError as error:
            made.trouble = plainly(str(error))
        return made

    @property
    def good(self) -> bool:
        """Whether every instant could be read and makes a stop."""
        return not self.trouble and not any(box.troubles for _, box in self.boxes)
