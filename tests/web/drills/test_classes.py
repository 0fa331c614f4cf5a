"""A class in one room, without a browser: trainer, learners, board."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.test import Client

from tests.web.drills.class_playing import SEED, Make, begun, hidden, joined, opened, played
from tests.web.drills.playing import moved, text_of
from tripmargin import drills
from tripmargin.records.store.models import (
    Practice,
    PracticeClass,
    PracticeMove,
    PracticeResult,
)
from tripmargin.reports.paper.practice_log import class_from_log
from tripmargin.reports.paper.reading import read_report


def test_a_class_from_its_opening_to_its_end(browser_as: Make) -> None:
    trainer, hides = browser_as(3), hidden()
    room = opened(trainer)
    page = text_of(trainer.get(f"/classes/{room.uid}/"))
    assert room.code in page
    assert "<svg" in page
    assert hides.fault.text in page  # for the trainer's eyes
    bo, cy = joined(room, "Bo Marsh"), joined(room, "Cy")
    assert "1. Dunlin" in text_of(bo.get("/class/room/"))
    end = played(bo, 1)
    assert "100.0</strong> points of 100" in end
    worse = played(cy, 1, "go:tractor's key on", "mend:mend F1", "go:standing", "mend:mend D")
    assert "The score, part by part" in worse
    for shown in (end, worse):  # others still look for it
        assert hides.fault.text not in shown
        assert hides.fault.id not in shown
        assert "The best route" not in shown
        assert f"seed {SEED}" not in shown.lower()
    board = text_of(trainer.get(f"/classes/{room.uid}/board/"))
    assert board.index("Bo Marsh") < board.index("Cy")
    assert "1 unsafe</span>" in board
    line = "Engine off, key out, at rest, feed rolls blocked."
    assert "Mean " not in board.partition("What to talk about")[2]  # of two it points at somebody
    assert line not in board
    di = joined(room, "Di")
    moved(di, begun(di), "hand over")
    board = text_of(trainer.get(f"/classes/{room.uid}/board/"))
    assert "1 unsafe move" in board
    assert f"1 person: {line}" in board
    assert "Block the feed rolls before hands go near" not in board  # whole for the trainer
    assert 'href="/machines/"' not in board.partition("<nav")[2]
    assert hides.fault.text not in board
    assert "Replaced in vain" not in board  # it says where the fault is not
    own = text_of(trainer.get(f"/classes/{room.uid}/"))
    looks = re.findall(rf"/classes/{room.uid}/practice/[0-9a-f-]+/", own)
    assert len(set(looks)) == 3
    assert not re.findall(rf"/classes/{room.uid}/practice/", board)  # the wall leads nowhere
    pages = [text_of(trainer.get(one)) for one in set(looks)]
    (route,) = (one for one in pages if "<h1>Cy:" in one)
    assert "The route taken" in route
    assert "It knows no more than whoever played." in route
    assert "Mend: D" in route
    assert hides.fault.text in route  # for the trainer's eyes
    assert "Replaced in vain: D (1)" in own
    assert "Block the feed rolls before hands go near" in own
    assert own.index("Who is how far") < own.index("Point the phone's camera here.")
    by_need = text_of(trainer.get(f"/classes/{room.uid}/board/?order=need&part=1"))
    assert by_need.index("Cy") < by_need.index("Bo Marsh")
    assert "<html" not in by_need
    changed = trainer.post(f"/classes/{room.uid}/change/", {"do": "answer:1"})
    assert changed.status_code == 302
    mine = str(Practice.objects.get(learner__name="Bo Marsh").uid)
    page = text_of(bo.get(f"/class/practice/{mine}/"))
    assert hides.fault.text in page
    assert "The best route" in page
    trainer.post(f"/classes/{room.uid}/change/", {"do": "end"})
    assert "The class has ended" in text_of(cy.get("/class/room/"))
    results = trainer.get(f"/classes/{room.uid}/results.csv").content.decode()
    rows = list(csv.DictReader(io.StringIO(results)))
    assert [(row["name"], row["unsafe_moves"]) for row in rows] == [
        ("Bo Marsh", "0"),
        ("Cy", "1"),
        ("Di", "0"),
    ]
    assert float(rows[0]["points"]) == 100
    given = bo.get("/class/room/results.json").json()
    (kept,) = [drills.result_from(each["drill"]) for each in given["results"]]
    assert (kept.name, kept.score.points) == ("Bo Marsh", 100.0)


def test_all_get_the_same_drills(browser_as: Make) -> None:
    room = opened(browser_as(3))
    pages = []
    for name in ("Bo", "Cy"):
        phone = joined(room, name)
        page = text_of(phone.get(begun(phone)))
        pages.append(
            re.sub(r'value="\w{64}"|[0-9a-f-]{36}', "", page.split("The operator says")[1])
        )
    cut = [page[: page.index("<footer")] for page in pages]
    assert cut[0] == cut[1]
    assert Practice.objects.values_list("seed", flat=True).distinct().count() == 1


def test_each_drill_is_played_once_and_a_move_sent_twice_counts_once(browser_as: Make) -> None:
    phone = joined(opened(browser_as(3)), "Bo")
    base = begun(phone)
    assert begun(phone) == base
    said = {"move": "hint", "uid": str(uuid4()), "seen": "0"}
    for _ in range(3):
        phone.post(f"{base}move/", said)
    assert PracticeMove.objects.count() == 1
    moved(phone, base, "hand over")
    assert begun(phone) == base
    assert "points of 100" in text_of(moved_after_end(phone, base))
    assert PracticeResult.objects.count() == 1


def moved_after_end(phone: Client, base: str) -> Any:
    said = {"move": "hint", "uid": str(uuid4()), "seen": "2"}
    return phone.post(f"{base}move/", said, follow=True)


def test_the_board_calls_people_as_the_trainer_chose(browser_as: Make) -> None:
    trainer = browser_as(3)
    room = opened(trainer, shows="first names")
    joined(room, "Quill Marsh")
    board = f"/classes/{room.uid}/board/"
    page = text_of(trainer.get(board))
    assert ("Quill" in page, "Marsh" in page) == (True, False)
    trainer.post(f"/classes/{room.uid}/change/", {"do": "shows:numbers"})
    page = text_of(trainer.get(board))
    assert ("Number 1" in page, "Quill" in page) == (True, False)
    trainer.post(f"/classes/{room.uid}/change/", {"do": "shows:nonsense"})
    assert PracticeClass.objects.get().shows == "numbers"
    assert trainer.post(f"/classes/{room.uid}/change/", {"do": "answer:99"}).status_code == 404


def test_what_ends_after_the_answer_does_not_compare(browser_as: Make) -> None:
    trainer = browser_as(3)
    room = opened(trainer)
    bo, cy = joined(room, "Bo"), joined(room, "Cy")
    moved(bo, begun(bo), "hand over")
    trainer.post(f"/classes/{room.uid}/change/", {"do": "answer:1"})
    assert "100.0</strong> points of 100" in played(cy, 1)
    board = text_of(trainer.get(f"/classes/{room.uid}/board/"))
    assert "after the answer" in board
    assert "10.0</strong>" in board


def test_a_class_is_opened_with_what_fits_only(browser_as: Make) -> None:
    trainer = browser_as(3)
    good = {"name": "A", "shows": "names", "machine.1": "demo:dunlin", "kind.1": "fault"}
    for wrong, words in (
        ({"name": ""}, "needs a name"),
        ({"machine.1": ""}, "Choose a machine"),
        ({"machine.1": "demo:no-such"}, "Drill 1: there is no such machine"),
        ({"machine.1": f"own:{uuid4()}"}, "there is no such machine"),
        ({"machine.1": "own:x"}, "there is no such machine"),
        ({"kind.1": "flying"}, "no such drill"),
        ({"seed": "-3"}, "not a whole number"),
        ({"shows": "faces"}, "Choose how the board"),
    ):
        answer = trainer.post("/classes/new/", good | wrong | {"uid": str(uuid4())})
        assert answer.status_code == 422
        assert words in text_of(answer)
    assert not PracticeClass.objects.exists()
    uid = str(uuid4())
    for _ in range(2):
        trainer.post("/classes/new/", good | {"uid": uid})
    assert PracticeClass.objects.count() == 1


def test_a_spreadsheet_takes_no_learners_name_for_a_formula(browser_as: Make) -> None:
    trainer = browser_as(3)
    room = opened(trainer)
    phone = joined(room, "=HYPERLINK(A1)")
    moved(phone, begun(phone), "hand over")
    assert ",'=HYPERLINK(A1)," in trainer.get(f"/classes/{room.uid}/results.csv").content.decode()


def test_a_trainer_sees_a_drill_that_goes_on_and_nobody_else_does(browser_as: Make) -> None:
    trainer = browser_as(3)
    room = opened(trainer)
    bo = joined(room, "Bo Marsh")
    moved(bo, begun(bo), "go:tractor's key on")
    practice = Practice.objects.get(learner__name="Bo Marsh")
    address = f"/classes/{room.uid}/practice/{practice.uid}/"
    page = text_of(trainer.get(address))
    assert "This drill has not ended." in page
    assert "Bring the machine into: tractor's key on" in page
    assert hidden().fault.text not in page
    assert browser_as(2).get(address).status_code == 403
    assert bo.get(address).status_code in (302, 403)
    other = opened(trainer)
    assert trainer.get(f"/classes/{other.uid}/practice/{practice.uid}/").status_code == 404


def test_the_records_of_a_class_are_a_sheet_for_each_who_ended_a_drill(
    browser_as: Make, tmp_path: Path
) -> None:
    trainer = browser_as(3)
    room = opened(trainer)
    bo, cy, di = joined(room, "Bo Marsh"), joined(room, "Cy"), joined(room, "Di")
    played(bo, 1)
    moved(di, begun(di), "go:tractor's key on")
    trainer.post(f"/classes/{room.uid}/change/", {"do": "answer:1"})
    played(cy, 1)  # knows the answer by now
    address = f"/classes/{room.uid}/records/"
    page = trainer.get(address, {"as": "html"})
    path = tmp_path / "class.html"
    path.write_bytes(page.content)
    data = read_report(path)["data"]
    assert (data["class"], data["trainer"]) == ("Operators, morning", room.opened_by_name)
    assert [one["name"] for one in data["learners"]] == ["Bo Marsh", "Cy", "Di"]
    assert [one["after_the_answer"] for one in data["learners"]] == [[False], [True], []]
    words = text_of(page)
    assert len(re.findall(r"<h2[^>]*>Training record:", words)) == 2
    assert "(after the answer was shown)" in words.partition("Training record: Cy")[2]
    assert "(after the answer was shown)" not in words.partition("Training record: Cy")[0]
    assert hidden().fault.text in words
    of_code = class_from_log(f" {room.code.lower()} ")
    assert [one.name for one in of_code.learners] == ["Bo Marsh", "Cy", "Di"]
    assert trainer.get(address, {"paper": "a0"}).status_code == 302
    assert browser_as(2).get(address).status_code == 403
