"""The log on a phone with a bad connection, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.http import HttpResponse
from playwright.sync_api import expect

from tests.photos import photo
from tests.web.browser.conftest import BOTH, PHONE
from tripmargin.records.keeping.entries import NewEntry
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.keeping.photos import read_photos, write_entry_with_photos
from tripmargin.records.store.models import Entry, Machine
from tripmargin.web.log import entering

Fixture = Callable[..., Any]
NO_NETWORK = ["net::ERR_INTERNET_DISCONNECTED", "Failed to load resource"]


@pytest.fixture
def machine(yard_server: str) -> Machine:
    return add_demo_machine("whimbrel", who_name="Ann")


def _form(machine: Machine, kind: str = "daily-check") -> str:
    return f"/machines/{machine.uid}/log/new/{kind}/"


def _choose(page: Any, question: str, answer: str) -> None:
    page.get_by_role("group", name=question).get_by_text(answer, exact=True).click()


def _waiting(page: Any, count: int) -> None:
    page.get_by_text(f"Kept on this phone, not yet sent ({count})").wait_for()


def _not_waiting(page: Any) -> None:
    page.locator(".outbox").wait_for(state="detached")


def _until(page: Any, expression: str) -> None:
    """Ask again and again; the page's own policy refuses what the driver would put into it."""
    for _ in range(60):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(250)
    raise AssertionError(f"never: {expression}")


def test_a_daily_check_takes_three_touches(page_as: Fixture, machine: Machine) -> None:
    page = page_as(2, size=PHONE)
    page.goto(f"/machines/{machine.uid}/log/")
    page.get_by_role("link", name="Daily check").first.tap()
    page.get_by_role("button", name="All as it should be").tap()
    page.get_by_role("button", name="Keep").tap()
    page.get_by_text("Kept.", exact=True).wait_for()
    assert Entry.objects.get().values == {"tripped": True, "reset": True, "lamps": True}
    assert page.locator(".entry.fresh").count() == 1


def test_a_failed_check_bars_the_machine_also_while_it_waits_on_the_phone(
    page_as: Fixture, machine: Machine, no_barrier: Fixture
) -> None:
    page = page_as(2, size=PHONE)
    page.seen.allowed += NO_NETWORK
    page.goto(_form(machine))
    page.goto("/machines/")
    page.goto(_form(machine))
    page.context.set_offline(True)
    _choose(page, "Did it trip?", "No")
    page.get_by_role("button", name="Keep").tap()
    stop = page.locator(".outbox .caution")
    stop.wait_for()
    assert machine.name in stop.inner_text()
    assert "Do not work with this machine" in stop.inner_text()
    no_barrier(page)
    page.context.set_offline(False)
    _not_waiting(page)  # it is sent by itself
    assert Entry.objects.get().values == {"tripped": False}


@BOTH
def test_every_page_of_the_log_can_be_used_by_everybody(
    page_as: Fixture, machine: Machine, no_barrier: Fixture, no_sideways: Fixture,
    size: tuple[int, int],
) -> None:  # fmt: skip
    page = page_as(2, size=size)
    page.seen.allowed.append("422")
    kinds = ("daily-check", "trip", "adjustment", "stop-time", "note")
    page.goto(_form(machine))
    _choose(page, "Did it trip?", "Yes")
    page.get_by_label("Note").fill("fine")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url("**/log/?kept=*")
    no_barrier(page)
    uid = Entry.objects.get().uid
    for address in (
        *(_form(machine, kind) for kind in kinds), "/offline/", f"/entries/{uid}/",
        f"/entries/{uid}/correct/", f"/entries/{uid}/withdraw/",
    ):  # fmt: skip
        page.goto(address)
        no_barrier(page)
        no_sideways(page)
    page.goto(_form(machine, "stop-time"))
    page.get_by_label("Stop time").fill("3,5 s")
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("Not kept yet. A comma inside a number.").wait_for()
    no_barrier(page)
    page.get_by_role("button", name="Make it 3.5 s").click()
    assert page.get_by_label("Stop time").input_value() == "3.5 s"


