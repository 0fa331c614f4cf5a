"""Fault-finding cases in the records, on SQLite and on PostgreSQL."""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Iterator
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import DatabaseError, connection, transaction

from tripmargin.faultfinding import (
    ASK,
    CLOSED,
    HAND_OVER,
    HANDED_OVER,
    OPEN,
    MachineProblem,
    ProblemError,
    machine_problem,
)
from tripmargin.faultfinding.cases.case import ASIDE, Case
from tripmargin.machine import load_machine
from tripmargin.records.keeping.case_lines import By, case_file, lines_of
from tripmargin.records.keeping.cases import (
    ENDED,
    LEFT,
    MENDED,
    OTHER,
    SAME,
    Said,
    begin_case,
    bring_back,
    go_on_with,
    open_case,
    record,
    record_after_all,
    take_back,
    waiting,
)
from tripmargin.records.keeping.machines import (
    add_demo_machine,
    add_type_sheet,
    add_version,
    read_machine_file,
    sheets_in_force,
)
from tripmargin.records.store.models import CaseLine, FaultCase, Machine

ANN, BO = By(name="Ann"), By(name="Bo")


@pytest.fixture(scope="module")
def of() -> MachineProblem:
    return machine_problem(load_machine("dunlin"))


@pytest.fixture
def machine(records: str) -> Machine:
    return add_demo_machine("dunlin")


@pytest.fixture
def row(machine: Machine) -> FaultCase:
    return begin_case(machine.versions.get(), "feed stays stopped", by=ANN)


def look(of: MachineProblem, number: int = 0) -> tuple[str, str, str]:
    """A look that is no meter's, a sound machine's word for it, and another one."""
    plain = [each for each in of.questions.values() if each.bands is None]
    question = plain[number]
    return question.id, question.words[0], question.words[1]


def test_a_case_is_begun_once_and_its_lines_are_those_of_a_case_file(machine: Machine) -> None:
    by = By(name="Ann", uid=uuid4())
    version = machine.versions.get()
    first, second = (begin_case(version, "dead", by=by) for _ in range(2))
    assert first.pk == second.pk
    assert first.uid == by.uid
    file = case_file(first)
    assert (file.head["kind"], file.head["machine_name"]) == ("case", machine.name)
    assert [(e.n, e["check"], e["word"]) for e in file.standing] == [(1, ASK, "dead")]
    assert [line.who for line in lines_of(first)] == ["Ann"]


def test_no_such_complaint_and_another_machines_id_are_refused(machine: Machine) -> None:
    version, by = machine.versions.get(), By(name="Ann", uid=uuid4())
    with pytest.raises(ProblemError, match="no such complaint"):
        begin_case(version, "hums", by=by)
    assert not FaultCase.objects.exists()
    begin_case(version, "", by=by)
    other = add_demo_machine("curlew").versions.get()
    with pytest.raises(ProblemError, match="another machine"):
        begin_case(other, "", by=by)


def test_the_database_holds_what_the_room_would_keep_in_a_file(
    row: FaultCase, of: MachineProblem
) -> None:
    check, word, _ = look(of)
    record(row, of, Said(check, word), by=BO)
    beside = Case(of, complaint="feed stays stopped")
    beside.record(check, word)
    opened = open_case(row, of)
    assert opened.beliefs() == beside.beliefs()
    assert [e.fields for e in opened.entries] == [e.fields for e in beside.entries]


def test_the_same_answer_sent_twice_counts_once(row: FaultCase, of: MachineProblem) -> None:
    check, word, _ = look(of)
    by = By(name="Ann", uid=uuid4())
    first, second = (record(row, of, Said(check, word), by=by) for _ in range(2))
    assert (first.new, second.new) == (True, False)
    assert first.entry == second.entry
    assert row.lines.count() == 3  # head, complaint, answer
    # another answer under a used id is another answer: nothing is lost for it
    further, sound, _ = look(of, 5)
    assert record(row, of, Said(further, sound, seen=2), by=by).new
    assert [e.get("check") for e in open_case(row, of).entries] == [ASK, check, further]


def test_what_is_wrong_is_refused_and_nothing_is_written(
    row: FaultCase, of: MachineProblem
) -> None:
    check, word, _ = look(of)
    for said in (
        Said(check, "purple"),
        Said("no such card", word),
        Said(check, word, note="x" * 1001),
        Said(HAND_OVER, "y" * 1001),
    ):
        with pytest.raises(ProblemError):
            record(row, of, said, by=ANN)
    assert row.lines.count() == 2


