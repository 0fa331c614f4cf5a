"""A comma in a number is mended at one touch, in every box that a number is typed into."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any
from uuid import uuid4

import pytest

from tests.web.test_guided import CHECK, FILE, QUESTIONS, SAID, START, draft
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry, Machine

Client = Callable[..., Any]


@pytest.fixture
def dunlin(sqlite_records: str) -> Machine:
    return add_demo_machine("dunlin")


def offered(page: str, name: str) -> list[str]:
    """What the buttons beside a box offer."""
    return re.findall(rf'name="mend.{re.escape(name)}" value="([^"]+)"', unescape(page))


@pytest.mark.parametrize(
    ("kind", "field", "typed", "mended", "key", "value"),
    [
        ("adjustment", "v.gap_after_m/lower", "3,5", "3.5", "gap_after_m/lower", 0.0035),
        ("hours", "v.hours_s", "1,240", "1240", "hours_s", 1240 * 3600.0),
    ],
)
def test_an_entry_of_the_log(
    browser_as: Client, dunlin: Machine, kind: str, field: str, typed: str, mended: str,
    key: str, value: float,
) -> None:  # fmt: skip
    client, address = browser_as(2), f"/machines/{dunlin.uid}/log/new/{kind}/"
    sent = {"uid": str(uuid4()), field: typed, "note": "Tuesday", "at": "", "zone": "0"}
    refused = client.post(address, sent)
    assert refused.status_code == 422
    assert mended in offered(refused.content.decode(), field)
    kept = client.post(address, {**sent, f"mend.{field}": mended})
    assert kept.status_code == 302  # one touch: it is kept
    entry = Entry.objects.get()
    assert entry.values[key] == pytest.approx(value)
    assert entry.note == "Tuesday"


@pytest.mark.parametrize(
    ("name", "typed", "mends"),
    [
        ("feed.roll_diameter", "330,5 +- 0,5", ["330.5 +- 0.5"]),
        ("feed.cut_lengths", "4,5; 8", ["4.5; 8", "4; 5; 8"]),
        ("feed.cut_lengths", "4,5", ["4.5", "4; 5"]),
        ("limits.must_stop", "12,5 mm ball", ["12.5 mm ball"]),
        ("chain.hold_winding.suppression", "diode 0,8", ["diode 0.8"]),
        ("feed.roll_diameter", "33", []),
        ("machine.description", "tall, 3,5 m", []),
    ],
)
def test_a_guided_question(
    browser_as: Client, sqlite_records: str, name: str, typed: str, mends: list[str]
) -> None:
    client = browser_as(3)
    client.post(QUESTIONS, START)
    checked = client.post(f"{CHECK}?field={name}", {**START, name: typed}).content.decode()
    assert offered(checked, name) == mends
    for text in mends:
        # Without a script the button sends the whole form, which goes on.
        sent = {**START, **SAID, name: typed, f"mend.{name}": text}
        answer = client.post(FILE, sent)
        assert answer.status_code == 302, answer.content.decode()
        assert draft(client)["said"][name] == text


def test_the_piece_box_and_nothing_else_that_was_turned_is_lost(
    browser_as: Client, dunlin: Machine
) -> None:
    client, page = browser_as(1), f"/machines/{dunlin.uid}/"
    said = client.get(f"{page}?cut=9&piece=12,5+mm+ball").content.decode()
    link = re.search(r'href="([^"]+)" data-mend="piece" data-mended="12.5 mm ball"', said)
    assert link is not None
    assert "a comma inside a number" in said
    went_on = unescape(client.get(unescape(link[1])).content.decode())
    assert 'value="12.5 mm ball"' in went_on
    assert "cut=9" in unescape(link[1])
    assert 'class="trouble"' not in went_on
    part = client.get(f"{page}turned/?piece=12,5+mm+ball", headers={"HX-Request": "true"})
    assert part.status_code == 422
    assert 'data-mended="12.5 mm ball"' in part.content.decode()


def test_what_a_button_offers_is_escaped(browser_as: Client, dunlin: Machine) -> None:
    said = browser_as(1).get(
        f"/machines/{dunlin.uid}/?piece=1,5%22%3E%3Cscript%3Ealert(1)%3C/script%3E"
    )
    assert "<script>alert" not in said.content.decode()
