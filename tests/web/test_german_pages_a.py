"""Doors, machines, standing and what is wrong in German: sentences, decimal commas, boxes."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any
from uuid import uuid4

import pytest

from tripmargin.records.keeping.audit import note_change
from tripmargin.records.keeping.cases import By, begin_case
from tripmargin.records.keeping.entries import newest_version
from tripmargin.records.keeping.invitations import owner_link
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Machine, Person

Make = Callable[..., Any]


@pytest.fixture
def german(browser_as: Make) -> Callable[[str], str]:
    """Opens a page in German."""
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


def test_what_is_due_names_the_pawls_in_german(german: Callable[[str], str]):
    due = german("/due/")
    assert "Nie gemessen: die Abstände der Sperrklinken unten und oben." in due
    assert "lower" not in re.sub(r"<[^>]*>", "", due)


def test_a_case_stands_in_the_list_in_the_operators_german_words(german: Callable[[str], str]):
    version = newest_version(Machine.objects.get())
    assert version is not None
    owner = Person.objects.get(name="role 4")
    begin_case(version, "check does not stop it", by=By(owner, uid=uuid4()))
    page = german("/")
    assert "Ein Fehler wird gesucht („Der Prüfknopf hält den Einzug nicht an“); der Fall" in page


def test_versions_are_compared_with_german_names_and_commas(
    german: Callable[[str], str], browser_as: Make
):
    machine = Machine.objects.get()
    version = newest_version(machine)
    assert version is not None
    other = version.text.replace("[machine]", "[limits]\nmust_stop = '25 mm ball'\n\n[machine]", 1)
    other += '\n[chain]\nsupply = "12.5 V +- 0.8 V"\n'
    client = browser_as(4)
    assert client.post(f"/machines/{machine.uid}/file/", {"text": other}).status_code == 302
    page = german(f"/machines/{machine.uid}/compare/?before=1&after=2")
    table = " ".join(re.sub(r"<[^>]*>", " ", page.partition("<tbody>")[2]).split())
    assert "Versorgungsspannung an der Haltewicklung chain.supply 13,2 V +- 0,8 V 12,5 V" in table
    assert "Kugel 25 mm" in table


def test_changes_made_by_the_server_itself_are_said_in_german(german: Callable[[str], str]):
    owner_link()
    note_change("came in by link", "Ann", who_name="Ann", **{"link made by": "the server"})
    page = german("/people/changes/")
    assert "Link für einen Verwalter erstellt" in page
    assert "durch den Server" in page
    assert "Link erstellt durch: den Server" in page
    assert "the server" not in page.partition("<main")[2]
