"""A stop's instants as they were found, and where a person has put them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tripmargin.recordings import RecordingError
from tripmargin.recordings.stop_time import StopTime
from tripmargin.web.measuring.numbers import Number

LONGEST = 1e5
"""ms, of an instant from the stop's beginning."""


@dataclass(slots=True)
class Moving:
    """A stop as it was found, and with the instants where a person has put them.

    The boxes count from where the stop's beginning was found, as the picture does.
    """

    found: StopTime
    moved: StopTime
    boxes: list[tuple[Any, Number]]
    trouble: str = ""

    @classmethod
    def of(cls, found: StopTime, said: Any) -> Moving:
        """From the boxes that came back; without any, as it was found."""
        boxes, times = [], {}
        zero = found.instant(found.start).time
        for one in found.instants:
            name, label = f"i.{one.name}", one.name.capitalize()
            as_found = f"{1e3 * (one.time - zero) + 0.0:.1f}"  # no "-0.0"
            box = Number(name, label, "ms", -LONGEST, LONGEST, said.get(name, as_found))
            value = box.read()
            if value is not None and box.text.strip() != as_found:
                times[one.name.replace(" ", "_")] = zero + value / 1e3
            boxes.append((one, box))
        made = cls(found, found, boxes)
        try:
            if times:
                made.moved = found.moved(**times)
        except RecordingError as error:
            made.trouble = str(error)
        return made

    @property
    def good(self) -> bool:
        """Whether every instant could be read and makes a stop."""
        return not self.trouble and not any(box.troubles for _, box in self.boxes)
