"""How much in the code looks like words for people and goes through no catalogue.

Most of what is left are keys of two words, patterns, and what only programmers meet; the numbers
may fall, never rise. `python tools/unsaid.py ROOM` lists them.
"""

from __future__ import annotations

import pytest

from tools.unsaid import SOURCE, unsaid

MOST = {
    "circuit": 34,
    "cli": 18,
    "drills": 51,
    "faultfinding": 91,
    "ground": 20,
    "machine": 36,
    "pictures": 69,
    "protection": 6,
    "recordings": 58,
    "records": 154,
    "reports": 32,
    "sensing": 2,
    "stopping": 8,
    "web": 81,
}


@pytest.mark.parametrize("room", sorted(MOST))
def test_no_room_says_more_past_the_catalogues(room: str) -> None:
    found = [one for path in (SOURCE / room).rglob("*.py") for one in unsaid(path)]
    assert len(found) <= MOST[room], found
