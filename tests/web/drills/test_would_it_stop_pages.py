"""Pieces to judge in the browser, without a browser: alone, and in a class."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from tests.web.drills.playing import begun, moved, text_of
from tripmargin import drills
from tripmargin.drills.would_it_stop_answers import OUTCOMES
from tripmargin.machine import load_machine
from tripmargin.pictures.would_it_stop import told_picture
from tripmargin.records.store.models import Practice, PracticeClass, PracticeResult
from tripmargin.web.drills.questions import afresh, questions_on

Make = Callable[..., Any]
SEED = 5


@pytest.fixture
def chosen() -> drills.WouldItStop:
    """The pieces, chosen once in a process."""
    found = questions_on(load_machine("dunlin"), SEED)
    assert found.done.wait(500)
    assert found.trouble == ""
    drill: Any = found.problem
    return afresh(drill)


def test_the_points_are_those_of_the_room(browser_as: Make, chosen: drills.WouldItStop) -> None:
    client = browser_as(1)
    practice = begun(client, "stop", SEED)
    base = f"/practise/{practice.uid}/"
    page = text_of(client.get(base))
    assert "Piece 1 of 8" in page
    assert dict(drills.asked_words(chosen.questions[0]))["Piece"] in page
    told = drills.told_words(chosen.questions[0])
    assert told[0] not in page
    assert "Front view of the lower front roll" in page
    assert "Protection map" not in page  # it would tell the answer
    answers = ["protected 80", "missed 55", "too late", "doubtful", "missed 34"]
    for k in range(8):
        said = answers[k % 5]
        outcome, _, sure = said.rpartition(" ") if said[-1].isdigit() else (said, "", "100")
        move = "doubtful" if said == "doubtful" else "answer"
        page = text_of(moved(client, base, move, outcome=outcome, sure=sure))
        chosen.answer(said)
        if k == 0:
            assert told[0] in page
            assert "Where it stands on the protection map" in page
    kept = PracticeResult.objects.get(practice=practice)
    assert kept.points == pytest.approx(chosen.score().points, rel=1e-12)
    same = drills.result_from(kept.kept).by_kind
    assert dict(same) == pytest.approx(dict(chosen.result(when=kept.at).by_kind))
    assert f"{kept.points:.1f}</strong> points of 100" in page
    assert "What to learn" in page
    pieces = page.partition("Each piece, and where it stands on the map")[2]
    assert pieces.count("<details") == pieces.count(told_title(chosen)) == 8
    for each in chosen.questions:
        assert drills.told_words(each)[0] in pieces


def told_title(chosen: drills.WouldItStop) -> str:
    """The title that a map of the machine has."""
    question = chosen.questions[0]
    made = chosen.map_of(question)
    assert made is not None
    return re.findall(r"<title[^>]*>(.*?)</title>", told_picture(question, made))[0]


def test_an_answer_that_is_none_is_told_and_stays(
    browser_as: Make, chosen: drills.WouldItStop
) -> None:
    client = browser_as(1)
    practice = begun(client, "stop", SEED)
    base = f"/practise/{practice.uid}/"
    for outcome, sure in (("", "80"), ("missed", "12"), ("missed", "x"), ("flies", "80")):
        answer = moved(client, base, "answer", outcome=outcome, sure=sure)
        assert answer.status_code == 422
        assert f'value="{sure}"' in text_of(answer)
    assert not practice.moves.exists()


def test_in_a_class_nothing_that_was_calculated_is_told_until_it_is_shown(
    browser_as: Make, chosen: drills.WouldItStop
) -> None:
    trainer = browser_as(3)
    said = {"name": "A", "shows": "names", "seed": str(SEED), "uid": str(uuid4()),
            "machine.1": "demo:dunlin", "kind.1": "stop"}  # fmt: skip
    assert trainer.post("/classes/new/", said).status_code == 302
    room = PracticeClass.objects.get()
    assert "1. " in text_of(trainer.get(f"/classes/{room.uid}/"))
    phone = Client(HTTP_HOST="localhost")
    phone.post(f"/class/join/{room.code}/", {"name": "Bo", "uid": str(uuid4())})
    base = phone.post("/class/drill/1/").url
    pages = [text_of(phone.get(base))]
    for _ in range(8):
        pages.append(text_of(moved(phone, base, "answer", outcome="missed", sure="60")))
    for page in pages:
        main = page[page.index("<main") : page.index("</main>")]
        assert "too late 0 %" not in main
        assert re.search(r"[Mm]issed \d", main.replace("missed 60", "")) is None
        for question in chosen.questions:
            assert drills.told_words(question)[0] not in main
            assert drills.told_words(question)[1] not in main
    assert "What was hidden is shown when the trainer shows it" in pages[-1]
    trainer.post(f"/classes/{room.uid}/change/", {"do": "answer:1"})
    assert "Calculated:" in text_of(phone.get(base))


def test_what_went_wrong_is_asked_about_again(browser_as: Make, chosen: drills.WouldItStop) -> None:
    client = browser_as(1)
    practice = begun(client, "stop", SEED)
    base = f"/practise/{practice.uid}/"
    for question in chosen.questions:
        worst = min(OUTCOMES, key=lambda each: question.chances[OUTCOMES.index(each)])
        moved(client, base, "answer", outcome=worst, sure="100")
    client.post(f"{base}next/", {"uid": str(uuid4())})
    again = Practice.objects.order_by("-pk").first()
    assert again is not None
    assert again.seed == SEED + 1
    assert set(again.about.splitlines()) == {question.kind for question in chosen.questions}
