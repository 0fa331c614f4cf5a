"""A daily check's form says what the lamps should show in each step, for this very machine."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from tests.records.standing_help import BARE, new_machine
from tests.web.test_log_forms import address, field_of, said
from tripmargin.circuit import NoSolutionError
from tripmargin.faultfinding.wording import lamp_words
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry, Machine
from tripmargin.web.log import lamps

Client = Callable[..., Any]


@pytest.fixture
def whimbrel(sqlite_records: str) -> Machine:
    return add_demo_machine("whimbrel", who_name="Ann")


def step(page: str, name: str) -> str:
    """The words of one step, markup taken out."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", field_of(page, f"v.lamps/{name}")))


def form_of(machine: Machine, browser_as: Client) -> str:
    text: str = browser_as(2).get(address(machine, "daily-check")).content.decode()
    return text


def test_each_step_says_what_to_do_and_what_should_show(
    whimbrel: Machine, browser_as: Client
) -> None:
    page = form_of(whimbrel, browser_as)
    tried = step(page, "lamps tried")
    assert "Engine off. Hold the lamp check button." in tried
    assert "Lit: supply in range, supply low, trip latched." in tried
    assert "Dark: hold powered, pull fed." in tried
    assert "Sounds: relay at rest." in tried
    feeding = step(page, "running")
    assert "Everybody clear." in feeding
    assert "Lit: supply in range. Dark: supply low, trip latched. Silent: relay at rest." in feeding
    assert "hold powered" not in feeding  # beside the machine
    assert "Rolls, seen from out of reach: turn forward." in feeding
    assert "Rolls, seen from out of reach: stopped." in step(page, "check pressed")
    assert "Rolls: stopped." in tried
    assert "not looked at while the engine runs: hold powered, pull fed." in page
    assert "trip latched (armrest, third of three)" in page
    assert page.count('class="expected"') == 7
    assert 'aria-describedby="v4-help"' in page


def test_each_machine_has_lamps_of_its_own(sqlite_records: str, browser_as: Client) -> None:
    page = form_of(add_demo_machine("sanderling", who_name="Ann"), browser_as)
    assert "Lit: feed free, reset heard." in step(page, "reverse to reset")
    assert "Silent: unprotected." in step(page, "reverse to reset")
    assert "Lit: feed free." in step(page, "running")
    assert "supply in range" not in page


def test_where_the_file_has_no_circuit_that_is_said(
    sqlite_records: str, browser_as: Client
) -> None:
    page = form_of(new_machine(BARE), browser_as)
    assert "is not known here: the machine&#x27;s file has no [circuit]." in page
    assert "operator&#x27;s manual" in page
    assert 'name="v.lamps/' not in page


def test_where_the_circuit_cannot_be_worked_out_the_steps_are_asked_all_the_same(
    whimbrel: Machine, browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(machine: object) -> None:
        raise NoSolutionError(["D1"])

    lamps._lamps.cache_clear()
    monkeypatch.setattr(lamp_words, "sound_steps", fails)
    page = form_of(whimbrel, browser_as)
    lamps._lamps.cache_clear()
    assert "circuit could not be worked out" in page
    assert 'name="v.lamps/running"' in page
    assert 'class="expected"' not in page


def test_a_machine_is_worked_out_once(
    whimbrel: Machine, browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    lamps._lamps.cache_clear()
    form_of(whimbrel, browser_as)
    monkeypatch.setattr(lamp_words, "sound_steps", None)
    assert "Lit: " in form_of(whimbrel, browser_as)


def test_a_correction_keeps_a_step_that_the_daily_check_does_not_have(
    whimbrel: Machine, browser_as: Client
) -> None:
    at = timezone.now() - timedelta(hours=1)
    values = {"tripped": True, "lamps/battery at 9 V": False}
    entry = write_entry(whimbrel, NewEntry(kind="daily check", values=values, at=at)).entry
    client = browser_as(3)
    page = client.get(f"/entries/{entry.uid}/correct/").content.decode()
    assert 'name="v.lamps/battery at 9 V" value="no" checked' in page
    assert "No step of the daily check" in step(page, "battery at 9 V")
    sent = said(**{"v.tripped": "yes", "v.reset": "yes", "v.lamps/battery at 9 V": "no"})
    assert client.post(f"/entries/{entry.uid}/correct/", sent).status_code == 302
    assert Entry.objects.latest("id").values == {**values, "reset": True}
