"""Setting the pawls in the browser: what cannot be is said beside its box, and nothing is lost."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest

from tests.records.standing_help import NOW, new_machine, write
from tests.web.setting_help import (
    FOUND,
    STOP_ALONE,
    at,
    beside,
    fields,
    read,
    words,
)
from tripmargin.records.store.models import Entry, Machine
from tripmargin.stopping.setting.rounds import Known
from tripmargin.web.setting.pawl_card import as_turned

Client = Callable[..., Any]


@pytest.fixture
def knot(sqlite_records: str) -> Machine:
    return new_machine(STOP_ALONE.replace("Knot", "{name}"))


@pytest.mark.parametrize(
    ("box", "text", "said"),
    [
        ("gap0", "", "Needed, and left empty."),
        ("gap0", "0", "the pawl rests on the ratchet"),
        ("gap0", "-3", "no feeler reads less than nothing"),
        ("gap0", "6.2 kg", "is a unit of mass, not of length"),
        ("gap0", "🙂", "Not a number with a unit: “🙂”"),
        ("gap0", "<script>alert(1)</script>", "Not a number with a unit"),
        ("gap0", "1e300", "Out of range"),
        ("gap0", "9" * 5000, "Too long to be a length"),
        ("gap0", "6.2 mm +- 0.1 mm", "without a tolerance"),
        ("gap0", "250", "Out of range. Is the unit right?"),
        ("gap0", "6,2", "A comma inside a number. Is it a decimal point?"),
        ("feeler", "0", "Out of range"),
        ("feeler", "5", "Out of range"),
    ],
)
def test_a_mistake_stands_beside_its_box_and_nothing_is_lost(
    knot: Machine, browser_as: Client, box: str, text: str, said: str
) -> None:
    name = "gap.lower" if box == "gap0" else box
    answer = browser_as(2).get(at(knot), {**FOUND, name: text})
    assert answer.status_code == 422
    assert said in beside(answer, box)
    shown = fields(answer)
    assert shown[name] == [text]
    assert shown["gap.upper"] == ["4.1"]
    assert "<script>alert" not in answer.content.decode()
    assert Entry.objects.count() == 0


def test_both_pawls_out_by_20_mm_are_a_thing_to_look_at(knot: Machine, browser_as: Client) -> None:
    answer = browser_as(2).get(at(knot), {**FOUND, "gap.lower": "24", "gap.upper": "23.6"})
    assert answer.status_code == 422
    assert "All pawls are off alike, so look first at what they share" in beside(answer, "gap0")
    assert "The same as with: Lower pawl." in beside(answer, "gap1")
    assert "in metres" not in words(answer)


def test_a_comma_is_mended_at_one_touch(knot: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    wrong = client.get(at(knot), {**FOUND, "gap.lower": "6,2"})
    assert 'name="mend.gap.lower" value="6.2"' in wrong.content.decode()
    right = client.get(at(knot), {**fields(wrong), "mend.gap.lower": "6.2"})  # no other button
    assert "Turn its clevis" in words(right)
    step = read(client, knot, right, "3,6")
    assert "Is it a decimal point?" in beside(step, "reading")
    assert len(fields(client.get(at(knot), {**fields(step), "mend.reading": "3.6"}))["round"]) == 1


@pytest.mark.parametrize("gap", ["", "0", "-1", "27", "far", "3 kg"])
def test_a_wrong_reading_stays_and_is_no_round(knot: Machine, browser_as: Client, gap: str) -> None:
    client = browser_as(2)
    answer = read(client, knot, client.get(at(knot), FOUND), gap)
    assert answer.status_code == 422
    assert beside(answer, "reading")
    assert fields(answer)["reading"] == [gap]
    assert "round" not in fields(answer)


@pytest.mark.parametrize("turned", ["", "-1", "many", "101"])
def test_turns_that_cannot_be(knot: Machine, browser_as: Client, turned: str) -> None:
    client = browser_as(2)
    answer = read(client, knot, client.get(at(knot), FOUND), "3.6", turned=turned)
    assert answer.status_code == (200 if not turned else 422)  # left empty: as asked
    if turned:
        assert "from 0 turns to 100 turns" in beside(answer, "turned")
        assert fields(answer)["reading"] == ["3.6"]


def test_a_clevis_that_was_turned_the_other_way(knot: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    page = read(client, knot, client.get(at(knot), FOUND), "8.6")
    assert "it is taken that the clevis was turned the other way" in words(page)
    assert as_turned(-2.0, 2.0, Known(0.0062, 4e-5), 0.0086, 4e-5) == 2.0
    none = read(client, knot, client.get(at(knot), FOUND), "6.2", turned="0")
    assert fields(none)["round"] == ["lower;measure;0;0.0062"]


@pytest.mark.parametrize(
    "line",
    ["", "lower", "left;turn;1;0.003", "upper;turn;1;0.003", "lower;place;0;0.003",
     "lower;turn;1e9;0.003", "lower;turn;nan;0.003", "lower;turn;1;-0.003", "lower;turn;1;inf",
     "lower;measure;2;0.003", "lower;turn;1;0.003;<u>", "🙂;turn;1;0.003"],
)  # fmt: skip
def test_rounds_that_came_back_otherwise_are_refused(
    knot: Machine, browser_as: Client, line: str
) -> None:
    answer = browser_as(2).get(at(knot), {**FOUND, "round": ["upper;measure;0;0.0041", line]})
    assert answer.status_code == 422
    assert "came back otherwise than it was sent" in words(answer)
    assert fields(answer)["gap.lower"] == ["6.2"]
    assert "<u>" not in answer.content.decode()
    assert Entry.objects.count() == 0


def test_other_hidden_fields_tampered(knot: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    page = client.get(at(knot), FOUND)
    for asked in ("left;turn;1", "lower;fly;1", "", "lower;turn;x"):
        answer = read(client, knot, page, "3.6", asked=asked)
        assert answer.status_code == 422
        assert fields(answer)["reading"] == ["3.6"]
    assert read(client, knot, page, "3.6", expected="a;b").status_code == 200
    assert "not one of mm, in" in words(client.get(at(knot), {**FOUND, "unit": "furlong"}))
    many = client.get(at(knot), {**FOUND, "round": ["lower;measure;0;0.0041"] * 41})
    assert "at most 40" in words(many)
    kept = client.post(at(knot), {**fields(page), "uid": "x", "do": "stop"})
    assert kept.status_code == 302


def test_an_id_that_belongs_to_another_entry_overwrites_nothing(
    knot: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    other = write(knot, "note", {"text": "a"}, NOW)
    page = read(client, knot, client.get(at(knot), FOUND), "3.6")
    answer = client.post(at(knot), {**fields(page), "uid": str(other.uid), "do": "stop"})
    assert answer.status_code == 422
    assert "was sent already with other values" in words(answer)
    assert Entry.objects.count() == 1
    once_more = client.post(at(knot), {**fields(answer), "do": "stop"})
    assert once_more.status_code == 302
    assert Entry.objects.count() == 2


def test_machines_that_are_not_there_or_have_no_pawls(
    sqlite_records: str, browser_as: Client
) -> None:
    assert browser_as(2).get(f"/machines/{uuid4()}/set/pawls/").status_code == 404
    bare = new_machine('[machine]\nname = "{name}"\n')
    for answer in (browser_as(2).get(at(bare)), browser_as(2).get(at(bare), FOUND)):
        assert answer.status_code == 200
        assert "chain.pawls" in words(answer)


def test_a_window_that_nothing_hits_surely_is_said(sqlite_records: str, browser_as: Client) -> None:
    narrow = STOP_ALONE.replace("Knot", "{name}").replace("2.5 mm .. 5 mm", "3 mm .. 3.05 mm")
    machine, client = new_machine(narrow), browser_as(2)
    page = client.get(at(machine), {**FOUND, "gap.lower": "3.12", "gap.upper": "3.02"})
    said = words(page)
    assert "Not inside the window" in said
    assert "Outside the window: the lower pawl." in said
    assert "Do not run the machine so." in said
    client.post(at(machine), {**fields(page), "do": "keep"})
    values = Entry.objects.get().values
    assert values["gap_after_m/lower"] == pytest.approx(0.00312)
    assert values["turns/lower"] == 0
