"""The card in German, in a browser without a network: commas typed and shown, answers told whole.

The German is checked against itself only: no outside source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.reports.card.conftest import MADE, PHONE
from tripmargin.ground.languages import speaking
from tripmargin.machine import load_machine
from tripmargin.reports.card.page import card_page

Fixture = Callable[..., Any]


@pytest.fixture(scope="module")
def german_card(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The card of one demo machine in German."""
    path = tmp_path_factory.mktemp("card") / "card-dunlin.html"
    with speaking("de"):
        path.write_text(card_page(load_machine("dunlin"), made=MADE), "utf-8")
    return path


@pytest.fixture
def card(open_file: Fixture, german_card: Path) -> Any:
    """The card, opened on a phone."""
    return open_file(german_card, PHONE)


def press(page: Any, name: str) -> None:
    page.get_by_role("button", name=name).click()


def to_the_first_turn(page: Any) -> Any:
    """The box of the turns that are told, behind two gaps typed with commas."""
    page.evaluate("theCard.go('pawls')")
    for box, gap in zip(page.locator("main input").all(), ("2,15", "3,95 mm"), strict=True):
        box.fill(gap)
    press(page, "Was ist zu tun?")
    return page.get_by_label("Gabelkopf gedreht um")


def test_turns_are_filled_in_with_a_comma_and_taken_as_told(card: Any) -> None:
    box = to_the_first_turn(card)
    assert box.input_value() == "0,5"
    told = card.evaluate("theCard.kept.all.states.pawls.rounds.length")
    card.get_by_label("jetzt").fill("2,9")
    press(card, "Messwert übernehmen")
    (round,) = card.evaluate("theCard.kept.all.states.pawls.rounds")
    assert told == 0
    assert (round["turns"], round["gap"]) == (0.5, pytest.approx(0.0029))


@pytest.mark.parametrize(("typed", "turns"), [("1,5", 1.5), ("1.5", 1.5), ("0,50", 0.5)])
def test_turns_are_read_with_either_sign(card: Any, typed: str, turns: float) -> None:
    to_the_first_turn(card).fill(typed)
    card.get_by_label("jetzt").fill("2,9")
    press(card, "Messwert übernehmen")
    (round,) = card.evaluate("theCard.kept.all.states.pawls.rounds")
    assert round["turns"] == turns


def test_refused_turns_come_back_as_typed_with_a_comma_in_the_example(card: Any) -> None:
    to_the_first_turn(card).fill("1,5,2")
    card.get_by_label("jetzt").fill("2,9")
    press(card, "Messwert übernehmen")
    assert card.get_by_label("Gabelkopf gedreht um").input_value() == "1,5,2"
    (said,) = (one for one in card.locator(".trouble").all_inner_texts() if one)
    assert "„1,5,2“" in said
    assert "Etwa 1,5" in said


def test_what_is_kept_is_told_in_whole_lines(card: Any) -> None:
    card.evaluate("theCard.go('log daily check')")
    for choice in card.locator("fieldset").all():
        choice.locator("label").first.click()
    card.get_by_label("Stundenzähler").fill("1240,5")
    press(card, "Auf diesem Telefon speichern")
    assert card.locator("h1").inner_text() == "Auf diesem Telefon gespeichert"
    lines = card.locator("main .rows ul li").all_inner_texts()
    assert lines[0] == "Hat es ausgelöst? ja"
    assert [one for one in lines if ":?" in one or "?:" in one] == []
    steps = [one for one in lines if one.startswith("Schritt ")]
    assert steps == [f"Schritt {k} wie erwartet: ja" for k in range(1, len(steps) + 1)]
    assert len(steps) == card.evaluate("theCard.data.daily.steps.length")
    assert lines[-1] == "Stundenzähler: 1240,5 h"


def test_a_finding_stands_behind_its_look(card: Any) -> None:
    card.evaluate("theCard.go('wrong')")
    press(card, "Beginnen")
    card.get_by_role("button", name="Nichts leuchtet und nichts bewegt sich.").click()
    card.locator("main .card button, main .plates button").first.click()
    last = card.locator("ol.way li").last.inner_text()
    assert last == "Auf den Summer „Relais in Ruhe“ hören. Befund: ertönt."


def test_two_things_done_in_one_step_stand_in_two_lines(card: Any) -> None:
    card.evaluate("theCard.go('log daily check')")
    first, second = (card.locator(".step h2").nth(k) for k in (0, 1))
    parts = first.locator(".part").all_inner_texts()
    assert [one[:3] for one in parts] == ["1a.", "1b."]
    assert "Zündung des Traktors ein" in parts[0]
    assert parts[1].endswith("Freigabeschalter am Bedienkasten ein.")
    assert second.inner_text().startswith("2. Niemand im Gefahrenbereich.")
