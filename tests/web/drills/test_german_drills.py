"""Drills and a class in German: commas in boxes, pawls and ways by their names, one word each.

The German is checked against itself only: no outside source.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from time import sleep
from typing import Any

import pytest

from tests.web.drills.class_playing import joined, opened
from tests.web.drills.playing import begun, moved, text_of
from tripmargin.ground.languages import speaking
from tripmargin.machine import load_machine
from tripmargin.records.store.models import Practice, PracticeMove
from tripmargin.web.drills.questions import questions_on

Make = Callable[..., Any]
SEED = 3  # on the whimbrel: a clevis below, a clamp above


@pytest.fixture
def german(browser_as: Make) -> Any:
    """Somebody who reads German."""
    client = browser_as(3)
    client.cookies["tripmargin_language"] = "de"
    return client


@pytest.fixture
def pawls(german: Any) -> Practice:
    """A setting drill with the machine at rest and its rolls blocked."""
    practice = begun(german, "setting", SEED, "whimbrel")
    moved(german, base_of(practice), "secure")
    return practice


def base_of(practice: Practice) -> str:
    return f"/practise/{practice.uid}/"


def place(client: Any, practice: Practice, typed: str) -> str:
    return text_of(moved(client, base_of(practice), "place:upper", **{"gap.upper": typed}))


@pytest.mark.parametrize("typed", ["3,5", "3.5", "3,5 mm", "3.5mm", " 3,50 "])
def test_a_gap_is_read_with_either_sign(german: Any, pawls: Practice, typed: str) -> None:
    page = place(german, pawls, typed)
    last = PracticeMove.objects.filter(practice=pawls).latest("pk")
    assert (last.do, last.what) == ("place", "upper 0.0035")
    assert "Sperrklinke oben auf 3,5 mm setzen" in page


def test_a_point_stays_a_decimal_point(german: Any, pawls: Practice) -> None:
    place(german, pawls, "1.500")
    assert PracticeMove.objects.filter(practice=pawls).latest("pk").what == "upper 0.0015"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("drei", "Abstand der Sperrklinke oben = „drei“: keine Zahl mit einer Einheit."),
        ("1.234,5", "Abstand der Sperrklinke oben = „1.234,5“: ein Komma in einer Zahl."),
        ("", "Der Abstand der Sperrklinke oben ist nicht eingetragen."),
        ("99,5", "Erlaubt: bis 10 mm."),
    ],
)
def test_a_refused_gap_comes_back_as_typed(
    german: Any, pawls: Practice, typed: str, said: str
) -> None:
    count = PracticeMove.objects.filter(practice=pawls).count()
    page = place(german, pawls, typed)
    assert said in page
    assert typed == "99,5" or "etwa 3,5 mm." in page
    assert (
        f'name="gap.upper" inputmode="decimal" maxlength="20" autocomplete="off" value="{typed}"'
        in page
    )
    assert PracticeMove.objects.filter(practice=pawls).count() == count


def test_in_english_a_comma_is_not_guessed_at(browser_as: Make) -> None:
    client = browser_as(1)
    practice = begun(client, "setting", SEED, "whimbrel")
    moved(client, base_of(practice), "secure")
    page = place(client, practice, "3,5")
    assert "Gap of the upper pawl = “3,5”: a comma inside a number." in page


def test_pawls_and_ways_are_named_in_german(german: Any, pawls: Practice) -> None:
    moved(german, base_of(pawls), "measure:lower")
    moved(german, base_of(pawls), "hint")
    page = text_of(moved(german, base_of(pawls), "close:lower", **{"turns.lower": "1.5"}))
    assert "<h2>Klinke unten</h2>" in page
    assert "<h2>Klinke oben</h2>" in page
    assert "Öffnen: hineindrehen" in page
    assert "Schließen: herausdrehen" in page
    assert "Abstand der Sperrklinke unten messen" in page
    assert "Gabelkopf der Sperrklinke unten um 1,5 Umdrehungen zum Schließen drehen" in page
    assert page.count("Den nächsten Schritt verlangen") == 2  # the button, and what was done
    assert "Die nächste Karte verlangen" not in page
    assert '<option value="1.5">1,5 Umdrehungen</option>' in page


def test_nothing_chosen_is_said_in_the_words_of_the_page(german: Any) -> None:
    practice = begun(german, "stop", 5)
    base = base_of(practice)
    for _ in range(200):
        if 'name="seen"' in text_of(german.get(base)):
            break
        sleep(0.5)
    page = text_of(moved(german, base, "answer", sure="80"))
    assert (
        "Nichts ist gewählt: angeben, was aus dem Teil wird, oder „Kann ich nicht sagen“." in page
    )
    assert "10 0 90" not in page  # how it is typed at a terminal
    assert "Würde der Einzug anhalten?" in page


def test_a_class_is_called_the_same_everywhere(german: Any) -> None:
    room = opened(german)
    phone = joined(room, "Bo Marsh")
    phone.cookies["tripmargin_language"] = "de"
    pages = [
        text_of(german.get(f"/classes/{room.uid}/")),
        text_of(german.get(f"/classes/{room.uid}/board/")),
        text_of(german.get("/classes/")),
        text_of(german.get("/classes/new/")),
        text_of(german.get("/practise/")),
        text_of(phone.get("/class/room/")),
    ]
    assert "1 begonnen, 0 beendet." not in pages[0]
    assert "0 begonnen, 0 beendet." in pages[0]
    for page in pages:
        plain = re.sub(r"<[^>]*>", " ", page)
        assert "Klasse" not in plain
    assert "Kurs" in pages[0]
    assert "Kurs" in pages[2]
    assert "Vorgefundene Abstände: unten " in pages[0]
    assert "lower" not in re.sub(r"<[^>]*>", " ", pages[0])


def test_why_no_pieces_can_be_chosen_is_told_in_the_language_of_whoever_reads() -> None:
    machine = load_machine("dunlin")
    assert machine.feed is not None
    found = questions_on(replace(machine, feed=replace(machine.feed, cut_lengths=())), SEED)
    assert found.done.wait(100)
    assert found.problem is None
    assert "feed.cut_lengths" in str(found.trouble)
    english = str(found.trouble)
    with speaking("de"):
        assert str(found.trouble) != english
        assert "Würde der Einzug anhalten?" in str(found.trouble)