def test_another_answer_to_the_same_card_is_kept_and_counts_when_it_is_said_so(
    row: FaultCase, of: MachineProblem
) -> None:
    check, word, other = look(of)
    record(row, of, Said(check, word, seen=1), by=ANN)
    late = record(row, of, Said(check, other, "by the lamp", seen=1), by=BO)
    assert late.aside == OTHER
    assert record(row, of, Said(check, word, seen=1), by=BO).aside == SAME
    opened = open_case(row, of)
    assert [e.get("word") for e in opened.entries] == ["feed stays stopped", word]
    assert [e["word"] for e in waiting(opened)] == [other, word]
    made = record_after_all(row, of, late.entry.n, by=BO)
    opened = open_case(row, of)
    assert [e.get("word") for e in opened.entries] == ["feed stays stopped", other]
    assert (made["from"], made["note"]) == (late.entry.n, "by the lamp")
    assert [e["word"] for e in waiting(opened)] == [word]
    assert [e.kind for e in opened.file.entries].count(ASIDE) == 2  # nothing left the file
    with pytest.raises(ProblemError, match="no such answer waits"):
        record_after_all(row, of, late.entry.n, by=BO)


def test_a_look_from_before_a_repair_is_asked_about(row: FaultCase, of: MachineProblem) -> None:
    check, word, _ = look(of)
    repair = next(work.id for work in of.repairs if work.mended and not work.module)
    record(row, of, Said(repair, "failed", seen=1), by=ANN)
    late = record(row, of, Said(check, word, seen=1), by=BO)
    assert late.aside == MENDED
    assert record(row, of, Said(check, word, seen=late.entry.n), by=BO).aside == ""


def test_an_answer_after_the_end_takes_the_end_back_when_it_is_said_so(
    row: FaultCase, of: MachineProblem
) -> None:
    check, word, _ = look(of)
    record(row, of, Said(HAND_OVER, "no meter here", seen=1), by=ANN)
    assert FaultCase.objects.get().status == HANDED_OVER
    late = record(row, of, Said(check, word, seen=1), by=BO)
    assert late.aside == ENDED
    assert FaultCase.objects.get().status == HANDED_OVER
    record_after_all(row, of, late.entry.n, by=BO)
    assert FaultCase.objects.get().status == OPEN
    assert [e.kind for e in open_case(row, of).entries] == ["finding", "finding"]


def test_only_the_entry_that_was_meant_is_taken_back(row: FaultCase, of: MachineProblem) -> None:
    check, word, _ = look(of)
    made = record(row, of, Said(check, word, seen=1), by=ANN).entry
    assert take_back(row, of, 1, by=BO) is None
    by = By(name="Bo", uid=uuid4())
    for _ in range(2):  # sent twice
        taken = take_back(row, of, made.n, by=by)
        assert taken is not None
        assert taken.n == made.n
    assert [e.get("check") for e in open_case(row, of).entries] == [ASK]
    assert bring_back(row, of, by=ANN)
    assert not bring_back(row, of, by=ANN)
    assert [e.get("check") for e in open_case(row, of).entries] == [ASK, check]


def test_the_row_follows_to_the_end(row: FaultCase, of: MachineProblem) -> None:
    take_back(row, of, 1, by=ANN)
    assert FaultCase.objects.get().complaint == ""
    bring_back(row, of, by=ANN)
    assert FaultCase.objects.get().complaint == "feed stays stopped"
    for _ in range(60):
        opened = open_case(row, of)
        cards = opened.next_checks(1)
        if not cards:
            break
        seen = opened.file.entries[-1].n
        word = next((a.word for a in cards[0].answers if a.sound), "passed")
        record(row, of, Said(cards[0].id, word, seen=seen), by=ANN)
        assert FaultCase.objects.get().status == open_case(row, of).status
    assert FaultCase.objects.get().status == CLOSED


