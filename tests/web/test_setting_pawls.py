"""Setting the pawls in the browser: one step at a time, from what was read; then one entry."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest

from tests.records.standing_help import NOW, new_machine, write
from tests.web.setting_help import (
    FOUND,
    STOP_ALONE,
    at,
    expected,
    fields,
    read,
    words,
    worked_to_the_end,
)
from tripmargin.records.keeping.machines import add_demo_machine, add_version, read_machine_file
from tripmargin.records.standing.past_settings import past_settings
from tripmargin.records.store.models import Entry, Machine
from tripmargin.stopping.setting.step_words import CAUTIONS

Client = Callable[..., Any]


@pytest.fixture
def knot(sqlite_records: str) -> Machine:
    return new_machine(STOP_ALONE.replace("Knot", "{name}"))


def test_cautions_come_first_and_only_who_may_log_is_let_in(
    knot: Machine, browser_as: Client
) -> None:
    page = browser_as(2).get(at(knot))
    html = unescape(page.content.decode())
    assert all(html.index(caution) < html.index("<form method") for caution in CAUTIONS)
    assert " style=" not in html
    assert browser_as(1).get(at(knot)).status_code == 403
    assert browser_as(1).post(at(knot), FOUND).status_code == 403


def test_step_by_step_to_one_entry_that_is_kept_once(
    sqlite_records: str, browser_as: Client
) -> None:
    whimbrel, client = add_demo_machine("whimbrel"), browser_as(2)
    page = client.get(at(whimbrel), FOUND)
    assert page.status_code == 200, words(page)
    said = words(page)
    # Out closes on this machine (turned_out in its file): a wide gap is closed by turning out.
    assert "Lower pawl Turn its clevis out by 3 turns" in said
    assert said.index("Loosen the jam nut") < said.index("Tighten the jam nut")
    assert said.index("Tighten the jam nut") < said.index("Expect")
    assert page.content.decode().count("<svg") == 1
    # What it does to stop time and margin stands there with its limits, for every cut.
    assert re.search(r"28 mm Stop [\d.]+ \(\d+ to \d+\) ms Margin [\d.]+ \(\S+ to \d+\) mm", said)
    assert Entry.objects.count() == 0
    second = read(client, whimbrel, page, "3.3")
    assert "Upper pawl Measure its gap again" in words(second)
    end = worked_to_the_end(client, whimbrel, second)
    assert "All is set" in words(end)
    assert Entry.objects.count() == 0
    form = {**fields(end), "do": "keep"}
    answer = client.post(at(whimbrel), form)
    entry = Entry.objects.get()
    assert answer.headers["Location"].endswith(f"#e-{entry.uid}")
    assert entry.kind == "adjustment"
    assert entry.values["gap_before_m/lower"] == pytest.approx(0.0062)
    assert entry.values["gap_after_m/lower"] == pytest.approx(0.0033)
    assert entry.values["turns/lower"] == 3
    assert entry.values["turns/upper"] == 0  # nobody touched it
    assert entry.values["feeler_m"] == pytest.approx(5e-5)  # by the file
    assert client.post(at(whimbrel), form).headers["Location"] == answer.headers["Location"]
    assert Entry.objects.count() == 1
    # The next setting learns from it, and says so.
    past = past_settings(whimbrel, ["lower", "upper"])
    assert past[0].turns == {"lower": -3.0, "upper": 0.0}
    again = words(client.get(at(whimbrel), FOUND))
    assert "learned from 1 past setting in the log" in again
    assert "One turn of its clevis moves the lower gap by" in again


def test_each_step_is_worked_out_anew_from_what_was_read(knot: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    page = client.get(at(knot), {**FOUND, "gap.upper": "1.2"})
    low, high = expected(page)
    as_told = read(client, knot, page, f"{(low + high) / 2:.2f}")
    assert "was read where" not in words(as_told)
    # Read otherwise, the same pawl is set again: it is still outside.
    odd = read(client, knot, page, "5.8")
    assert f"5.8 mm was read where {low:.2f}".rstrip("0") in words(odd)
    assert "Lower pawl Turn its clevis" in words(odd)
    assert len(fields(odd)["round"]) == 1
    # The clamp comes after the clevis, then the lower pawl again.
    assert "Upper pawl Slide its clamp until the" in words(as_told)
    third = read(client, knot, as_told, f"{sum(expected(as_told)) / 2:.2f}")
    assert "Lower pawl Measure its gap again" in words(third)
    end = worked_to_the_end(client, knot, third)
    assert "All is set" in words(end)


def test_a_reading_is_taken_back_and_what_was_found_is_changed(
    knot: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    first = client.get(at(knot), FOUND)
    second = read(client, knot, first, "3.61")
    back = client.get(at(knot), {**fields(second), "do": "back"})
    assert "round" not in fields(back)
    assert fields(back)["reading"] == ["3.61"]  # still there, to be mended
    none = client.get(at(knot), {**fields(first), "do": "back"})
    assert "There is no reading to take back." in words(none)
    change = client.get(at(knot), {**fields(second), "do": "again"})
    shown = fields(change)
    assert (shown["gap.lower"], shown["gap.upper"]) == (["6.2"], ["4.1"])
    assert shown["round"] == fields(second)["round"]
    assert client.get(at(knot), {**shown, "gap.lower": "6.3", "do": "plan"}).status_code == 200


def test_stopped_half_way_only_what_is_known_is_kept(knot: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    second = read(client, knot, client.get(at(knot), FOUND), "3.6")
    assert "Upper pawl Measure its gap again" in words(second)
    client.post(at(knot), {**fields(second), "do": "stop"})
    values = Entry.objects.get().values
    assert values["gap_after_m/lower"] == pytest.approx(0.0036)
    assert "gap_after_m/upper" not in values  # moved along, and not read again
    assert "feeler_m" not in values  # assumed, so it is not told as if it were known


def test_what_is_assumed_is_said_with_where_it_comes_from(
    knot: Machine, browser_as: Client
) -> None:
    said = words(browser_as(2).get(at(knot), FOUND))
    for what in (
        "Lower pawl: thread of the clevis 1.5 mm a turn assumed: an M10 coarse thread, ISO 261",
        "Upper pawl: of its move the others make 10 % +- 11.5 % assumed: common practice, no",
        "Step of the feeler 0.05 mm assumed: common practice, no source",
        "Window of the gaps 2.5 to 5 mm the machine's file",
        "Not known: the machine's file lacks what the race needs.",
    ):
        assert what in said
    typed = words(browser_as(2).get(at(knot), {**FOUND, "feeler": "0.1"}))
    assert "Step of the feeler 0.1 mm as you said" in typed


def test_units_of_choice(knot: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    inches = {"gap.lower": "0.244", "gap.upper": "4.1 mm", "unit": "in", "do": "plan"}
    page = client.get(at(knot), inches)
    assert page.status_code == 200, words(page)
    assert re.search(r"Expect 0\.\d+ to 0\.\d+ in", words(page))
    assert " mm" not in words(page).partition("Expect")[2].partition("Turns that")[0]
    end = worked_in(client, knot, page)
    client.post(at(knot), {**fields(end), "do": "keep"})
    assert Entry.objects.get().values["gap_before_m/lower"] == pytest.approx(0.244 * 0.0254)


def worked_in(client: Any, machine: Machine, page: Any) -> Any:
    while "expected" in fields(page):
        page = read(client, machine, page, f"{sum(expected(page)) / 2 / 25.4:.4f}")
    return page


def test_a_version_that_came_meanwhile_is_said(knot: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    page = client.get(at(knot), FOUND)
    text = knot.versions.get().text.replace("2.5 mm .. 5 mm", "2.5 mm .. 4.5 mm")
    add_version(knot, *read_machine_file(text.encode(), "knot.toml"), who_name="Bo")
    answer = read(client, knot, page, "3.6")
    assert "Another version of the machine's file came into force meanwhile" in words(answer)
    assert len(fields(answer)["round"]) == 1


def test_the_pages_that_lead_here(knot: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    link = f'href="{at(knot)}"'
    assert link in client.get(f"/machines/{knot.uid}/log/new/adjustment/").content.decode()
    assert link in client.get(f"/machines/{knot.uid}/measure/learned/").content.decode()
    drift = f"/machines/{knot.uid}/drift/"
    write(knot, "adjustment", {"gap_after_m/lower": 0.0035}, NOW)
    assert link not in client.get(drift).content.decode()
    write(knot, "adjustment", {"gap_before_m/lower": 0.0066}, NOW.replace(day=2))
    assert link in client.get(drift).content.decode()
