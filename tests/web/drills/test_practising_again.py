"""Practising alone: setting drills, what comes back, machines of one's own, results as a file."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest

from tests.web.drills.playing import SEED, begun, moved, problem, sent, text_of
from tripmargin import drills
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Practice, PracticeResult

Client = Callable[..., Any]


def best_of(seed: int = SEED) -> drills.Drill:
    return drills.drill(problem(), seed=seed)


def test_a_machine_of_ones_own_is_practised_on_as_its_file_is(browser_as: Client) -> None:
    machine, client = add_demo_machine("dunlin", who_name="Ann"), browser_as(1)
    begin = f"/machines/{machine.uid}/practise/"
    assert "Find a hidden fault" in text_of(client.get(begin))
    uid = str(uuid4())
    for _ in range(2):
        assert client.post(begin, {"kind": "fault", "seed": "7", "uid": uid}).status_code == 302
    practice = Practice.objects.get()
    assert (practice.seed, practice.version) == (7, machine.versions.get())
    for seed in ("-1", "x", "1e3", "9" * 30):
        answer = client.post(begin, {"kind": "fault", "seed": seed, "uid": str(uuid4())})
        assert answer.status_code == 422
        assert seed[:20] in text_of(answer)
    assert client.post(begin, {"kind": "flying", "uid": str(uuid4())}).status_code == 422
    assert Practice.objects.count() == 1


def test_what_went_wrong_comes_back_and_does_not_say_what_it_was(
    browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from datetime import timedelta

    from django.utils import timezone

    client, drill = browser_as(1), best_of()
    practice = begun(client)
    base = f"/practise/{practice.uid}/"
    moved(client, base, "hand over")
    assert "Due again" not in text_of(client.get("/practise/"))
    tomorrow = timezone.now() + timedelta(days=2)
    monkeypatch.setattr("tripmargin.web.drills.practising.timezone.now", lambda: tomorrow)
    page = text_of(client.get("/practise/"))
    assert "Due again" in page
    assert drill.fault.text not in page
    assert drill.fault.id not in page
    answer = client.post(f"{base}next/", {"uid": str(uuid4())})
    assert answer.status_code == 302
    newest = Practice.objects.order_by("-pk").first()
    assert newest is not None
    assert newest.seed > SEED
    again = drills.drill(problem(), seed=newest.seed)
    assert again.fault.causes[0].id == drill.fault.causes[0].id


def test_the_same_drill_again_is_another_practice(browser_as: Client) -> None:
    client = browser_as(1)
    practice = begun(client)
    moved(client, f"/practise/{practice.uid}/", "hand over")
    said = {"uid": str(uuid4())}
    for _ in range(2):
        client.post(f"/practise/{practice.uid}/again/", said)
    again = Practice.objects.get(uid=said["uid"])
    assert (again.seed, again.kind, again.moves.count()) == (SEED, "fault", 0)


def test_results_are_taken_along_as_a_file_that_says_it_is_no_licence(browser_as: Client) -> None:
    client = browser_as(1)
    practice = begun(client)
    moved(client, f"/practise/{practice.uid}/", "hand over")
    answer = client.get("/practise/results.json")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="practised.json"'
    given = json.loads(answer.content)
    assert "no licence" in given["said"]
    (one,) = [drills.result_from(each["drill"]) for each in given["results"]]
    assert one.seed == SEED
    assert one.name == "role 1"


def test_a_setting_drill_is_played_on_the_planners_route(browser_as: Client) -> None:
    from tripmargin.machine import load_machine

    client = browser_as(1)
    for seed in (0, 1):
        best = drills.setting_drill(load_machine("dunlin"), seed=seed)
        practice = begun(client, "setting", seed)
        base = f"/practise/{practice.uid}/"
        for move in best.best.moves:
            page = text_of(moved(client, base, **sent(move)))
        assert "100.0</strong> points of 100" in page
        assert PracticeResult.objects.get(practice=practice).points == pytest.approx(100, rel=1e-9)


def test_a_setting_drill_shows_no_true_gap_and_keeps_what_was_typed(browser_as: Client) -> None:
    client = browser_as(1)
    practice = begun(client, "setting", 1)
    base = f"/practise/{practice.uid}/"
    page = text_of(moved(client, base, "measure:lower"))
    assert "Not done: not safe." in page
    page = text_of(moved(client, base, "secure"))
    assert "not measured" in page
    for typed in ("four", "3.5 kg", "99 mm", ""):
        answer = moved(client, base, "place:upper", **{"gap.upper": typed})
        assert answer.status_code == 422
        assert f'value="{typed}"' in text_of(answer)
    assert practice.moves.count() == 2
    true = drills.setting_drill(
        __import__("tripmargin").load_machine("dunlin"), seed=1
    ).play.pawls.gaps
    for gap in true.values():
        assert repr(gap) not in page