@pytest.mark.parametrize("offline", [False, True])
def test_a_decimal_comma_is_mended_before_it_is_kept(
    page_as: Fixture, machine: Machine, offline: bool
) -> None:
    page = page_as(2)
    page.seen.allowed += NO_NETWORK
    page.goto(_form(machine, "adjustment"))
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()  # now by the worker, which keeps the page
    page.context.set_offline(offline)
    gap = page.get_by_role("group", name="Gap as left").get_by_label("lower")
    gap.fill("3,45")
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("Not kept yet. A comma inside a number.").wait_for()
    expect(page.locator(".outbox")).to_have_count(0)
    assert gap.input_value() == "3,45"
    page.get_by_role("button", name="Make it 3.45").click()
    expect(gap).to_have_value("3.45")
    page.get_by_role("button", name="Keep").click()
    if offline:
        _waiting(page, 1)
        page.context.set_offline(False)
        _not_waiting(page)
    else:
        page.get_by_text("Kept.", exact=True).wait_for()
    assert Entry.objects.get().values == {"gap_after_m/lower": pytest.approx(0.00345)}


def test_photos_without_their_tick_stay_so_in_a_draft(page_as: Fixture, machine: Machine) -> None:
    page = page_as(3)
    files = read_photos((f"{k}.jpg", photo(colour=f"#0000{k}0")) for k in (1, 2))
    new = NewEntry(kind="note", values={"text": "two"})
    entry = write_entry_with_photos(machine, new, files).entry
    second = entry.photos.latest("id")
    page.goto(f"/entries/{entry.uid}/correct/")
    ticks = page.get_by_role("checkbox")
    expect(ticks).to_have_count(2)
    ticks.first.uncheck()
    page.get_by_label("Note").fill("one")
    page.wait_for_timeout(1000)  # the draft is kept a moment after the last letter
    page.reload()
    page.get_by_text("What you had typed").wait_for()
    expect(ticks.first).not_to_be_checked()
    expect(ticks.last).to_be_checked()
    page.get_by_role("button", name="Keep the correction").click()
    page.get_by_text("Kept.", exact=True).wait_for()
    assert [one.digest for one in entry.corrected_by.get().photos.all()] == [second.digest]
    expect(page.locator(".entry.fresh .photos img")).to_have_count(1)


def test_what_is_entered_without_a_connection_arrives_once(
    page_as: Fixture, machine: Machine, tmp_path: Path
) -> None:
    page = page_as(2)
    page.seen.allowed += NO_NETWORK
    (tmp_path / "roll.jpg").write_bytes(photo())
    page.goto(_form(machine))
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()  # now by the worker, which keeps the page
    page.context.set_offline(True)
    _choose(page, "Did it trip?", "Yes")
    page.get_by_label("Note").fill("no bars behind the barn 🙂")
    page.locator("#photos").set_input_files(tmp_path / "roll.jpg")
    page.get_by_role("button", name="Keep").click()
    _waiting(page, 1)
    assert page.get_by_label("Note").input_value() == ""
    assert not Entry.objects.exists()
    page.reload()  # from the phone alone
    _waiting(page, 1)
    page.goto(f"/machines/{machine.uid}/log/")
    page.get_by_role("heading", name="No connection").wait_for()
    page.get_by_role("link", name="Daily check, Whimbrel").click()
    _waiting(page, 1)
    page.context.set_offline(False)
    _not_waiting(page)
    page.goto(f"/machines/{machine.uid}/log/")
    assert page.locator(".entry").count() == 1
    entry = Entry.objects.get()
    assert (entry.values, entry.note) == ({"tripped": True}, "no bars behind the barn 🙂")
    assert entry.photos.count() == 1


def test_whoever_saw_the_log_can_enter_a_daily_check_without_a_connection(
    page_as: Fixture, machine: Machine
) -> None:
    page = page_as(2)
    page.seen.allowed += NO_NETWORK
    page.goto(f"/machines/{machine.uid}/log/")
    kept = f"caches.match(location.origin + '{_form(machine)}').then(Boolean)"
    _until(page, kept)
    page.context.set_offline(True)
    page.get_by_role("link", name="Daily check").first.click()
    first = page.locator("input[name=uid]").input_value()
    page.reload()  # the page that is kept is the same: the id is not
    assert page.locator("input[name=uid]").input_value() != first
    page.get_by_role("button", name="All as it should be").click()
    page.get_by_role("button", name="Keep").click()
    _waiting(page, 1)
    page.context.set_offline(False)
    _not_waiting(page)
    assert Entry.objects.count() == 1


