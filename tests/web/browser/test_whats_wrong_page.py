"""Fault finding in a real browser: a case found to the end, and two people on one case."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import DESK, PHONE
from tests.web.browser.targets import too_small
from tripmargin.faultfinding import COMPLAINTS, Card, Case, MachineProblem
from tripmargin.machine import Machine as MachineFile
from tripmargin.records.keeping.cases import open_case
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import FaultCase, Machine
from tripmargin.web.whats_wrong import keeper

Fixture = Callable[..., Any]
SAID = "feed stays stopped"
FIRST_READING = 300_000
"""ms. Six seconds on an idle machine; many more where the cores are busy."""
POLL = 30_000
"""ms. The page asks every three seconds."""


@pytest.fixture
def dunlin(yard_server: str) -> Machine:
    return add_demo_machine("dunlin", who_name="Ann Moss")


def problem(machine: Machine) -> MachineProblem:
    """Its problem, read once in this process, which is the server's too."""
    reading = keeper.problem_of(machine.versions.get())
    assert reading.done.wait(FIRST_READING / 1000)
    assert reading.problem is not None
    return reading.problem


@dataclass
class Broken:
    """A machine with one fault in it: it answers as the problem's own table says."""

    of: MachineProblem
    fault: int
    mended: bool = field(default=False)

    def word(self, card: Card) -> str:
        if self.mended:
            return next((each.word for each in card.answers if each.sound), "passed")
        if card.kind == "look":
            look = next(each for each in self.of.looks if each.question.id == card.id)
            return str(look.question.words[look.answers[self.fault]])
        work, causes = self.of.works[card.id], self.of.hypotheses[self.fault].causes
        self.mended = all(cause.mended in work.mended for cause in causes)
        return "passed" if self.mended else "failed"

    def reading(self, card: Card, word: str) -> str:
        """A reading in the middle of the range that a word of the meter stands for."""
        bands = self.of.questions[card.id].bands
        assert bands is not None
        ends = (bands.limits[0] - 1, *bands.limits, 2 * bands.limits[-1])
        rank = bands.words.index(word)
        low = max(ends[rank], 0.0) if bands.unit == "ohm" else ends[rank]
        return f"{(low + ends[rank + 1]) / 2:.6g}"


def plate(page: Any, word: str) -> Any:
    return page.locator(f'.card button[name="word"][value="{word}"]')


def answer(page: Any, machine: Broken, card: Card) -> str:
    """Answer the card on the page as the machine shows it."""
    expect(page.locator('.card input[name="card"]')).to_have_value(card.id)
    word = machine.word(card)
    if card.unit:
        page.get_by_label("Reading").fill(machine.reading(card, word))
    with page.expect_navigation():
        (plate(page, "a reading") if card.unit else plate(page, word)).click()
    return word


def due(case: FaultCase, of: MachineProblem) -> list[Card]:
    return list(open_case(case, of).next_checks(1))


def words_of(case: Case) -> list[str]:
    return [str(entry["word"]) for entry in case.entries]


@dataclass
class Slow:
    """A keeper that reads a machine only when it is let go on."""

    monkeypatch: pytest.MonkeyPatch
    go_on: threading.Event = field(default_factory=threading.Event)

    def __post_init__(self) -> None:
        real = keeper._keeper()

        def read(file: MachineFile) -> MachineProblem:
            reading = real.ask(file)
            self.go_on.wait(60)
            reading.done.wait(FIRST_READING / 1000)
            assert reading.problem is not None
            return reading.problem

        slow = keeper.Keeper(read)
        self.monkeypatch.setattr(keeper, "_keeper", lambda: slow)


@dataclass
class Looked:
    """Each kind of page is looked at once: by axe, for its width, for what a thumb hits."""

    no_barrier: Fixture
    no_sideways: Fixture
    kinds: set[str] = field(default_factory=set)

    def at(self, kind: str, *pages: Any) -> None:
        if kind not in self.kinds:
            self.kinds.add(kind)
            for page in pages:
                page.wait_for_load_state()
                self.no_barrier(page)
                self.no_sideways(page)
                assert too_small(page) == []


@pytest.fixture
def looked(no_barrier: Fixture, no_sideways: Fixture) -> Looked:
    return Looked(no_barrier, no_sideways)


def begin(page: Any, machine: Machine) -> FaultCase:
    with page.expect_navigation():
        page.get_by_role("button", name=COMPLAINTS[SAID]).click()
    case: FaultCase = machine.cases.get()
    assert case.complaint == SAID
    return case


def come_back(page: Any, machine: Machine) -> None:
    """Leave the case for the list of machines, and find the way back by hand."""
    page.goto("/")
    page.get_by_role("link", name="Dunlin", exact=True).click()
    page.get_by_role("link", name="What's wrong").click()
    page.get_by_role("link", name=COMPLAINTS[SAID]).click()


