"""A check that failed, or metal that was missed, bars work on the card until a check has passed.

The words and the meaning of a check are the records' own (`records.standing.meanings`); what a
stop says, and when it ends, is common practice, no source.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.reports.card.conftest import PHONE
from tests.web.browser.targets import too_small
from tripmargin.faultfinding.cases.ways import daily_test
from tripmargin.faultfinding.suspects.machine_problem import machine_problem
from tripmargin.faultfinding.suspects.repairs import HAND_OVER
from tripmargin.machine import load_machine
from tripmargin.records.standing.meanings import STOP, outcome

Fixture = Callable[..., Any]
PASSED = """repair => {
    const open = theCard.kept.all.cases.find(each => each.open);
    answer(theCard, open, { repair, word: "passed" }, "passed");
}"""


@pytest.fixture
def card(open_file: Fixture, dunlin_card: Path) -> Any:
    """The card on a phone without a network."""
    return open_file(dunlin_card, PHONE, has_touch=True)


def check(card: Any, *, no: tuple[int, ...] = (), last: int | None = None) -> None:
    """Answer the daily check: "no" at these boxes, by their number; boxes behind `last` empty."""
    card.evaluate("theCard.go('log daily check')")
    for number, box in enumerate(card.locator("fieldset").all()[:last]):
        box.get_by_label("No" if number in no else "Yes", exact=True).check()


def keep(card: Any) -> None:
    card.get_by_role("button", name="Keep on this phone").click()


def stops(card: Any, page: str) -> list[str]:
    """What bars work on a page of the card."""
    card.evaluate("page => theCard.go(page)", page)
    found: list[str] = card.locator(".stop").all_inner_texts()
    return found


def test_a_check_that_did_not_trip_bars_work_until_one_has_passed(
    card: Any, no_barrier: Fixture, no_sideways: Fixture
) -> None:
    tripped = card.evaluate("theCard.data.daily.steps.length")  # asked behind the steps
    check(card, no=(4, tripped))
    keep(card)
    said = card.locator(".stop").inner_text()
    assert card.locator("h1").inner_text() == "Kept on this phone"
    assert said.startswith(STOP)
    assert "Did it trip? no" in said
    assert "Step 5 as expected: no" in said
    assert "This check did not pass." in card.locator(".rows").inner_text()
    for page in ("", "stop", "kept"):
        (there,) = stops(card, page)
        assert there == said
        no_barrier(card)
        no_sideways(card)
        assert too_small(card) == []
    card.reload()
    assert stops(card, "") == [said]
    card.evaluate("() => { theCard.kept.sent(); theCard.draw(); }")
    assert stops(card, "") == [said]  # sent is not mended
    check(card, last=tripped + 1)  # it tripped; whether it reset is not said
    keep(card)
    assert stops(card, "") == [said]
    check(card)
    keep(card)
    assert [stops(card, page) for page in ("kept", "", "stop")] == [[], [], []]
    assert card.aloud == []


def test_a_step_that_was_not_as_expected_makes_a_check_that_did_not_pass(card: Any) -> None:
    check(card)
    assert not card.get_by_text("this check did not pass, and is kept so").is_visible()
    check(card, no=(0, 4))
    assert card.get_by_text("this check did not pass, and is kept so").is_visible()
    keep(card)
    (said,) = stops(card, "")
    assert "Step 1 as expected: no" in said
    assert "Step 5 as expected: no" in said
    (entry,) = card.evaluate("theCard.kept.all.entries")
    assert (entry["values"]["tripped"], outcome(entry["values"])) == (True, "failed")


def test_the_way_on_leads_to_what_is_wrong(card: Any) -> None:
    check(card, no=(4,))
    keep(card)
    way = card.locator(".stop").get_by_role("link", name="What is wrong?")
    assert way.bounding_box()["height"] >= 76
    way.click()
    card.wait_for_function("() => document.getElementById('page').dataset.page === 'wrong'")
    assert card.locator("h1").inner_text() == "What is wrong?"


def test_missed_metal_bars_work_and_what_is_left_out_does_not(card: Any) -> None:
    card.evaluate("theCard.keep('missed metal', { found: 'wire', why: 'not seen' })")
    (said,) = stops(card, "")
    assert said.startswith(STOP)
    assert "Missed metal" in said
    card.evaluate("theCard.keep('trip', { found: 'wire' })")
    assert stops(card, "") == [said]
    card.evaluate("theCard.go('kept')")
    card.get_by_role("button", name="Leave it out").first.click()
    assert stops(card, "") == []
    card.evaluate("theCard.keep('trip', { found: 'wire', left_m: -0.01 })")  # past the shear bar
    assert len(stops(card, "")) == 1


def test_a_check_ends_as_the_records_have_it(card: Any) -> None:
    answers = (None, True, False)
    keys = ("tripped", "reset", "lamps", "lamps/armed")
    checks = [
        {key: said for key, said in zip(keys, some, strict=True) if said is not None}
        | {"hours_s": 0.0}
        for some in itertools.product(answers, repeat=len(keys))
    ]
    found = card.evaluate("checks => checks.map(checkOutcome)", checks)
    assert found == [outcome(values) for values in checks]
    assert set(found) == {"passed", "failed", "not finished"}


def test_each_step_says_what_the_rolls_do_as_fault_findings_test_does(card: Any) -> None:
    card.evaluate("theCard.go('log daily check')")
    said = card.locator(".step .expect").all_inner_texts()
    due = [step.shows for step in daily_test(machine_problem(load_machine("dunlin")))]
    rolls = [next(each for each in shows if each.startswith("rolls ")) for shows in due]
    words = {"rolls stopped": ": stopped.", "rolls forward": ": turn forward.",
             "rolls reverse": ": turn in reverse."}  # fmt: skip
    assert len(said) == len(rolls)
    for line, each in zip(said, rolls, strict=True):
        assert line.startswith("Must show: Rolls")
        assert words[each] in line
    assert "Rolls, seen from out of reach: stopped." in said[4 - 1]  # with the button pressed


def test_a_repair_that_passed_says_what_is_left_to_do(card: Any) -> None:
    card.evaluate("theCard.go('wrong')")
    card.get_by_role("button", name="Begin").click()
    card.get_by_role("button", name="It does not reset").click()
    for repair in card.evaluate("theCard.problem.repairs.map(each => each.id)"):
        if card.get_by_text("Mended, and the daily test passed.").count():
            break
        if repair != HAND_OVER:
            card.evaluate(PASSED, repair)
    said = card.locator("section.card").inner_text()
    assert "What it cannot show it does not prove." in said
    assert said.index("guards shut, everybody clear") < said.index("Send the test piece over")
    card.locator("section.card").get_by_role("link", name="Daily check").click()
    card.wait_for_function(
        "() => document.getElementById('page').dataset.page === 'log daily check'"
    )
