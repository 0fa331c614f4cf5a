"""Doors, machines, standing and what is wrong in German: sentences, decimal commas, boxes."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest

from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Machine
from tripmargin.web import frame
from tripmargin.web.doors import languages

Make = Callable[..., Any]


@pytest.fixture
def german(browser_as: Make, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], str]:
    """Opens a page in German, whether it is offered to people already or not."""
    for room in (languages, frame):
        monkeypatch.setattr(room, "known_languages", lambda: {"en": "English", "de": "Deutsch"})
    client = browser_as(4)
    add_demo_machine("dunlin")

    def page(address: str) -> str:
        answer = client.get(address, headers={"accept-language": "de-AT, en;q=0.5"})
        assert answer.headers["Content-Language"] == "de"
        return unescape(answer.content.decode())

    return page


def test_cautions_and_states_are_said_in_german(german: Callable[[str], str]):
    machine = Machine.objects.get()
    page = german(f"/machines/{machine.uid}/wrong/")
    assert "Motor aus, Schlüssel ab, warten, bis alles stillsteht." in page
    assert "Was sagt der Fahrer?" in page
    people = german("/people/")
    assert "Rolle <b>verwalten</b>" in people


def test_a_slider_is_read_with_a_comma_and_sent_with_a_point(german: Callable[[str], str]):
    machine = Machine.objects.get()
    page = german(f"/machines/{machine.uid}/")
    shown = re.findall(r"<output[^>]*>([^<]*)</output>", page)
    assert any("," in each for each in shown)
    assert not any("." in each for each in shown)
    sent = re.findall(r'<input type="range"[^>]* value="([^"]*)"', page)
    assert len(sent) == len(shown)
    assert all(float(each) >= 0 for each in sent)  # a comma would be refused here, and by a browser


def test_lists_and_times_are_said_in_german(german: Callable[[str], str]):
    page = german("/")
    assert "Letzte bestandene Prüfung: nie." in page
    assert re.search(r"\d+ (fraglich|nicht geschützt|geschützt|nicht bekannt)", page)
    drift = german(f"/machines/{Machine.objects.get().uid}/drift/")
    assert "Das Logbuch ist leer" in drift
