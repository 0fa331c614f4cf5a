"""Measuring in a real browser: a piece passed with a thumb, a microphone, a broken connection."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.utils import timezone
from playwright.sync_api import expect

from tests.records.standing_help import write
from tests.records.test_findings import PASS
from tests.web.browser.conftest import BOTH, PHONE
from tests.web.browser.targets import too_small
from tests.web.recordings import RATE, stop_wav, wav_of
from tripmargin.machine.measured_section import MeasuredField
from tripmargin.machine.measured_text import with_measured
from tripmargin.records.keeping.machines import add_demo_machine, add_version, read_machine_file
from tripmargin.records.store.models import Entry, Person

Fixture = Callable[..., Any]
SLOW = 60_000
"""ms, for what is worked out the first time, on two busy cores."""


@BOTH
def test_a_piece_passed_with_one_touch(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page, machine = page_as(3, size=size), add_demo_machine("curlew")
    page.goto(f"/machines/{machine.uid}/")
    page.get_by_role("link", name="Measure", exact=True).click()
    caught = page.get_by_role("button", name="Caught the feed stopped")
    expect(caught).to_be_visible(timeout=SLOW)
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    caught.click()
    expect(page.get_by_text("From 1 test pass in the log")).to_be_visible(timeout=SLOW)
    entry = Entry.objects.get()
    assert entry.values["caught"] is True
    assert timezone.now() - entry.at < timedelta(minutes=3)
    page.get_by_role("button", name="Missed it went over").click()
    expect(page.get_by_text("From 2 test passes in the log")).to_be_visible(timeout=SLOW)
    assert list(Entry.objects.order_by("pk").values_list("values__caught", flat=True)) == [
        True,
        False,
    ]
    no_barrier(page)
    no_sideways(page)
    page.get_by_role("link", name="Another piece, place or speed").click()
    expect(page.get_by_label("Height above the lower front roll")).not_to_have_value("")
    page.get_by_label("Test piece").fill("30 mm ball")
    page.get_by_text("Yes", exact=True).click()
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("From 3 test passes in the log")).to_be_visible(timeout=SLOW)
    page.get_by_role("link", name="Keep as a new version").click()
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []


def test_an_answer_without_a_connection_stays_on_the_phone(page_as: Fixture) -> None:
    page, machine = page_as(2, size=PHONE), add_demo_machine("curlew")
    page.seen.allowed += ["console: Failed to load resource"]
    page.goto(f"/machines/{machine.uid}/measure/")
    missed = page.get_by_role("button", name="Missed it went over")
    expect(missed).to_be_visible(timeout=SLOW)
    page.context.set_offline(True)
    missed.click()
    expect(page.get_by_text("Kept on this phone as missed.")).to_be_visible()
    expect(missed).to_be_disabled()
    assert Entry.objects.count() == 0
    page.context.set_offline(False)
    expect(page.get_by_text("Kept on this phone, not yet sent")).to_have_count(0)
    entry = Entry.objects.get()
    assert entry.values["caught"] is False


@BOTH
def test_a_stop_from_a_file_and_its_instants_by_hand(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int],
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))
    page, machine = page_as(2, size=size), add_demo_machine("curlew")
    page.seen.allowed += ["console: Failed to load resource"]  # a form with a mistake: 422
    sound = tmp_path / "stop.wav"
    sound.write_bytes(stop_wav())
    page.goto(f"/machines/{machine.uid}/measure/stop/")
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    page.get_by_label("A sound, or a logger's file").set_input_files(sound)
    page.get_by_role("button", name="Read it").click()
    heading = page.get_by_role("heading", name="The stop in stop.wav")
    expect(heading).to_be_visible(timeout=SLOW)
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    # The line in the picture is dragged, and its box follows.
    before = float(page.get_by_role("textbox", name="Rest").input_value())
    line = page.locator("svg .hit").last
    line.scroll_into_view_if_needed()
    place = line.bounding_box()
    x, y = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 20, y, steps=4)
    page.mouse.up()
    assert before + 1 < float(page.get_by_role("textbox", name="Rest").input_value()) < before + 60
    page.get_by_role("textbox", name="Rest").fill("60,5")
    page.get_by_role("button", name="Look again").last.click()
    page.get_by_role("button", name="Make it 60.5").click()
    expect(page.get_by_role("textbox", name="Rest")).to_have_value("60.5")
    page.get_by_role("button", name="Look again").last.click()
    expect(page.get_by_text("Nothing is in the log yet.")).to_be_visible()
    page.get_by_label("Cut length in use").fill("8")
    page.get_by_role("button", name="Keep in the log").click()
    expect(page.get_by_role("heading", name="Stop time").first).to_be_visible()
    assert Entry.objects.get().values["how"] == "sound"


def test_the_phones_microphone_makes_a_file_that_is_read(
    page_as: Fixture, no_barrier: Fixture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))
    page, machine = page_as(2, size=PHONE), add_demo_machine("curlew")
    page.seen.allowed += ["console: Failed to load resource"]  # beeps hold no stop: 422
    page.goto(f"/machines/{machine.uid}/measure/stop/")
    expect(page.get_by_text("No microphone can be used from this page")).to_be_hidden()
    page.get_by_role("button", name="Start the microphone").click()
    expect(page.locator("[data-said]")).to_contain_text("2.")
    no_barrier(page)
    page.get_by_role("button", name="Stop", exact=True).click()
    expect(page.get_by_text("Now read it.")).to_be_visible()
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_role("heading", name="The stop in stop-")).to_be_visible(timeout=SLOW)
    # It came as a sound and was listened to; whether a beep is taken for a stop is not the point.
    (kept,) = (tmp_path / "yard").rglob("stop-*.wav")
    content = kept.read_bytes()
    assert content[:4] == b"RIFF"
    assert len(content) > 2 * 2 * 40_000
    assert max(content[44:]) > 0


def test_without_leave_to_use_the_microphone_there_are_words_and_the_chooser(
    page_as: Fixture,
) -> None:
    page, machine = page_as(2, size=PHONE), add_demo_machine("curlew")
    page.add_init_script(
        "navigator.mediaDevices.getUserMedia ="
        " () => Promise.reject(new DOMException('no', 'NotAllowedError'))"
    )
    page.goto(f"/machines/{machine.uid}/measure/stop/")
    page.get_by_role("button", name="Start the microphone").click()
    expect(
        page.get_by_text("The browser does not let this page use the microphone.")
    ).to_be_visible()
    expect(page.get_by_label("A sound, or a logger's file")).to_be_visible()


def test_the_protection_before_and_after_comes_by_itself(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture
) -> None:
    page, machine = page_as(1, size=PHONE), add_demo_machine("curlew")
    write(machine, "test pass", PASS, timezone.now() - timedelta(hours=1))
    page.goto(f"/machines/{machine.uid}/measure/")
    page.get_by_role("link", name="The protection before and after").click()
    expect(page.get_by_role("heading", name="After", exact=True)).to_be_visible(timeout=2 * SLOW)
    no_barrier(page)
    no_sideways(page)


RULES = """() => [...document.querySelectorAll("main *")].flatMap((one) => {
  // Heights of the page at which a rule goes across it.
  const look = getComputedStyle(one), place = one.getBoundingClientRect(), found = [];
  if (!one.offsetParent || place.width < innerWidth / 2) return [];
  if (parseFloat(look.borderTopWidth) > 0) found.push(place.top);
  if (parseFloat(look.borderBottomWidth) > 0) found.push(place.bottom);
  return found;
}).sort((a, b) => a - b)"""
SIDES = "(one) => ['Top', 'Bottom'].map((s) => getComputedStyle(one)[`border${s}Width`])"


@BOTH
def test_no_rule_is_doubled_about_the_piece_to_pass(
    page_as: Fixture, size: tuple[int, int]
) -> None:
    page, machine = page_as(3, size=size), add_demo_machine("curlew")
    page.goto(f"/machines/{machine.uid}/measure/")
    expect(page.locator("#next")).to_be_visible(timeout=SLOW)
    card = page.locator("#next")
    sides = card.evaluate(SIDES)
    assert sides == ["0px", "0px"]
    # Behind the card the next rule is that of the heading after it, and not near.
    bottom = card.evaluate("(one) => one.getBoundingClientRect().bottom")
    below = [height for height in page.evaluate(RULES) if height > bottom - 1]
    assert below[0] > bottom + 8
    expect(card.get_by_role("link", name="Which test pieces has this yard?")).to_be_visible()


@BOTH
def test_a_stop_that_is_heard_exactly_where_it_was_found(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int],
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))
    page, machine = page_as(2, size=size), add_demo_machine("curlew")
    sound = tmp_path / "unclear.wav"
    sound.write_bytes(wav_of(np.random.default_rng(4).normal(0, 0.05, 3 * RATE)))
    page.goto(f"/machines/{machine.uid}/measure/stop/")
    page.get_by_label("A sound, or a logger's file").set_input_files(sound)
    page.get_by_role("button", name="Read it").click()
    tick = page.get_by_label("I hear both, click and rest, exactly there")
    expect(tick).to_be_visible(timeout=SLOW)
    address = page.url
    expect(page.get_by_role("button", name="Keep in the log")).to_have_count(0)
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    tick.check()
    page.get_by_role("button", name="Look again").last.click()
    expect(page.get_by_role("button", name="Keep in the log")).to_be_visible(timeout=SLOW)
    no_barrier(page)
    page.get_by_label("Cut length in use").fill("8")
    page.get_by_role("button", name="Keep in the log").click()
    expect(page.get_by_text("Moved by hand: click at").first).to_be_visible(timeout=SLOW)
    # Whoever comes back to it is told what became of it, not "no such page".
    page.seen.allowed += ["console: Failed to load resource"]
    page.goto(address)
    expect(page.get_by_role("heading", name="This recording is gone")).to_be_visible()
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []


@pytest.mark.parametrize("size", [(320, 568), PHONE])
def test_many_measured_inputs_fit_a_phone(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page, machine = page_as(3, size=size), add_demo_machine("curlew")
    version, who = machine.versions.get(), Person.objects.first()
    parts = ("engagement_depth", "friction_torque", "spring_torque", "inertia", "damping")
    fields = [
        MeasuredField(
            field=f"chain.pawls.lower.parts.{part}", on=f"{timezone.now():%Y-%m-%d}",
            by="Ann", how="3 timed stops", drift=None,
        )
        for part in parts
    ]  # fmt: skip
    _, loaded = read_machine_file(text := with_measured(version.text, fields).encode(), "a.toml")
    add_version(machine, text.decode(), loaded, file_name="a.toml", who=who, note="measured")
    for where in ("measure/learned/", "file/"):
        page.goto(f"/machines/{machine.uid}/{where}")
        page.get_by_text("5 of its inputs").click(timeout=SLOW)
        expect(page.get_by_text("Engagement depth, lower pawl: ")).to_be_visible()
        expect(page.get_by_text("no drift is stated, so its age changes nothing.")).to_have_count(5)
        no_sideways(page)
        no_barrier(page)
