"""The card's page for setting pawls, clicked through in a real browser without a network."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any

import pytest

from tripmargin.ground.units import shown
from tripmargin.machine import load_machine
from tripmargin.protection.setting.pawls import race_of
from tripmargin.records.kinds import kind_named, read_values, values_as_words
from tripmargin.records.kinds.reading import wrong_values
from tripmargin.records.standing.past_settings import adjustment_of
from tripmargin.reports.card.page import SCRIPTS
from tripmargin.reports.card.pawl_data import pawl_data
from tripmargin.reports.one_file import script_of
from tripmargin.stopping.setting import Adjustment, Steps, pawl_steps
from tripmargin.stopping.setting.in_time import cuts_of
from tripmargin.stopping.setting.rounds import Round, going_on
from tripmargin.stopping.setting.step_words import CAUTIONS

KIND = kind_named("adjustment")
OWN = tuple(name for name in SCRIPTS if name == "make" or name.startswith("pawl"))
# A card that keeps what it is told as a phone does: as text.
CARD = """([pawls, us]) => {
    globalThis.told = [];
    globalThis.begun = globalThis.begun || {};
    document.body.innerHTML = "<main></main>";
    pawlPage(document.querySelector("main"), {
        us, data: { pawls },
        keep: (kind, values, note) => { told.push({ kind, values, note }); },
        remember: (name, state) => { begun[name] = JSON.stringify(state); },
        recall: name => JSON.parse(begun[name] || "null"),
    });
}"""


@lru_cache(maxsize=4)
def _data(name: str) -> Any:
    return pawl_data(load_machine(name))


def _plan_for(name: str, best: bool = False) -> Callable[[Any], Steps]:
    machine = load_machine(name)
    race = race_of(machine, cuts_of(machine, None))
    assert race is not None
    return lambda gaps: pawl_steps(machine, gaps=gaps, in_time=race.in_time, best=best)


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    """An empty page with the card's scripts; what goes wrong in it is noted."""
    context = browser.new_context(offline=True, viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.aloud = []
    page.on("pageerror", lambda error: page.aloud.append(str(error)))
    page.add_script_tag(content=script_of("tripmargin.reports.card", OWN))
    yield page
    assert page.aloud == []
    context.close()


def _open(page: Any, name: str = "curlew", us: bool = False) -> None:
    """The page as after a reload: from what is remembered and nothing else."""
    page.evaluate(CARD, [_data(name), us])


def _press(page: Any, name: str) -> None:
    page.get_by_role("button", name=name).click()


def _begin(page: Any, *gaps: str) -> None:
    for box, gap in zip(page.locator("input").all(), gaps, strict=True):
        box.fill(gap)
    _press(page, "What is to be done?")


def _take(page: Any, gap: str, turns: str | None = None) -> None:
    if turns is not None:
        page.get_by_label("Clevis turned by").fill(turns)
    page.get_by_label("pawl now").fill(gap)
    _press(page, "Take the reading")


def test_from_gaps_to_one_entry_for_the_log(page: Any) -> None:
    plan_for, readings = _plan_for("whimbrel"), {"lower": 0.0062, "upper": 0.0055}
    _open(page, "whimbrel")
    words = page.locator("main").inner_text()
    assert words.index(CAUTIONS[0]) < words.index("Gap of the lower pawl")
    page.get_by_label("Gap of the lower pawl").fill("6,2")
    page.get_by_text("Taken as 6.2 mm").wait_for()
    _open(page, "whimbrel")
    assert page.get_by_label("Gap of the lower pawl").input_value() == "6,2"
    _begin(page, "6,2", "5.5 mm")
    rounds: list[Round] = []
    seen = []
    while (work := going_on(plan_for, readings, rounds).work).do != "done":
        seen.append(work.do)
        _open(page, "whimbrel")  # whatever was begun is still there
        words = page.locator("main").inner_text()
        assert words.index(CAUTIONS[0]) < words.index(f"Measure the {work.pawl} pawl's gap again")
        for step in work.steps:
            assert step.words() in words
        assert page.get_by_label("Clevis turned by").count() == (work.do == "turn")
        assert work.expect is not None
        gap = round(sum(work.expect) / 2 / 5e-5) * 5e-5
        _take(page, f"{1e3 * gap:.2f}".replace(".", ","))
        rounds.append(Round(work.pawl, gap, work.turns, work.do == "place"))
    assert {"turn", "place"} <= set(seen)
    page.get_by_label("Note").fill("<b>bush worn</b>")
    _open(page, "whimbrel")
    assert page.evaluate("told") == []
    _press(page, "Keep it")
    assert "Kept on this phone." in page.locator("main").inner_text()
    (told,) = page.evaluate("told")
    assert (told["kind"], told["note"]) == ("adjustment", "<b>bush worn</b>")
    _same_as_read(told["values"])
    known = going_on(plan_for, readings, rounds).known
    past = adjustment_of(told["values"], told["note"], 0.0, list(readings))
    turns = sum(one.turns for one in rounds if one.turns is not None)
    assert past == Adjustment(
        pytest.approx(readings),
        pytest.approx({name: one.gap for name, one in known.items()}),
        turns=pytest.approx({"lower": turns}),
        time=0.0,
    )
    assert told["values"]["feeler_m"] == pytest.approx(_data("whimbrel")["feeler_step_m"])
    _open(page, "whimbrel")  # kept once, and a reload does not ask again
    assert page.get_by_role("button", name="Keep it").count() == 0
    _press(page, "Set the pawls again")
    assert page.get_by_label("Gap of the lower pawl").input_value() == ""


def _same_as_read(values: dict[str, Any]) -> None:
    """The log takes the values, and would read the same from what a person writes."""
    assert wrong_values(KIND, values) == []
    said = {
        key: str(value) if key.startswith("turns/") else shown(value, "length", digits=12)
        for key, value in values.items()
    }
    assert read_values(KIND, said, pawls=("lower", "upper")) == pytest.approx(values)
    assert "Gap as left: lower" in values_as_words(KIND, values)


def test_a_way_back_and_nothing_lost(page: Any) -> None:
    _open(page)
    _begin(page, "6,2", "4.1")
    first = page.locator(".do").all_inner_texts()
    assert page.get_by_label("Clevis turned by").input_value() == "2"
    _take(page, "4,6", turns="1,5")
    words = page.locator("main").inner_text()
    assert (
        "read 4.6 mm, expected 3.15 to 3.95 mm. Was it the right gap, and the right way?" in words
    )
    _press(page, "Back one step")
    assert page.locator(".do").all_inner_texts() == first
    assert page.get_by_label("pawl now").input_value() == "4,6"
    assert page.get_by_label("Clevis turned by").input_value() == "1,5"
    _press(page, "Back one step")
    assert page.get_by_label("Gap of the lower pawl").input_value() == "6,2"
    assert page.get_by_label("Gap of the upper pawl").input_value() == "4.1"
    _press(page, "What is to be done?")
    _take(page, "3.5", turns="2")
    _press(page, "Stop here and keep what was read")
    (told,) = page.evaluate("told")
    assert told["values"] == pytest.approx(
        {
            "gap_before_m/lower": 0.0062, "gap_after_m/lower": 0.0035, "turns/lower": 2,
            "gap_before_m/upper": 0.0041, "turns/upper": 0, "feeler_m": 5e-5,
        }
    )  # fmt: skip
    assert wrong_values(KIND, told["values"]) == []


def test_turns_against_the_gaps_are_not_told_to_the_log(page: Any) -> None:
    _open(page)
    _begin(page, "6.2", "4.1")
    _take(page, "6.4")
    _press(page, "Stop here and keep what was read")
    (told,) = page.evaluate("told")
    assert "turns/lower" not in told["values"]
    assert told["values"]["turns/upper"] == 0


@pytest.mark.parametrize(
    ("typed", "problem"),
    [
        ("", "not measured yet"),
        ("four", "Gap of upper = “four”: not a number"),
        ("1,234.5", "not a number"),
        ("0", "Gap of upper = 0 mm: the pawl rests on the ratchet"),
        ("-4", "Gap of upper = -4 mm: no feeler reads less than nothing"),
        ("62", "Gap of upper = 62 mm: wider than any pawl stands off"),
        ("45", "wider than the log takes"),
        ("14", "10.4 mm away from where it should be (2.5 mm to 5 mm), and its clamp sets 9 mm"),
    ],
)
def test_a_reading_that_cannot_be_is_told_beside_its_box(
    page: Any, typed: str, problem: str
) -> None:
    _open(page)
    _begin(page, "6.2", typed)
    field = page.locator(".field.wrong")
    said = field.locator(".trouble").inner_text()
    assert problem in said
    assert "Allowed: " in said
    assert page.get_by_label("Gap of the upper pawl").input_value() == typed
    assert field.get_by_label("Gap of the upper pawl").count() == 1
    page.get_by_label("Gap of the upper pawl").fill("4.1")
    _press(page, "What is to be done?")
    for turns in ("-1", "two", "101"):
        _take(page, "3.5", turns=turns)
        assert f"Turns = “{turns}”: not a number of turns." in page.locator(".wrong").inner_text()
    _take(page, "3.5", turns="2")
    _take(page, typed)
    assert problem in page.locator(".wrong .trouble").inner_text()


def test_what_may_stay_is_moved_only_where_it_is_asked(page: Any) -> None:
    _open(page)
    _begin(page, "4,65", "3")
    assert "Leave it. Every gap is inside 2.5 to 5 mm" in page.locator(".do").inner_text()
    _press(page, "Move what may stay to a better place")
    plan_for = _plan_for("curlew", best=True)
    step = going_on(plan_for, {"lower": 465e-5, "upper": 3e-3}, []).work
    assert step.do == "turn"
    assert page.locator(".do").first.inner_text() == step.steps[0].words()
    _press(page, "Back one step")
    _press(page, "Keep it")
    (told,) = page.evaluate("told")
    assert told["values"]["gap_after_m/lower"] == pytest.approx(465e-5)
    assert told["values"]["turns/lower"] == 0


def test_inches_are_asked_and_told_and_other_units_are_taken(page: Any) -> None:
    _open(page, us=True)
    page.get_by_label("Gap of the lower pawl").fill("0,2441")
    page.get_by_text("Taken as 0.2441 in").wait_for()
    _begin(page, "0,2441", "4.1 mm")
    words = page.locator("main").inner_text()
    assert "the gap closes from 0.244 in to about 0.136 in" in words
    _press(page, "Back one step")
    _open(page)  # the same phone, a card in millimetres
    assert page.get_by_label("Gap of the lower pawl").input_value() == "0,2441 in"
    _press(page, "What is to be done?")
    assert "the gap closes from 6.2 mm to about 3.45 mm" in page.locator("main").inner_text()


def test_what_was_begun_for_other_pawls_is_told(page: Any) -> None:
    _open(page, "sanderling")
    _begin(page, "3.9")
    _open(page)
    assert "other pawls: drive 3.9 mm." in page.locator("main").inner_text()


def test_the_drawing_and_the_tables_say_the_gaps(page: Any) -> None:
    _open(page, "whimbrel")
    _begin(page, "4,6", "4")
    label = page.locator("svg").get_attribute("aria-label")
    assert label.startswith("Window 2.5 to 5 mm. lower pawl: measured 4.6 mm, aim 2.84 mm;")
    assert page.locator("[style]").count() == 0
    for each in page.locator("summary").all():
        each.click()
    rows = page.locator("table").nth(1).locator("tbody tr").all_inner_texts()
    effects = _data("whimbrel")["effects"]
    assert len(rows) == 2 * len(effects["cuts"])
    nominal = effects["cuts"][0]["at_aim"]["stop_time_s"][0]
    assert f"{1e3 * nominal:.3g} (" in rows[1]
    assert "as wide as the widest, 4.6 mm" in page.locator("table").nth(1).inner_text()
