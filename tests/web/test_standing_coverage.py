"""What the daily check finds: assumed at first, worked out beside the page, and kept."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.utils import timezone

from tests.records.standing_help import GOOD, new_machine
from tests.records.test_standing_drift import ASKED
from tests.web.test_standing_pages import page, with_season, words
from tripmargin.faultfinding.charts.dangerous import DangerousCoverage
from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import language
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.standing.daily_coverage import (
    PROGRAM,
    coverage_in,
    keep_coverage,
    kept_coverage,
)
from tripmargin.records.standing.log_rows import Log, Row
from tripmargin.records.store.models import Machine, VersionCoverage
from tripmargin.web.standing import covering, drift
from tripmargin.web.whats_wrong.keeper import Reading

Client = Callable[..., Any]
FOUND = DangerousCoverage(
    "morning check", 20, 0.5, 0.4, 0.8, ("the magnets are weak", "b", "c", "d")
)


@pytest.fixture
def dunlin(sqlite_records: str) -> Machine:
    return with_season(add_demo_machine("dunlin", who_name="Ann"))


@dataclass
class Worker:
    """Stands for fault finding: gives what it is told to, when it is let."""

    let: threading.Event
    asked: int = 0
    trouble: str = ""

    def ask(self, version: Any) -> Reading:
        self.asked += 1
        reading = Reading(trouble=self.trouble)
        reading.problem = None if self.trouble else object()  # type: ignore[assignment]
        threading.Thread(target=lambda: (self.let.wait(), reading.done.set()), daemon=True).start()
        return reading


@pytest.fixture
def worker(monkeypatch: pytest.MonkeyPatch) -> Worker:
    made = Worker(threading.Event())
    monkeypatch.setattr(drift, "covering", covering.Covering(made.ask))
    monkeypatch.setattr(covering, "dangerous_coverage", lambda problem: FOUND)
    return made


def demand(client: Any, machine: Machine) -> str:
    text = page(client.get(f"/machines/{machine.uid}/drift/"))
    return words(text.partition('id="demand"')[2].partition("<h2>")[0])


def test_it_is_assumed_until_it_is_worked_out_and_then_kept(
    dunlin: Machine, browser_as: Client, worker: Worker
) -> None:
    client = browser_as(1)
    for _ in range(3):
        said = demand(client, dunlin)
        assert "not yet worked out, 0.9 assumed" in said
        assert "being worked out now" in said
    assert worker.asked == 1  # once, however often the page is opened meanwhile
    before = re.findall(r"demand[^%]*?([\d.]+) %", said)[0]
    worker.let.set()
    drift.covering.wait(30)
    said = demand(client, dunlin)
    assert worker.asked == 1
    # No check of this season answered the lamps, so what trips and resets counts alone.
    assert "Coverage of the daily check: 40 %, worked out from this machine" in said
    assert "its check “morning check”: the share, by rate, of 20 faults" in said
    assert "shows 40 %; with the lamps as well it is 80 %. Lamps were answered in 0 of 300" in said
    assert "It leaves open, the most frequent first: the magnets are weak; b; c." in said
    assert "assumed: it is taken" not in said
    assert "being worked out" not in said
    after = re.findall(r"demand[^%]*?([\d.]+) %", said)[0]
    assert float(after) > float(before)  # a check that finds less leaves more
    kept = VersionCoverage.objects.get()
    assert (kept.version, kept.program) == (dunlin.versions.get(), PROGRAM)


def test_why_it_cannot_be_worked_out_is_said_and_kept(
    dunlin: Machine, browser_as: Client, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(problem: object) -> None:
        raise NotKnownError("the share", ["circuit.faults"])

    monkeypatch.setattr(covering, "dangerous_coverage", none)
    worker.let.set()
    client = browser_as(1)
    demand(client, dunlin)
    drift.covering.wait(30)
    said = demand(client, dunlin)
    assert "0.9 assumed. It could not be worked out: Not known: the share needs" in said
    assert worker.asked == 1


def test_what_is_kept_is_read_in_the_readers_language(
    dunlin: Machine, browser_as: Client, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    def found(problem: object) -> DangerousCoverage:
        weak = {"en": "the magnets are weak", "de": "die Magnete sind schwach"}[language()]
        return DangerousCoverage("morning check", 20, 0.5, 0.4, 0.8, (weak,))

    monkeypatch.setattr(covering, "dangerous_coverage", found)
    worker.let.set()
    english, german = browser_as(1), browser_as(1)
    german.cookies["tripmargin_language"] = "de"
    demand(english, dunlin)
    drift.covering.wait(30)
    assert "the most frequent first: the magnets are weak." in demand(english, dunlin)
    said = demand(german, dunlin)
    assert "Offen bleiben, die häufigsten zuerst: die Magnete sind schwach." in said
    assert worker.asked == 1  # one reading serves both


def test_why_there_is_none_is_read_in_the_readers_language(
    dunlin: Machine, browser_as: Client, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(problem: object) -> None:
        raise NotKnownError("the share", ["circuit.faults"])

    monkeypatch.setattr(covering, "dangerous_coverage", none)
    worker.let.set()
    demand(browser_as(1), dunlin)
    drift.covering.wait(30)
    german = browser_as(1)
    german.cookies["tripmargin_language"] = "de"
    said = demand(german, dunlin)
    assert "Sie ließ sich nicht berechnen: Nicht bekannt: " in said


def test_a_machine_without_a_circuit_is_never_worked_out(
    sqlite_records: str, browser_as: Client, worker: Worker
) -> None:
    said = demand(browser_as(1), with_season(new_machine()))
    assert "0.9 assumed" in said
    assert "does not give both [circuit] and [checks]" in said
    assert worker.asked == 0


def test_what_an_older_program_worked_out_counts_until_it_is_worked_out_anew(
    dunlin: Machine, browser_as: Client, worker: Worker
) -> None:
    keep_coverage(dunlin.versions.get(), {**FOUND.to_dict(), "by_feed": 0.3})
    VersionCoverage.objects.update(program="tripmargin 0.0.1")
    assert "Coverage of the daily check: 30 %" in demand(browser_as(1), dunlin)
    worker.let.set()
    drift.covering.wait(30)
    assert "Coverage of the daily check: 40 %" in demand(browser_as(1), dunlin)


def test_an_empty_log_asks_for_nothing(
    sqlite_records: str, browser_as: Client, worker: Worker
) -> None:
    machine = add_demo_machine("dunlin", who_name="Ann")
    page(browser_as(1).get(f"/machines/{machine.uid}/drift/"))
    assert worker.asked == 0


def test_lamps_count_by_how_often_they_were_answered(dunlin: Machine) -> None:
    keep_coverage(dunlin.versions.get(), FOUND.to_dict())
    kept, now = kept_coverage(dunlin.versions.get()), timezone.now().timestamp()
    rows = [Row("daily check", now - k, GOOD if k < 3 else {"tripped": True}) for k in range(12)]
    rows[5] = Row("daily check", now - 5, {"tripped": True, "lamps/armed": True})
    found = coverage_in(Log(tuple(rows)), ASKED, kept)
    assert found.value == pytest.approx(0.4 + 4 / 12 * 0.4)
    assert "Lamps were answered in 4 of 12 checks." in found.notes[1]


def test_dunlin_is_worked_out_by_fault_finding_itself(dunlin: Machine, browser_as: Client) -> None:
    demand(browser_as(1), dunlin)
    drift.covering.wait(120)
    kept = VersionCoverage.objects.get().summary
    assert 0 < kept["by_feed"] <= kept["with_lamps"] < 1
    assert "the pawls' clearance is too wide" in kept["leaves_open"]["en"]
    assert "der Abstand der Sperrklinken ist zu groß" in kept["leaves_open"]["de"]
    assert "worked out from this machine" in demand(browser_as(1), dunlin)
