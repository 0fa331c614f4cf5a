"""Who joins a class, and what a learner may not: see others, guess codes, read what is hidden."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from tests.web.drills.class_playing import SEED, Make, begun, hidden, joined, opened
from tests.web.drills.playing import moved, sent, text_of
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import (
    ClassLearner,
    LimitedAct,
    Practice,
    PracticeClass,
    PracticeMove,
)
from tripmargin.web.drills.learners import WRONG_CODES


def test_nothing_that_a_learner_gets_before_the_end_holds_what_is_hidden(
    browser_as: Make,
) -> None:
    room, hides = opened(browser_as(3)), hidden()
    phone = joined(room, "Bo")
    base = begun(phone)
    answers = [phone.get(base), phone.get("/class/room/"), phone.get(f"{base}reading/")]
    answers += [
        moved(phone, base, move) for move in ("go:box armed", "hint", "card", "mend:mend X1")
    ]
    answers += [phone.get(f"{base}wiring/"), phone.get("/class/"), phone.get(base)]
    for move in hides.best.moves[:-2]:
        answers.append(moved(phone, base, **sent(move)))
    for answer in answers:
        text = text_of(answer)
        for secret in (hides.fault.id, hides.fault.text, f"seed {SEED}", f"seed={SEED}"):
            assert secret not in text
    (room_uid,) = PracticeClass.objects.values_list("uid", flat=True)
    for path in (
        f"/classes/{room_uid}/", f"/classes/{room_uid}/board/", f"/classes/{room_uid}/results.csv",
        f"/practise/{base.split('/')[-2]}/", f"/practise/{base.split('/')[-2]}/result.json",
        "/practise/", "/practise/results.json", "/machines/", "/",
    ):  # fmt: skip
        answer = phone.get(path)
        assert answer.status_code in (302, 404)
        assert hides.fault.text not in text_of(answer)
    assert phone.get("/class/room/results.json").status_code == 404


def test_a_learner_sees_no_other_learners_practice_and_no_other_class(browser_as: Make) -> None:
    trainer = browser_as(3)
    room, other = opened(trainer), opened(trainer, name="Another")
    bo, cy, di = joined(room, "Bo"), joined(room, "Cy"), joined(other, "Di")
    base = begun(bo)
    for phone in (cy, di):
        for part in ("", "reading/", "wiring/"):
            assert phone.get(f"{base}{part}").status_code == 404
        said = {"move": "hint", "uid": str(uuid4()), "seen": "0"}
        assert phone.post(f"{base}move/", said).status_code == 404
    assert PracticeMove.objects.count() == 0
    assert cy.post("/class/drill/9/").status_code == 404
    stranger = Client(HTTP_HOST="localhost")
    for path in ("/class/room/", base, f"{base}wiring/", "/class/room/results.json"):
        assert stranger.get(path).url == "/class/"
    stranger.cookies["tripmargin_learner"] = str(ClassLearner.objects.get(name="Bo").uid)
    assert stranger.get(base).url == "/class/"  # not signed by this server


def test_a_learner_may_nothing_else(browser_as: Make) -> None:
    room = opened(browser_as(3))
    machine = add_demo_machine("curlew")
    phone = joined(room, "Bo")
    cookie = phone.cookies["tripmargin_learner"]
    assert (cookie["path"], cookie["httponly"], cookie["samesite"]) == ("/class/", True, "Lax")
    for path in ("/", "/due/", "/classes/", "/people/", f"/machines/{machine.uid}/", "/you/"):
        answer = phone.get(path)
        assert answer.status_code == 302
        assert answer.url.startswith("/sign-in/")


def test_a_wrong_code_lets_nobody_in_and_guessing_is_slowed_down(browser_as: Make) -> None:
    room = opened(browser_as(3))
    phone = Client(HTTP_HOST="localhost")
    for guess in ("", "XXXXXX", "<b>", "x" * 500, "../../", "ÄÖÜ"):
        answer = phone.post("/class/", {"code": guess})
        assert answer.status_code == 422
        assert "No class is open under this code" in text_of(answer)
    for k in range(WRONG_CODES - 6):
        way = phone.get(f"/class/join/WRONG{k}/") if k % 2 else phone.post("/class/", {"code": "W"})
        assert way.status_code == 422
    for answer in (
        phone.post("/class/", {"code": "XXXXXX"}),
        phone.post("/class/", {"code": room.code}),  # not even the right one
        phone.get(f"/class/join/{room.code}/"),
        phone.post(f"/class/join/{room.code}/", {"name": "Bo", "uid": str(uuid4())}),
    ):
        assert answer.status_code == 429
        assert int(answer.headers["Retry-After"]) > 500
    assert not ClassLearner.objects.exists()
    elsewhere = Client(HTTP_HOST="localhost", REMOTE_ADDR="192.0.2.7")
    assert elsewhere.post("/class/", {"code": room.code}).status_code == 302
    LimitedAct.objects.update(at=timezone.now() - timedelta(minutes=11))
    assert phone.post("/class/", {"code": room.code}).status_code == 302


def test_a_code_is_long_enough_that_guessing_does_not_pay() -> None:
    from tripmargin.records.keeping.classes import CODE_LENGTH, LASTS, LETTERS
    from tripmargin.web.drills.learners import WITHIN

    tries = WRONG_CODES * LASTS / WITHIN
    assert tries / len(set(LETTERS)) ** CODE_LENGTH < 1e-5


def test_a_class_that_has_ended_lets_nobody_in_and_takes_no_move(browser_as: Make) -> None:
    trainer = browser_as(3)
    room = opened(trainer)
    bo = joined(room, "Bo")
    base = begun(bo)
    moved(bo, base, "go:box armed")
    late = Client(HTTP_HOST="localhost")
    name = late.post("/class/", {"code": room.code}).url
    trainer.post(f"/classes/{room.uid}/change/", {"do": "end"})
    assert late.post("/class/", {"code": room.code}).status_code == 422
    assert late.post(name, {"name": "Cy", "uid": str(uuid4())}).status_code == 422
    said = {"move": "hint", "uid": str(uuid4()), "seen": "1"}
    answer = bo.post(f"{base}move/", said)
    assert "The class has ended" in text_of(answer)
    bo.post("/class/drill/2/")
    assert PracticeMove.objects.count() == 1
    assert Practice.objects.count() == 1
    assert ClassLearner.objects.count() == 1
    # and one that nobody ended ends by itself
    other = opened(trainer, name="Left open")
    PracticeClass.objects.filter(pk=other.pk).update(ends_at=timezone.now())
    assert late.post("/class/", {"code": other.code}).status_code == 422


def test_a_name_is_nobody_elses_and_joining_twice_is_once(browser_as: Make) -> None:
    room = opened(browser_as(3))
    joined(room, "Bo")
    phone = Client(HTTP_HOST="localhost")
    door = f"/class/join/{room.code}/"
    for name in ("BO", " bo ", "", "x" * 61, "a\u202eb"):
        answer = phone.post(door, {"name": name, "uid": str(uuid4())})
        assert answer.status_code == 422
    assert "has joined already" in text_of(phone.post(door, {"name": "bo", "uid": str(uuid4())}))
    said = {"name": "Cy", "uid": str(uuid4())}
    for _ in range(3):
        Client(HTTP_HOST="localhost").post(door, said)
    assert list(ClassLearner.objects.values_list("number", "name")) == [(1, "Bo"), (2, "Cy")]


def test_a_full_class_says_so(browser_as: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tripmargin.records.keeping.classes.MOST_LEARNERS", 1)
    room = opened(browser_as(3))
    joined(room, "Bo")
    answer = Client(HTTP_HOST="localhost").post(
        f"/class/join/{room.code}/", {"name": "Cy", "uid": str(uuid4())}
    )
    assert "The class is full" in text_of(answer)