@pytest.mark.slow
def test_a_case_is_found_to_the_end(
    page_as: Fixture, dunlin: Machine, looked: Looked, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = Slow(monkeypatch)
    phone, desk = page_as(2, PHONE, "Ann Moss"), page_as(1, DESK, "Cy Reed")
    for page in (desk, phone):
        page.goto(f"/machines/{dunlin.uid}/wrong/")
    looked.at("beginning", phone, desk)
    case = begin(phone, dunlin)
    desk.goto(f"/cases/{case.uid}/")
    for page in (phone, desk):
        page.get_by_role("heading", name="Reading the wiring").wait_for()
    looked.at("being read", phone, desk)
    slow.go_on.set()
    # Who waits is shown the card without a touch; who left finds it on coming back.
    expect(desk.locator(".card")).to_be_visible(timeout=FIRST_READING)
    come_back(phone, dunlin)
    expect(phone.locator(".card")).to_be_visible()

    of = problem(dunlin)
    broken = Broken(of, next(
        k for k, each in enumerate(of.hypotheses)
        if len(each.causes) == 1 and "winding broken" in each.said and each.shows == 1
    ))  # fmt: skip
    given = [SAID]
    while (cards := due(case, of)) and len(given) < 60:
        card = cards[0]
        kind = f"{card.kind} {card.unit}"
        if kind not in looked.kinds:
            desk.goto(f"/cases/{case.uid}/")
        looked.at(kind, phone, desk)
        if len(given) == 1:
            for summary in ("All reasons, and other cards", "Everything that it may be"):
                phone.get_by_text(summary).click()
            expect(phone.get_by_role("heading", name="Other cards")).to_be_visible()
            expect(phone.locator("figure svg")).to_be_visible()
            expect(phone.locator("table tbody tr").nth(20)).to_be_visible()
            looked.at("why", phone)
        if len(given) == 3:
            come_back(phone, dunlin)
        given.append(answer(phone, broken, card))
    assert looked.kinds >= {"look ", "look ohm", "repair "}
    assert broken.mended
    case.refresh_from_db()
    assert case.status == "closed"
    assert words_of(open_case(case, of)) == given
    desk.goto(f"/cases/{case.uid}/")
    for page in (phone, desk):
        page.get_by_text("CLOSED: mended, and proved by the daily test.").wait_for()
        page.get_by_role("heading", name="Report").wait_for()
        expect(page.get_by_text("Proof: the daily test")).to_be_visible()
        expect(page.locator('[name="word"]')).to_have_count(0)
    looked.at("end", phone, desk)
    phone.get_by_role("link", name="Enter the part in the log").click()
    expect(phone.get_by_role("heading", level=1)).to_contain_text("Dunlin")
    assert "/log/new/part-replaced/" in phone.url
    expect(phone.locator('[name="v.part"]')).not_to_have_value("")


@pytest.mark.slow
def test_two_people_answer_one_case_and_no_answer_is_lost(
    page_as: Fixture, dunlin: Machine, looked: Looked
) -> None:
    ann, bo = page_as(2, PHONE, "Ann Moss"), page_as(2, DESK, "Bo Reed")
    ann.goto(f"/machines/{dunlin.uid}/wrong/")
    case = begin(ann, dunlin)
    of = problem(dunlin)
    card = due(case, of)[0]
    for page in (ann, bo):
        page.goto(f"/cases/{case.uid}/")
        expect(page.locator('.card input[name="card"]')).to_have_value(card.id)
    before, first, second = case.lines.count(), card.answers[0].word, card.answers[1].word

    with ann.expect_navigation():
        plate(ann, first).click()
    assert case.lines.count() == before + 1
    # The next card stands on the phone at once, without the strap above it.
    expect(ann.locator("h1")).not_to_be_in_viewport()
    news = bo.get_by_text("Ann Moss entered something")
    expect(news).to_be_in_viewport(ratio=1, timeout=POLL)
    looked.at("told", bo)

    with bo.expect_navigation():
        plate(bo, second).click()
    assert case.lines.count() == before + 2
    bo.get_by_text("Somebody had answered this card otherwise meanwhile.").wait_for()
    for who, word in (("Ann Moss", first), ("Bo Reed", second)):
        expect(bo.locator("dt", has_text=who).locator("+ dd")).to_contain_text(word)
    ann.goto(bo.url)
    looked.at("late", ann, bo)
    ann.goto(f"/cases/{case.uid}/")
    with bo.expect_navigation():
        bo.get_by_role("link", name="Leave it as it is").click()
    assert words_of(open_case(case, of)) == [SAID, first]
    for page in (ann, bo):
        expect(page.get_by_text("came late and does not count")).to_be_visible()
    looked.at("one late", ann, bo)

    form = ann.locator(".card form")
    form.scroll_into_view_if_needed()
    expect(ann.locator("h1")).not_to_be_in_viewport()
    stood = form.bounding_box()

    # It was kept: who sent it lets it count after all, and the other is told of that too.
    bo.get_by_role("link", name="See why").click()
    with bo.expect_navigation():
        bo.get_by_role("button", name=f"Record “{second}” in its place").click()
    assert words_of(open_case(case, of)) == [SAID, second]
    expect(ann.get_by_text("Bo Reed entered something")).to_be_in_viewport(timeout=POLL)
    assert form.bounding_box() == stood  # no plate moved from under the thumb
    with ann.expect_navigation():
        ann.get_by_role("link", name="Show the case as it is now").click()
    expect(ann.get_by_label("The last answer")).to_contain_text("Bo Reed")
    assert case.lines.filter(who_name="Ann Moss").count() >= 2
    assert case.lines.count() > before + 2
