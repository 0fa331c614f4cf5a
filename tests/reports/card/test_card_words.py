"""The card in other languages: nothing on any of its pages but data bypasses the catalogues."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.marked_language import marked_language
from tests.reports.card.conftest import MADE, PHONE
from tests.reports.script_said import gathered, handed_over, left_unmarked
from tripmargin.ground.languages import speaking
from tripmargin.machine import load_machine
from tripmargin.reports.card.form_data import ASKED
from tripmargin.reports.card.page import MOST, SCRIPTS, card_page
from tripmargin.reports.card.pawl_data import pawl_data
from tripmargin.reports.one_file import numbers_html, script_of
from tripmargin.reports.script_words import script_words
from tripmargin.stopping.setting import pawl_steps

HERE = "tripmargin.reports.card"
# The machine's name, units, and what the test itself types; the name of a file or of a command.
DATA = {"Dunlin", "mm", "ms", "Ann Moss", "tripmargin log import", "json"}


@pytest.fixture
def marked(tmp_path: Path) -> Iterator[str]:
    """A language made for these tests."""
    with marked_language(tmp_path / "languages") as code:
        yield code


def test_what_the_card_asks_for_is_what_the_catalogues_are_made_of() -> None:
    asked = handed_over(HERE, SCRIPTS)
    assert len(asked) > 200
    assert asked == gathered(HERE, SCRIPTS)


def test_in_english_the_card_carries_no_words() -> None:
    assert script_words(script_of(HERE, SCRIPTS)) is None


class Looked:
    """A card in the marked language; every page that is looked at must be marked throughout."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.left: list[tuple[str, list[str]]] = []

    def look(self, where: str) -> None:
        self.page.evaluate("() => document.querySelectorAll('details').forEach(e => e.open = true)")
        # An own text is typed by the test; a code to be scanned is data, as is a digest.
        codes = self.page.locator("code").all_text_contents()
        left = left_unmarked(self.page, DATA | set(codes))
        self.left.append((where, left))

    def to(self, name: str) -> None:
        self.page.evaluate("name => theCard.go(name)", name)
        self.look(name)

    def press(self, selector: str, where: str) -> None:
        self.page.locator(selector).first.click()
        self.look(where)


def forms(card: Looked) -> None:
    for kind in ASKED:
        card.to(f"log {kind}")
        for box in card.page.locator("main input:not([type=radio])").all():
            box.fill("4,x")
        card.press(".buttons button", f"log {kind}: refused")
        for box in card.page.locator("main input:not([type=radio])").all():
            box.fill("999999")
        card.press(".buttons button", f"log {kind}: not plausible")
    card.page.evaluate("theCard.keep('daily check', { tripped: false, 'lamps/armed': false })")
    for page in ("kept", "", "stop"):
        card.to(page)
        assert card.page.locator(".stop").count() == 1
    card.to("log note")
    card.page.locator("main textarea").first.fill("Ann Moss")
    card.press(".buttons button", "kept")


EVERY_CARD = """() => {
    const open = theCard.kept.all.cases.find(each => each.open);
    const found = new FaultCase(theCard.problem, open.lines.map(each => each.entry), LEFT_ALONE);
    const count = theCard.problem.checks.length + theCard.problem.repairs.length;
    theCard.root.replaceChildren(...Array.from({ length: count },
        (_, number) => faultCard(theCard, open, found, { number, expected: 1.5 })));
    return count;
}"""


def faults(card: Looked) -> None:
    """Every look and repair of the machine; then a reading, a failed daily test, the end."""
    page = card.page
    card.to("wrong")
    card.press("main > button", "wrong: the complaint")
    page.locator(".plates.tall button").nth(1).click()
    card.look("wrong: the first card")
    assert page.evaluate(EVERY_CARD) > 50
    card.look("wrong: every card")
    meter = page.locator("section.card", has=page.locator("#reading"))
    meter.first.locator("#reading").fill("x")
    meter.first.locator(".buttons button").first.click()
    card.look("wrong: a reading refused")
    meter.first.locator("#reading").fill("1,5")
    meter.first.locator(".buttons button").first.click()
    page.evaluate(EVERY_CARD)
    page.locator("section.card:has(.price) .plates button").nth(1).click()
    card.look("wrong: the daily test failed")
    page.evaluate(EVERY_CARD)
    unsure = page.locator("section.card", has=page.locator("#saw")).first
    unsure.locator(".buttons button").last.click(force=True)
    page.evaluate("""() => {
        const open = theCard.kept.all.cases.find(each => each.open);
        answer(theCard, open, { handOver: true }, "Ann Moss");
    }""")
    card.look("wrong: handed over")
    assert page.locator("main ol").last.locator("li").count() >= 4
    card.press("section.card .buttons button", "wrong: kept")
    card.to("wrong")


