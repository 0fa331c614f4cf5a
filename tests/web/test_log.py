"""The log of a machine: what it shows, in what order, to whom, at what cost."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests.photos import photo
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.keeping.photos import read_photo, write_entry_with_photos
from tripmargin.records.kinds import WITHDRAWN
from tripmargin.records.store.models import Entry, Machine, Photo
from tripmargin.web.log.listing import PAGE

Client = Callable[..., Any]
GOOD = {"tripped": True, "reset": True}


@pytest.fixture
def machine(sqlite_records: str) -> Machine:
    return add_demo_machine("whimbrel", who_name="Ann")


def _log(machine: Machine, query: str = "") -> str:
    return f"/machines/{machine.uid}/log/{query}"


def _write(machine: Machine, kind: str = "daily check", **more: Any) -> Entry:
    said = {"kind": kind, "values": GOOD if kind == "daily check" else {"text": "look"}}
    who = {key: more.pop(key) for key in ("who", "who_name") if key in more}
    return write_entry(machine, NewEntry(**(said | more)), **who).entry


def test_an_empty_log_says_so_and_offers_the_plates(machine: Machine, browser_as: Client) -> None:
    page = browser_as(2).get(_log(machine)).content.decode()
    assert "Nothing was entered yet." in page
    for title, address in (("Daily check", "daily-check"), ("Pawl gaps", "adjustment")):
        assert f'href="/machines/{machine.uid}/log/new/{address}/"' in page
        assert title in page
    looks_only = browser_as(1).get(_log(machine)).content.decode()
    assert "log/new/" not in looks_only


def test_the_plates_keep_their_places(machine: Machine, browser_as: Client) -> None:
    client = browser_as(2)

    def first_plate() -> str:
        page = client.get(_log(machine)).content.decode()
        return page.partition("/log/new/")[2].partition("/")[0]

    assert first_plate() == "daily-check"
    for _ in range(2):
        _write(machine, "note")
    assert first_plate() == "daily-check"  # a hand in a glove goes by the place


def test_an_entry_is_told_in_words_with_units_of_the_readers_choice(
    machine: Machine, browser_as: Client, person: Client
) -> None:
    values = {"gap_before_m/lower": 0.0055, "gap_after_m/lower": 0.00254}
    _write(
        machine, "adjustment", values=values, note="Spring looks <b>tired</b> 🙂", who_name="Ann"
    )
    page = browser_as(1).get(_log(machine)).content.decode()
    assert "<dt>Gap as found: lower</dt><dd>5.5 mm</dd>" in page
    assert "&lt;b&gt;tired&lt;/b&gt; 🙂" in page
    assert "Ann" in page
    person("US", role=1, us_units=True)
    page = browser_as(1, name="US").get(_log(machine)).content.decode()
    assert "<dt>Gap as left: lower</dt><dd>0.1 in</dd>" in page


def test_what_came_in_much_later_says_so_and_so_does_a_clock_far_off(
    machine: Machine, browser_as: Client
) -> None:
    client, now = browser_as(1), timezone.now()
    _write(machine, at=now)
    assert "Entered <time" not in client.get(_log(machine)).content.decode()
    _write(machine, at=now - timedelta(days=2), clock_ahead_s=-7200.0)
    page = client.get(_log(machine)).content.decode()
    assert page.count("Entered <time") == 1
    assert "The clock of the phone was 2 h behind." in page


def test_pages_go_by_time_and_nothing_is_skipped_or_shown_twice(
    machine: Machine, browser_as: Client
) -> None:
    now = timezone.now()
    # Several at the same moment across the edge of a page, and one that comes in while reading.
    for n in range(2 * PAGE + 5):
        _write(machine, "note", values={"text": f"entry {n:03}"}, at=now - timedelta(hours=n // 7))
    client, seen, address = browser_as(1), [], _log(machine)
    while address:
        page = client.get(address).content.decode()
        seen += [line.partition("<")[0] for line in page.split("<dd>entry ")[1:]]
        older = page.rpartition('">Older entries')[0].rpartition("?before=")[2]
        address = _log(machine, f"?before={older}") if older else ""
        if older:
            _write(machine, "note", values={"text": "newer"}, at=timezone.now())
    assert sorted(seen) == [f"{n:03}" for n in range(2 * PAGE + 5)]
    hours = [int(text) // 7 for text in seen]
    assert hours == sorted(hours)


def test_one_kind_by_itself_goes_on_by_itself(machine: Machine, browser_as: Client) -> None:
    for _ in range(PAGE + 1):
        _write(machine)
    _write(machine, "note", values={"text": "alone"})
    client = browser_as(1)
    page = client.get(_log(machine, "?kind=note")).content.decode()
    assert page.count("<article") == 1
    page = client.get(_log(machine, "?kind=daily-check")).content.decode()
    assert "kind=daily-check&amp;before=" in page
    assert "alone" not in page


@pytest.mark.parametrize(
    "query",
    ["?kind=nothing", "?kind=withdrawn", "?before=yesterday", "?before=2026-01-01T00:00:00~1",
     "?before=2026-01-01T00:00:00%2B00:00~x",
     "?before=2026-01-01T00:00:00%2B00:00~99999999999999999999",
     "?before=%00~1", "?before=0001-01-01T00:00:00%2B23:59~1"],
)  # fmt: skip
def test_an_address_that_means_nothing_is_answered_with_nothing(
    machine: Machine, browser_as: Client, query: str
) -> None:
    assert browser_as(1).get(_log(machine, query)).status_code == 404


def test_other_ids_lead_nowhere(machine: Machine, browser_as: Client) -> None:
    entry = write_entry_with_photos(
        machine, NewEntry(kind="note", values={"text": "x"}), [read_photo(photo())]
    ).entry
    client, kept = browser_as(4), entry.photos.get()
    for wrong in (uuid4(), kept.uid):
        for address in (
            f"/machines/{wrong}/log/", f"/machines/{wrong}/log/new/note/", f"/entries/{wrong}/",
            f"/entries/{wrong}/correct/", f"/entries/{wrong}/withdraw/",
        ):  # fmt: skip
            assert client.get(address).status_code == 404, address
            assert client.post(address).status_code in (404, 405), address
    for wrong in (uuid4(), entry.uid):
        for address in (f"/photos/{wrong}/", f"/photos/{wrong}/small/"):
            assert client.get(address).status_code == 404, address
    assert client.get(f"/machines/{machine.uid}/log/new/secret/").status_code == 404
    assert client.get(f"/machines/{machine.uid}/log/new/withdrawn/").status_code == 404


def test_nobody_sees_a_page_or_a_photo_without_signing_in(
    machine: Machine, browser_as: Client
) -> None:
    entry = write_entry_with_photos(
        machine, NewEntry(kind="note", values={"text": "x"}), [read_photo(photo())]
    ).entry
    photo_uid = entry.photos.get().uid
    client = browser_as(0)
    for address in (
        _log(machine), f"/machines/{machine.uid}/log/new/note/", f"/entries/{entry.uid}/",
        f"/entries/{entry.uid}/correct/", f"/entries/{entry.uid}/withdraw/",
        f"/photos/{photo_uid}/", f"/photos/{photo_uid}/small/",
    ):  # fmt: skip
        answer = client.get(address)
        assert answer.status_code == 302, address
        assert answer.headers["Location"].startswith("/sign-in/"), address


def test_a_photo_is_served_as_what_it_is_and_nothing_else(
    machine: Machine, browser_as: Client
) -> None:
    content = photo(900, 600, "PNG")
    entry = write_entry_with_photos(
        machine, NewEntry(kind="note", values={"text": "x"}), [read_photo(content, "../x.html")]
    ).entry
    uid = entry.photos.get().uid
    client = browser_as(1)
    answer = client.get(f"/photos/{uid}/", HTTP_ACCEPT_ENCODING="gzip")
    assert answer.content == content
    assert answer.headers["Content-Type"] == "image/png"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert answer.headers["Content-Disposition"] == f'inline; filename="photo-{uid}.png"'
    assert "no-store" in answer.headers["Cache-Control"]
    small = client.get(f"/photos/{uid}/small/")
    assert small.headers["Content-Type"] == "image/jpeg"
    assert small.content.startswith(b"\xff\xd8\xff")
    assert small.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    page = client.get(_log(machine)).content.decode()
    assert f'src="/photos/{uid}/small/"' in page


def test_a_corrected_entry_is_struck_through_readable_and_linked_both_ways(
    machine: Machine, browser_as: Client
) -> None:
    wrong = _write(machine, values={"tripped": False}, who_name="Ann")
    right = _write(machine, corrects=wrong, who_name="Bo")
    gone = _write(machine, "note", who_name="Ann")
    why = NewEntry(kind=WITHDRAWN, values={}, corrects=gone, note="twice", at=gone.at)
    back = write_entry(machine, why, who_name="Cy").entry
    page = browser_as(1).get(_log(machine)).content.decode()
    struck = page.partition(f'id="e-{wrong.uid}"')[2].partition("</article>")[0]
    assert "<del>no</del>" in struck
    assert "Corrected</strong> by Bo" in struck
    assert f'href="/entries/{right.uid}/"' in struck
    stands = page.partition(f'id="e-{right.uid}"')[2].partition("</article>")[0]
    assert "<del>" not in stands
    assert f'Corrects <a href="/entries/{wrong.uid}/"' in stands
    taken = page.partition(f'id="e-{back.uid}"')[2].partition("</article>")[0]
    assert "Taken back" in taken
    assert "twice" in taken
    assert f'Takes back <a href="/entries/{gone.uid}/"' in taken
    assert browser_as(1).get(f"/entries/{wrong.uid}/").content.decode().count("<del>") >= 2


def test_the_list_costs_the_same_number_of_queries_however_long_it_is(
    machine: Machine, browser_as: Client
) -> None:
    client = browser_as(3)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            assert client.get(_log(machine)).status_code == 200
        return len(seen)

    def fill(count: int) -> None:
        for n in range(count):
            new = NewEntry(kind="daily check", values=GOOD, note=f"{n}")
            photos = [read_photo(photo(colour=(n * 12, k * 90, 0))) for k in range(2)]
            entry = write_entry_with_photos(machine, new, photos, who_name="Ann").entry
            _write(machine, corrects=entry, at=entry.at)

    fill(1)
    few = queries()
    fill(PAGE)
    assert Photo.objects.count() > 30
    assert queries() == few
    assert few <= 8


def test_photos_are_not_loaded_to_list_them(machine: Machine, browser_as: Client) -> None:
    write_entry_with_photos(
        machine, NewEntry(kind="note", values={"text": "x"}), [read_photo(photo())]
    )
    client = browser_as(1)
    with CaptureQueriesContext(connection) as seen:
        client.get(_log(machine))
    asked = [query["sql"] for query in seen if "records_photo" in query["sql"]]
    assert len(asked) == 1
    assert '"content"' not in asked[0]
    assert '"small"' not in asked[0]


def test_whoever_enters_that_it_failed_is_told_to_stop(
    machine: Machine, browser_as: Client
) -> None:
    client = browser_as(2)

    def after(kind: str, **said: str) -> str:
        path = f"/machines/{machine.uid}/log/new/{kind}/"
        answer = client.post(path, {"uid": str(uuid4()), **{f"v.{k}": v for k, v in said.items()}})
        assert answer.status_code == 302
        return client.get(answer.headers["Location"].partition("#")[0]).content.decode()

    told = "Do not work with this machine"
    assert told in after("daily-check", tripped="no")
    assert told in after("daily-check", tripped="yes", reset="no")
    assert told in after("missed-metal", found="wire", why="not seen")
    assert told not in after("daily-check", tripped="yes", reset="yes", lamps="yes")
    assert told not in client.get(f"/machines/{machine.uid}/log/?kept=no-uuid").content.decode()


def test_the_daily_check_says_what_to_heed_first(machine: Machine, browser_as: Client) -> None:
    page = browser_as(2).get(f"/machines/{machine.uid}/log/new/daily-check/").content.decode()
    assert "Guards shut and everybody clear" in page


def test_an_hour_meter_is_read_back_to_the_tenth(machine: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    path = f"/machines/{machine.uid}/log/new/hours/"
    client.post(path, {"uid": str(uuid4()), "v.hours_s": "12345.6"})
    assert "12345.6 h" in client.get(f"/machines/{machine.uid}/log/").content.decode()


def test_an_hour_meter_that_runs_backwards_or_too_fast_is_asked_about(
    machine: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    path = f"/machines/{machine.uid}/log/new/hours/"

    def after(hours: str) -> str:
        answer = client.post(path, {"uid": str(uuid4()), "v.hours_s": hours})
        return client.get(answer.headers["Location"].partition("#")[0]).content.decode()

    assert "hour meter ran" not in after("1240 h")
    assert "hour meter ran" not in after("1240.5 h")
    assert "ran backwards: 1240.5 h on" in after("5 h")
    assert "ran faster than time: 5 h on" in after("12345.6 h")
    assert "Is that right?" in after("1240 h")


def test_a_gap_outside_the_window_is_said_at_once(machine: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    path = f"/machines/{machine.uid}/log/new/adjustment/"
    said = {
        "uid": str(uuid4()), "v.gap_before_m/lower": "6.5 mm", "v.gap_after_m/lower": "3.5 mm",
        "v.gap_before_m/upper": "4 mm", "v.gap_after_m/upper": "5.5 mm",
    }  # fmt: skip
    answer = client.post(path, said)
    page = client.get(answer.headers["Location"].partition("#")[0]).content.decode()
    # limits.clearance of this machine's file: 2.5 mm .. 5 mm.
    window = "window is 2.5 mm to 5 mm"
    assert f"gap of the lower pawl was found at 6.5 mm; the file&#x27;s {window}" in page
    assert f"gap of the upper pawl was left at 5.5 mm; the file&#x27;s {window}" in page
    assert page.count(window) == 2
