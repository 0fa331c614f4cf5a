"""Fault finding in the browser, without a browser: pages, answers, troubles, two people."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable
from html import unescape
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone

from tripmargin.faultfinding import (
    CANNOT_TELL,
    COMPLAINTS,
    HAND_OVER,
    SAW_ELSE,
    Case,
    MachineProblem,
)
from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, speaking
from tripmargin.ground.patience import still_time
from tripmargin.machine import load_machine
from tripmargin.records.keeping.cases import open_case
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import FaultCase, Machine
from tripmargin.web.whats_wrong.keeper import Keeper, problem_of

Client = Callable[..., Any]


@pytest.fixture
def dunlin(sqlite_records: str) -> Machine:
    return add_demo_machine("dunlin", who_name="Ann")


@pytest.fixture
def of(dunlin: Machine) -> MachineProblem:
    """Its problem; read once in this process, for the keeper remembers it."""
    reading = problem_of(dunlin.versions.get())
    assert reading.done.wait(300)
    assert reading.problem is not None
    return reading.problem


def begun(client: Any, machine: Machine, complaint: str = "feed stays stopped") -> FaultCase:
    said = {"complaint": complaint, "uid": str(uuid4())}
    answer = client.post(f"/machines/{machine.uid}/wrong/", said)
    assert answer.status_code == 302
    return FaultCase.objects.get(uid=said["uid"])


def page_of(client: Any, case: FaultCase, query: str = "") -> str:
    answer = client.get(f"/cases/{case.uid}/{query}")
    assert answer.status_code == 200
    return unescape(answer.content.decode())


def answered(client: Any, case: FaultCase, card: str, word: str = "", **more: Any) -> Any:
    said = {"uid": str(uuid4()), "seen": "999", "card": card, "word": word, **more}
    return client.post(f"/cases/{case.uid}/answer/", said)


def due(case: FaultCase, of: MachineProblem) -> Any:
    return open_case(case, of).next_checks(1)[0]


def test_a_case_begins_at_once_and_is_listed(browser_as: Client, dunlin: Machine) -> None:
    client = browser_as(2)
    page = client.get(f"/machines/{dunlin.uid}/wrong/").content.decode()
    assert all(unescape(page).count(sentence) == 1 for sentence in COMPLAINTS.values())
    assert page.index("Engine off, key out") < page.index('name="complaint"')
    case = begun(client, dunlin)
    page = client.get(f"/machines/{dunlin.uid}/wrong/").content.decode()
    assert str(case.uid) in page
    assert "role 2" in page


def test_a_page_never_waits_for_the_wiring(
    browser_as: Client, dunlin: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_on = threading.Event()

    def slow(machine: Any) -> Any:
        go_on.wait(60)
        raise NotKnownError("what is broken", ["checks"])

    keeper = Keeper(slow)
    monkeypatch.setattr("tripmargin.web.whats_wrong.keeper._keeper", lambda: keeper)
    client = browser_as(2)
    case, begin = begun(client, dunlin), time.perf_counter()
    page = page_of(client, case)
    assert "Reading the wiring" in page
    assert f'hx-get="/cases/{case.uid}/reading/"' in page
    assert f'href="/cases/{case.uid}/"' in page  # the way without a script
    assert time.perf_counter() - begin < 5  # the reading would take 60
    part = client.get(f"/cases/{case.uid}/reading/")
    assert "HX-Refresh" not in part.headers
    monkeypatch.setattr("tripmargin.web.whats_wrong.answering.PATIENCE", 0.01)
    sent = answered(client, case, HAND_OVER, why="it rains")
    assert sent.status_code == 503
    assert "it rains" in sent.content.decode()  # nothing that was typed is lost
    go_on.set()
    for _ in range(200):
        page = page_of(client, case)
        if "trouble" in page:
            break
        time.sleep(0.02)
    assert "checks" in page


def test_why_a_machine_cannot_be_read_is_said_in_each_readers_language() -> None:
    def refused(machine: Any) -> Any:
        raise NotKnownError(later("what is broken"), ["checks"])

    keeper = Keeper(refused)
    with speaking("de"):  # whoever asked first does not choose for all
        reading = keeper.ask(load_machine("dunlin"))
    assert reading.done.wait(30)
    assert str(reading.trouble).startswith("Not known: what is broken needs checks")
    with speaking("de"):
        assert str(reading.trouble).startswith("Nicht bekannt: ")


def test_the_waiting_page_reloads_when_the_wiring_is_read(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(1)
    case = begun(browser_as(2), dunlin)
    assert client.get(f"/cases/{case.uid}/reading/").headers["HX-Refresh"] == "true"


def test_a_problem_is_worked_out_once_and_only_the_last_few_are_kept() -> None:
    read, wait = [], threading.Event()

    def slow(machine: Any) -> Any:
        wait.wait(10)
        read.append(machine.name)
        return object()

    keeper, names = Keeper(slow, most=2), ("dunlin", "curlew", "whimbrel")
    machines = [load_machine(name) for name in names]
    first = [keeper.ask(machines[0]) for _ in range(5)]
    assert len({id(each) for each in first}) == 1
    wait.set()
    for machine in machines:
        assert keeper.ask(machine).done.wait(10)
    assert sorted(read) == sorted(m.name for m in machines)
    keeper.ask(machines[2])
    assert len(keeper._known) <= 3
    again = keeper.ask(machines[0])
    assert again.done.wait(10)
    assert len(read) == 4  # it was let go, and read anew


def test_a_wiring_that_takes_too_long_is_given_up_once_and_for_good() -> None:
    tries: list[str] = []

    def endless(machine: Any) -> Any:
        tries.append(machine.name)
        while True:
            still_time()

    keeper, machine = Keeper(endless, longest=0.05), load_machine("dunlin")
    reading = keeper.ask(machine)
    assert reading.done.wait(10)
    assert "too large for a server that others use" in str(reading.trouble)
    assert "find-fault" in str(reading.trouble)
    assert keeper.ask(machine) is keeper.ask(machine) is reading  # no page load starts it anew
    assert len(tries) == 1
    keeper._read = lambda machine: object()  # type: ignore[assignment,return-value]
    other = keeper.ask(load_machine("curlew"))
    assert other.done.wait(10)  # the next one's turn comes
    assert other.problem is not None


def test_a_card_says_cautions_the_way_and_what_to_expect(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(2)
    case = begun(client, dunlin)
    card, page = due(case, of), page_of(client, case)
    for text in (*card.cautions[:1], *(answer.word for answer in card.answers), card.do):
        assert text in page
    assert "as on a sound machine" in page
    assert page.index(card.cautions[0]) < page.index('id="do"') < page.index('name="word"')
    assert "<svg" in page
    assert "style=" not in page
    rows = re.findall(r'<td class="number">([^<]+)</td>', page)
    assert len(rows) > 20  # the table behind the bars


def test_an_answer_is_recorded_with_its_writer_and_taken_back(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(2, "Ann Moss")
    case = begun(client, dunlin)
    card = due(case, of)
    assert answered(client, case, card.id, card.answers[0].word).status_code == 302
    page = page_of(client, case)
    assert "Ann Moss" in page
    last = open_case(case, of).entries[-1]
    assert (last["check"], last["word"]) == (card.id, card.answers[0].word)
    sent = {"uid": str(uuid4()), "n": last.n}
    client.post(f"/cases/{case.uid}/undo/", sent)
    assert len(open_case(case, of).entries) == 1
    client.post(f"/cases/{case.uid}/undo/", {"uid": str(uuid4()), "n": last.n})
    assert len(open_case(case, of).entries) == 1  # not another one than was meant
    assert "somebody entered" in page_of(client, case)
    client.post(f"/cases/{case.uid}/redo/", {"uid": str(uuid4())})
    assert open_case(case, of).entries[-1].n == last.n


@pytest.mark.parametrize(
    ("typed", "mends"),
    [("11,9", ["11.9"]), ("1,500", ["1.500", "1500"]), ("11.9.9", []), ("12,5,7", [])],
)
def test_a_comma_in_a_reading_is_mended_at_one_touch_and_the_case_goes_on(
    browser_as: Client, dunlin: Machine, of: MachineProblem, typed: str, mends: list[str]
) -> None:
    client = browser_as(2)
    case = begun(client, dunlin)
    for _ in range(60):
        card = due(case, of)
        if card.unit == "V":
            break
        answered(client, case, card.id, CANNOT_TELL)
    sent = {"reading": typed, "unit": "mV" if typed == "1,500" else "V"}
    refused = answered(client, case, card.id, "a reading", **sent)
    assert refused.status_code == 422
    page = unescape(refused.content.decode())
    assert re.findall(r'name="mend.reading" value="([^"]+)"', page) == mends
    if mends:
        before = len(open_case(case, of).entries)
        went_on = answered(client, case, card.id, **{**sent, "mend.reading": mends[-1]})
        assert went_on.status_code == 302
        entries = open_case(case, of).entries
        assert len(entries) == before + 1
        scale = 0.001 if typed == "1,500" else 1.0
        assert entries[-1]["reading"] == pytest.approx(float(mends[-1]) * scale)


@pytest.mark.parametrize(
    ("typed", "unit", "says"),
    [
        ("", "V", "allowed"),
        ("11,9", "V", "11,9"),
        ("99999", "V", "nothing here could read so"),
        ("12 mm", "V", "12 mm"),
        ("nan", "V", "nan"),
        ("<script>alert(1)</script>", "V", "<script>alert(1)</script>"),
        ("\N{GRINNING FACE}", "V", "\N{GRINNING FACE}"),
        ("9" * 400, "V", "9" * 40),
    ],
)
def test_a_reading_that_is_none_is_said_and_stays(
    browser_as: Client, dunlin: Machine, of: MachineProblem, typed: str, unit: str, says: str
) -> None:
    client = browser_as(2)
    case = begun(client, dunlin)
    meter = next(q.id for q in of.questions.values() if q.bands and q.bands.unit == "V")
    answer = answered(client, case, meter, "a reading", reading=typed, unit=unit)
    assert answer.status_code == 422
    raw = answer.content.decode()
    assert "<script>alert" not in raw
    assert says.lower() in unescape(raw).lower()
    assert typed in unescape(raw)  # what was typed stays, whichever card is due
    assert len(open_case(case, of).entries) == 1


def test_a_trouble_stands_beside_its_field(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(2)
    case = begun(client, dunlin)
    for _ in range(60):
        card = due(case, of)
        if card.unit:
            break
        answered(client, case, card.id, CANNOT_TELL)
    page = unescape(answered(client, case, card.id, "a reading", reading="11,9").content.decode())
    asked, field = page.index('id="asked"'), page.index('id="reading"')
    assert asked < page.index("a comma inside a number") < field
    assert 'aria-invalid="true" value="11,9"' in page
    page = unescape(answered(client, case, HAND_OVER, why="z" * 1001).content.decode())
    assert page.index("Hand the machine over") < page.index("too long") < page.index("z" * 1001)


def test_a_reading_is_taken_with_the_unit_beside_it(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(2)
    case = begun(client, dunlin)
    for unit, typed, chosen, value in (
        ("V", "1500", "mV", 1.5),
        ("ohm", "0.5", "kohm", 500.0),
        ("ohm", "0.2 ohm", "kohm", 0.2),
    ):
        used = {e.get("check") for e in open_case(case, of).entries}
        meter = next(
            q.id for q in of.questions.values()
            if q.bands and q.bands.unit == unit and q.id not in used and q.bands.possible(value)
        )  # fmt: skip
        answer = answered(client, case, meter, "a reading", reading=typed, unit=chosen)
        assert answer.status_code == 302, answer.content.decode()
        assert open_case(case, of).entries[-1]["reading"] == pytest.approx(value)
    assert "Read as" in page_of(client, case)
    used = {e.get("check") for e in open_case(case, of).entries}
    meter = next(
        q.id for q in of.questions.values()
        if q.bands and q.bands.unit == "ohm" and q.id not in used
    )  # fmt: skip
    answered(client, case, meter, "OL")
    last = open_case(case, of).entries[-1]
    assert last["word"] == of.questions[meter].bands.words[-1]  # type: ignore[union-attr]


def test_what_else_was_seen_is_kept_in_a_sentence(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(2)
    case = begun(client, dunlin)
    answered(client, case, due(case, of).id, SAW_ELSE, note="It <b>smokes</b>.")
    assert open_case(case, of).entries[-1]["note"] == "It <b>smokes</b>."
    assert "<b>smokes" not in client.get(f"/cases/{case.uid}/").content.decode()
    card = due(case, of).id
    assert answered(client, case, card, SAW_ELSE, note="x" * 1001).status_code == 422
    assert answered(client, case, card, "purple").status_code == 422


def test_another_card_by_skipping_or_by_choice(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(2)
    case = begun(client, dunlin)
    cards = open_case(case, of).next_checks(3)

    def shown(query: str) -> str:
        found = re.search(r'name="card" value="([^"]+)"', page_of(client, case, query))
        assert found is not None
        return found[1]

    assert shown("") == cards[0].id
    assert shown(f"?skip={cards[0].id}") == cards[1].id
    assert shown(f"?card={cards[2].id}") == cards[2].id
    assert "You chose it" in page_of(client, case, f"?card={cards[2].id}")
    assert shown("?card=<script>") == cards[0].id
    many = "&".join(f"skip={card.id}" for card in open_case(case, of).next_checks(10))
    assert "the first one comes again" in page_of(client, case, f"?{many}")


def with_fault(case: Case, of: MachineProblem, fault: int, card: Any) -> str:
    """What a person finds who looks at a machine with a fault, without a slip."""
    if card.kind == "look":
        look = next(each for each in of.looks if each.question.id == card.id)
        return str(look.question.words[look.answers[fault]])
    work = of.works[card.id]
    causes = of.hypotheses[fault].causes
    return "passed" if all(cause.mended in work.mended for cause in causes) else "failed"


def test_a_case_is_found_mended_proved_and_offered_to_the_log(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(2)
    fault = next(
        k for k, each in enumerate(of.hypotheses)
        if len(each.causes) == 1 and "winding broken" in each.said and each.shows == 1
    )  # fmt: skip
    case = begun(client, dunlin)
    seen = set[str]()
    mended = False
    for _ in range(60):
        opened = open_case(case, of)
        cards = opened.next_checks(1)
        if not cards:
            break
        page, card = page_of(client, case), cards[0]
        seen.add(card.kind)
        if card.kind == "repair":
            assert page.index("Chance that it cures") < page.index('id="do"')
            assert ("A MODULE, REPLACED WHOLE" in page) == card.module
            assert "Must show" in page
        if opened.status == "proving":
            assert "Not proved yet" in page
        fine = next((a.word for a in card.answers if a.sound), "passed")
        word = fine if mended else with_fault(opened, of, fault, card)
        mended = mended or (card.kind == "repair" and word == "passed")
        if card.unit:  # a word of a meter's look stands for its range
            answered(client, case, card.id, word)
        else:
            assert f'value="{word}"' in page
            answered(client, case, card.id, word)
    assert "repair" in seen
    assert FaultCase.objects.get().status == "closed"
    page = page_of(client, case)
    assert "CLOSED: mended, and proved by the daily test." in page
    assert "Proof: the daily test" in page
    assert f"/machines/{dunlin.uid}/log/new/part-replaced/?part=" in page
    assert "cured=yes" in page
    assert f"/machines/{dunlin.uid}/log/new/daily-check/?tripped=yes&reset=yes" in page
    assert 'name="word"' not in page
    late = answered(client, case, due_or_first(of), of.questions[due_or_first(of)].words[0])
    assert "/late/" in late.headers["Location"]


def due_or_first(of: MachineProblem) -> str:
    return next(q.id for q in of.questions.values() if q.bands is None)


def test_a_daily_test_that_failed_is_asked_at_which_step(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(2)
    case = begun(client, dunlin)
    opened = open_case(case, of)
    card = opened.next_checks(1)[0]
    while card.kind == "look":
        answered(client, case, card.id, CANNOT_TELL)
        card = due(case, of)
    page = page_of(client, case)
    steps = re.findall(r'name="failed_at" value="(\d+)"', page)
    assert steps == [str(n) for n in range(1, of.daily_steps + 1)]
    assert page.count("Must show:") == of.daily_steps
    assert 'value="failed">Step not known' in page
    assert answered(client, case, card.id, failed_at="99").status_code == 422
    assert answered(client, case, card.id, failed_at="x").status_code == 422
    assert answered(client, case, card.id, failed_at="2").status_code == 302
    last = open_case(case, of).entries[-1]
    assert (last["word"], last["failed_at"]) == ("failed", 2)
    assert "daily test failed at step 2" in page_of(client, case)


def test_handing_over_needs_a_reason_and_ends(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(2)
    case = begun(client, dunlin)
    assert answered(client, case, HAND_OVER, why="  ").status_code == 422
    assert answered(client, case, HAND_OVER, why="no meter here").status_code == 302
    page = page_of(client, case)
    assert "HANDED OVER: no meter here" in page
    assert "Enter the part in the log" not in page
    assert "Enter the check in the log" not in page


def test_two_people_see_each_other_and_neither_answer_is_lost(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    ann, bo = browser_as(2, "Ann"), browser_as(2, "Bo")
    case = begun(ann, dunlin)
    card, news = due(case, of), f"/cases/{case.uid}/news/?seen=2"
    assert "notice" not in bo.get(news).content.decode()
    answered(ann, case, card.id, card.answers[0].word, seen="1")
    assert "Ann entered something" in bo.get(news).content.decode()
    assert "You entered something on another page" in ann.get(news).content.decode()
    assert bo.get(f"{news}&told=1").status_code == 204  # told once, not every three seconds
    assert bo.get(f"{news}&told=0").status_code == 200
    late = answered(bo, case, card.id, card.answers[1].word, seen="1")
    where = late.headers["Location"]
    page = unescape(bo.get(where).content.decode())
    assert "answered this card otherwise" in page
    assert "Ann" in page
    assert "came late and does not count" in page_of(ann, case)
    same = answered(bo, case, card.id, card.answers[0].word, seen="1")
    assert same.headers["Location"] == f"/cases/{case.uid}/"
    assert bo.post(where, {"uid": str(uuid4())}).status_code == 302
    entries = open_case(case, of).entries
    assert [e["word"] for e in entries] == ["feed stays stopped", card.answers[1].word]
    assert bo.get(where).status_code == 302  # it counts now
    assert bo.get(f"/cases/{case.uid}/late/77/").status_code == 404


def test_who_may_look_sees_everything_and_changes_nothing(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    case = begun(browser_as(2), dunlin)
    client = browser_as(1)
    page = page_of(client, case)
    assert "Your role looks on" in page
    assert 'name="word"' not in page
    forbidden = [
        client.post(f"/machines/{dunlin.uid}/wrong/", {"complaint": "dead"}),
        answered(client, case, due(case, of).id, "on"),
        *(client.post(f"/cases/{case.uid}/{way}/") for way in ("undo", "redo", "version")),
        client.post(f"/cases/{case.uid}/late/1/"),
    ]
    assert [answer.status_code for answer in forbidden] == [403] * 6
    assert case.lines.count() == 2
    assert browser_as(0).get(f"/cases/{case.uid}/").status_code == 302


def test_what_is_not_there_is_not_found(browser_as: Client, dunlin: Machine) -> None:
    client = browser_as(4)
    for way in ("", "reading/", "news/", "late/1/"):
        assert client.get(f"/cases/{uuid4()}/{way}").status_code == 404
    assert client.get(f"/machines/{uuid4()}/wrong/").status_code == 404
    answer = client.post(f"/machines/{dunlin.uid}/wrong/", {"complaint": "hums", "uid": "no id"})
    assert answer.status_code == 422
    assert "no such complaint" in answer.content.decode()


def test_the_news_cost_little(browser_as: Client, dunlin: Machine, of: MachineProblem) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client = browser_as(2)
    case = begun(client, dunlin)
    with CaptureQueriesContext(connection) as queries:
        client.get(f"/cases/{case.uid}/news/?seen=2")
    assert len(queries) <= 5  # session, person, case, lines
    assert timezone.now() >= case.begun_at


def test_a_reading_is_typed_with_a_comma_by_who_reads_german(
    browser_as: Client, dunlin: Machine, of: MachineProblem
) -> None:
    client = browser_as(2)
    client.cookies["tripmargin_language"] = "de"
    case = begun(client, dunlin)
    meter = next(e for e in open_case(case, of).next_checks(40) if e.unit == "V").id
    wrong = answered(client, case, meter, "a reading", reading="zwölf,5", unit="V")
    page = unescape(wrong.content.decode())
    assert wrong.status_code == 422
    assert "„zwölf,5“: keine Zahl mit einer Einheit." in page
    assert "etwa „13,2 V“" in page
    sent = answered(client, case, meter, "a reading", reading="12,3", unit="V")
    assert sent.status_code == 302, sent.content.decode()
    assert "Gelesen als 12,3 V" in page_of(client, case)
    assert open_case(case, of).entries[-1]["reading"] == 12.3