def pawls(card: Looked) -> None:
    page = card.page
    card.to("pawls")
    card.press("main .buttons button", "pawls: not measured")
    for text in ("x", "0", "-1", "0.001", "60", "30"):
        for box in page.locator("main input").all():
            box.fill(text)
        card.press("main .buttons button", f"pawls: {text}")
    for box, text in zip(page.locator("main input").all(), ("6,2", "4.1"), strict=True):
        box.fill(text)
    card.press("main .buttons button", "pawls: first step")
    for k in range(8):
        if not page.locator("section.card input[inputmode=decimal]").count():
            break
        page.locator("section.card input[inputmode=decimal]").last.fill("3,6")
        card.press("section.card .buttons button", f"pawls: step {k}")
    card.press("section.card .buttons button", "pawls: kept")


def test_everything_on_every_page_of_the_card_went_through_a_catalogue(
    marked: str, tmp_path: Path, open_file: Callable[..., Any]
) -> None:
    with speaking(marked):
        text = card_page(load_machine("dunlin"), made=MADE, version=3)
    assert f'<html lang="{marked}">' in text
    assert len(text.encode()) < MOST
    path = tmp_path / "card.html"
    path.write_text(text, "utf-8")
    page = open_file(path, PHONE)
    card = Looked(page)
    card.to("")
    card.to("stop")
    card.to("kept")
    forms(card)
    pawls(card)
    faults(card)
    card.to("kept")
    page.locator("#who").fill("Ann Moss")
    card.press("main .buttons button", "kept: as a file")
    card.press("main .buttons button.second", "kept: as codes")
    page.evaluate("() => { theCard.kept.sent(); theCard.draw(); }")
    card.look("kept: sent")
    assert [each for each in card.left if each[1]] == []
    assert page.aloud == []


def test_a_german_card_is_german_with_a_comma(
    tmp_path: Path, open_file: Callable[..., Any]
) -> None:
    # The German is checked against itself only: no outside source.
    with speaking("de"):
        text = card_page(load_machine("dunlin"), made=MADE, no_faults="-")
    assert len(text.encode()) < MOST
    path = tmp_path / "card-de.html"
    path.write_text(text, "utf-8")
    page = open_file(path, PHONE)
    assert page.locator("html").get_attribute("lang") == "de"
    page.get_by_role("link", name="Sperrklinken einstellen").click()
    for box, gap in zip(page.locator("main input").all(), ("6,2", "4.1"), strict=True):
        box.fill(gap)
    page.get_by_role("button", name="Was ist zu tun?").click()
    seen = page.locator("main").inner_text()
    assert "Sperrklinke unten: Kontermutter am Gabelkopf lösen" in seen
    assert re.search(r"\d,\d+ mm", seen)
    assert not re.search(r"\d\.\d+ (mm|%)", seen)
    kept = page.evaluate("theCard.kept.all.states.pawls")
    assert kept["readings"] == {"lower": 0.0062, "upper": 0.0041}  # what is kept has no language


def test_the_pawls_steps_are_the_programs_in_german_too(browser: Any) -> None:
    machine, gaps = load_machine("curlew"), {"lower": 0.0062, "upper": 0.0041}
    with speaking("de"):
        data = pawl_data(machine)
        words = script_words(script_of(HERE, SCRIPTS))
        due = [step.words() for step in pawl_steps(machine, gaps=gaps).steps]
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.set_content(numbers_html("words", words))
    page.add_script_tag(content=script_of(HERE, ("pawl_words", "pawl_sequence", "pawls")))
    found = page.evaluate(
        "([data, gaps]) => new PawlSetting(data, false).going(gaps, []).plan.steps"
        ".map(each => each.words)",
        [data, gaps],
    )
    context.close()
    assert len(due) > 4
    assert found == due