def test_a_machine_that_was_left_alone_stands_at_rest(row: FaultCase, of: MachineProblem) -> None:
    rest = of.problem.start_state
    check = next(q.id for q in of.questions.values() if q.state != of.problem.states[rest])
    record(row, of, Said(check, of.questions[check].words[0], seen=1), by=ANN)
    assert open_case(row, of).situation.state != rest
    file = case_file(row)
    later = Case.from_file(of, file, rest_after=timedelta(seconds=-1))
    assert later.situation.state == rest
    assert timedelta(minutes=10) <= LEFT <= timedelta(hours=2)


def test_a_new_version_is_gone_on_with_and_nothing_is_lost(
    row: FaultCase, of: MachineProblem
) -> None:
    name = "type-trailed-mechanical.toml"
    sheet = sheets_in_force()[name]
    line = re.search(r'^"fuse F1" = .*\n', sheet, re.MULTILINE)
    assert line is not None
    check = next(each for each in of.questions if each.endswith("fuse F1"))
    record(row, of, Said(check, of.questions[check].words[0], seen=1), by=ANN)
    add_type_sheet(sheet.replace(line[0], "").encode(), name)
    text, loaded = read_machine_file(row.version.text.encode(), "dunlin.toml")
    version, new = add_version(row.machine, text, loaded)
    assert new
    by = By(name="Ann", uid=uuid4())
    for _ in range(2):
        go_on_with(FaultCase.objects.get(), version, by=by)
    row.refresh_from_db()
    assert row.version == version
    assert row.lines.count() == 4  # head, complaint, answer, the new version
    opened = open_case(row, machine_problem(loaded))
    assert [entry["check"] for entry in opened.entries] == [ASK]
    assert [entry["check"] for entry in opened.set_aside] == [check]
    go_on_with(row, add_demo_machine("curlew").versions.get(), by=ANN)  # of another one: never
    assert FaultCase.objects.get().version == version


def test_lines_are_only_ever_added(row: FaultCase) -> None:
    for statement in ("UPDATE records_caseline SET id = id", "DELETE FROM records_caseline"):
        with (
            pytest.raises(DatabaseError, match="only ever added"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(statement)


@pytest.fixture
def troubles() -> Iterator[list[BaseException]]:
    found: list[BaseException] = []
    yield found
    assert not found, found


def both(write: object, troubles: list[BaseException]) -> None:
    """Run something in two threads, each with a connection of its own."""
    start = threading.Barrier(2)

    def run(name: str) -> None:
        try:
            start.wait()
            write(name)  # type: ignore[operator]
        except BaseException as error:
            troubles.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(name,)) for name in ("Ann", "Bo")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def test_two_people_answer_forty_cards_and_none_is_lost(
    row: FaultCase, of: MachineProblem, troubles: list[BaseException]
) -> None:
    plain = [each for each in of.questions.values() if each.bands is None]
    assert len(plain) >= 40

    def write(name: str) -> None:
        mine = plain[0:40:2] if name == "Ann" else plain[1:40:2]
        for question in mine:
            by = By(name=name, uid=uuid4())
            for _ in range(2):  # each sent twice, as a bad connection does
                done = record(row, of, Said(question.id, question.words[0], seen=1), by=by)
                assert done.aside == ""

    both(write, troubles)
    opened = open_case(row, of)
    assert [entry.n for entry in opened.file.entries] == list(range(1, 42))
    answered = {entry["check"] for entry in opened.entries} - {ASK}
    assert answered == {question.id for question in plain[:40]}
    who = [line.who for line in lines_of(row)][1:]
    assert (who.count("Ann"), who.count("Bo")) == (20, 20)


def test_two_people_answer_the_same_forty_cards_and_both_answers_are_kept(
    row: FaultCase, of: MachineProblem, troubles: list[BaseException]
) -> None:
    plain = [each for each in of.questions.values() if each.bands is None][:40]

    def write(name: str) -> None:
        for question in plain:
            word = question.words[0 if name == "Ann" else 1]
            record(row, of, Said(question.id, word, seen=1), by=By(name=name, uid=uuid4()))

    both(write, troubles)
    file = case_file(row)
    assert [entry.n for entry in file.entries] == list(range(1, 82))
    told = {(e.get("check") or e.get("of"), e["word"]) for e in file.entries}
    assert {(q.id, word) for q in plain for word in q.words[:2]} <= told
    assert sum(entry.kind == ASIDE for entry in file.entries) == 40
    assert all(json.loads(bytes(c)) for c in CaseLine.objects.values_list("content", flat=True))