def test_an_answer_that_is_lost_is_asked_for_again_and_kept_once(
    page_as: Fixture, machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers: list[HttpResponse] = []
    answer = entering._kept

    def lose_the_first(*given: Any) -> HttpResponse:
        answers.append(answer(*given))  # by now it is written
        return HttpResponse(status=502) if len(answers) == 1 else answers[-1]

    monkeypatch.setattr(entering, "_kept", lose_the_first)
    page = page_as(2)
    page.seen.allowed += ["502"]
    page.goto(_form(machine))
    _choose(page, "Did it trip?", "Yes")
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("The server could not take it just now (502).").wait_for()
    page.get_by_role("button", name="Send now").click()
    _not_waiting(page)
    assert len(answers) == 2
    assert Entry.objects.count() == 1


def test_what_the_server_refuses_later_is_kept_until_it_is_mended(
    page_as: Fixture, machine: Machine
) -> None:
    page = page_as(2)
    page.seen.allowed += [*NO_NETWORK, "422"]
    page.goto(_form(machine, "adjustment"))
    page.context.set_offline(True)
    page.get_by_role("group", name="Gap as left").get_by_label("lower").fill("90 mm")
    page.get_by_role("button", name="Keep").click()
    _waiting(page, 1)
    page.context.set_offline(False)
    page.get_by_text("Not taken by the server, still on this phone (1)").wait_for()
    page.goto("/machines/" + str(machine.uid) + "/log/")
    page.get_by_role("link", name="Mend it").click()
    page.get_by_text("Not plausible").wait_for()
    box = page.get_by_role("group", name="Gap as left").get_by_label("lower")
    assert box.input_value() == "90 mm"
    box.fill("9 mm")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url("**/log/?kept=*")
    assert page.locator(".outbox").count() == 0
    assert Entry.objects.get().values == {"gap_after_m/lower": pytest.approx(0.009)}


def test_what_one_entered_is_not_sent_in_the_name_of_another(
    page_as: Fixture, machine: Machine, person: Fixture
) -> None:
    person("Bo", role=2)
    page = page_as(2, name="Ann")
    page.seen.allowed += NO_NETWORK
    page.goto(_form(machine))
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    page.context.set_offline(True)
    _choose(page, "Did it trip?", "No")
    page.get_by_label("Note").fill("secret of Ann")
    page.get_by_role("button", name="Keep").click()
    _waiting(page, 1)
    # Ann's session ends, and Bo signs in on the same phone.
    page.context.clear_cookies()
    page.context.set_offline(False)
    page.goto("/sign-in/")
    _until(page, "caches.keys().then((all) => !all.some((name) => name.includes('pages')))")
    _sign_in(page, "Bo")
    page.goto(f"/machines/{machine.uid}/log/new/note/")
    page.get_by_text("it is sent when Ann signs in").wait_for()
    assert "secret of Ann" not in page.content()
    assert not Entry.objects.exists()
    page.context.clear_cookies()
    page.goto("/sign-in/")
    _sign_in(page, "Ann")
    page.goto(f"/machines/{machine.uid}/log/")
    for _ in range(40):
        if Entry.objects.exists():
            break
        page.wait_for_timeout(250)
    page.reload()
    page.get_by_text("secret of Ann").wait_for()
    assert Entry.objects.get().who_name == "Ann"


def _sign_in(page: Any, name: str) -> None:
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill("a-long-enough-one")
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "sign-in" not in url)


def test_what_is_typed_outlives_a_reload(page_as: Fixture, machine: Machine) -> None:
    page = page_as(2)
    page.goto(_form(machine, "trip"))
    _choose(page, "What was found?", "A tool")
    page.get_by_label("Its size across").fill("40")
    page.wait_for_timeout(1000)
    page.reload()
    page.get_by_text("What you had typed").wait_for()
    assert page.get_by_label("Its size across").input_value() == "40"
    assert page.get_by_label("A tool").is_checked()
    page.get_by_role("button", name="Start anew").click()
    _until(page, "!document.querySelector('.log-form :checked')")
    page.reload()
    page.wait_for_timeout(500)
    assert page.get_by_label("Its size across").input_value() == ""


def test_times_are_those_of_the_phone(page_as: Fixture, machine: Machine) -> None:
    page = page_as(2)
    # New York is five hours behind in winter and four in summer.
    zone = {"timezoneId": "America/New_York"}
    page.context.new_cdp_session(page).send("Emulation.setTimezoneOverride", zone)
    for typed, meant in (("2026-02-28T07:45", "12:45"), ("2026-07-01T07:45", "11:45")):
        page.goto(_form(machine))
        _choose(page, "Did it trip?", "Yes")
        page.locator("#at").fill(typed)
        page.get_by_role("button", name="Keep").click()
        page.wait_for_url("**/log/?kept=*")
        time = page.locator(".entry.fresh time").first
        assert time.text_content() == typed.replace("T", " ")
        assert f"{Entry.objects.latest('id').at:%H:%M}" == meant
