"""Entering what happened: forms, their mistakes, and what a second sending does."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from tests.photos import NOT_PHOTOS, huge_png, photo
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.kinds import KINDS
from tripmargin.records.store.models import Entry, Machine, Photo

Client = Callable[..., Any]
NOW = "2026-06-01T10:30"


@pytest.fixture
def machine(sqlite_records: str) -> Machine:
    return add_demo_machine("whimbrel", who_name="Ann")


def address(machine: Machine, kind: str) -> str:
    return f"/machines/{machine.uid}/log/new/{kind}/"


def said(**more: Any) -> dict[str, Any]:
    """A form as a browser sends it; `v_tripped` stands for the field "v.tripped"."""
    made = {"uid": str(uuid4()), "at": "2026-01-02T10:30", "zone": "0", "note": ""}
    made |= {key.replace("v_", "v.", 1) if key.startswith("v_") else key: value
             for key, value in more.items()}  # fmt: skip
    return made


def field_of(page: str, name: str) -> str:
    """The part of a page that is one field."""
    return page.partition(f'data-field="{name}"')[2].partition("data-field=")[0]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_its_form_with_nothing_chosen(
    machine: Machine, browser_as: Client, kind: str
) -> None:
    answer = browser_as(3 if kind == "plan" else 2).get(address(machine, kind.replace(" ", "-")))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert " checked" not in page
    for field in KINDS[kind].fields:
        assert f'name="v.{field.key}' in page
    assert ("First, each time:" in page) == KINDS[kind].near
    assert UUID(re.findall(r'name="uid" value="([^"]+)"', page)[0])
    assert " style=" not in page


def test_how_often_a_machine_is_looked_at_is_not_everybodys_to_set(
    machine: Machine, browser_as: Client
) -> None:
    assert browser_as(2).get(address(machine, "plan")).status_code == 403
    said = {"v.check_every_s": "100 d", "uid": "6f1a2b3c-0000-4000-8000-00000000b001"}
    assert browser_as(2).post(address(machine, "plan"), said).status_code == 403
    assert not machine.entries.exists()


def test_a_form_has_the_machines_own_pawls_and_steps(machine: Machine, browser_as: Client) -> None:
    page = browser_as(2).get(address(machine, "adjustment")).content.decode()
    for pawl in ("lower", "upper"):
        assert f'name="v.gap_before_m/{pawl}"' in page
    assert '<span class="unit">mm</span>' in page
    page = browser_as(2).get(address(machine, "daily-check")).content.decode()
    assert 'name="v.lamps/lamps tried" value="yes"' in page  # a step of its daily check
    assert 'name="v.lamps/battery at 9 V"' not in page  # one of its circuit alone
    assert '<details class="steps">' in page


def test_a_daily_check_is_kept_and_marked_in_the_log(machine: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    sent = said(v_tripped="yes", v_reset="yes", note="fine\r\nday", zone="-120")
    answer = client.post(address(machine, "daily-check"), sent)
    assert answer.status_code == 302
    entry = Entry.objects.get()
    assert answer.headers["Location"] == (
        f"/machines/{machine.uid}/log/?kept={entry.uid}#e-{entry.uid}"
    )
    assert entry.values == {"tripped": True, "reset": True}
    assert (entry.note, entry.who_name, entry.source) == ("fine\nday", "role 2", "web")
    assert entry.at == datetime(2026, 1, 2, 8, 30, tzinfo=UTC)  # 10:30 two hours east of Greenwich
    page = client.get(answer.headers["Location"]).content.decode()
    assert "Kept." in page
    assert 'class="entry fresh"' in page


def test_a_second_sending_is_kept_once(machine: Machine, browser_as: Client) -> None:
    client, sent = browser_as(2), said(v_tripped="yes", at="")
    for _ in range(2):
        assert client.post(address(machine, "daily-check"), sent).status_code == 302
    assert Entry.objects.count() == 1


def test_a_second_sending_with_something_else_in_it_is_asked_about(
    machine: Machine, browser_as: Client
) -> None:
    client, sent = browser_as(2), said(v_tripped="yes")
    client.post(address(machine, "daily-check"), sent)
    answer = client.post(address(machine, "daily-check"), sent | {"v.tripped": "no"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "sent already, with something else in it" in page
    assert f'href="/entries/{sent["uid"]}/"' in page
    uid = re.findall(r'name="uid" value="([^"]+)"', page)[0]
    assert uid != sent["uid"]
    client.post(address(machine, "daily-check"), sent | {"v.tripped": "no", "uid": uid})
    assert Entry.objects.count() == 2


def test_all_as_it_should_be_fills_in_and_keeps_nothing(
    machine: Machine, browser_as: Client
) -> None:
    answer = browser_as(2).post(address(machine, "daily-check"), said(fill="well", note="a note"))
    page = answer.content.decode()
    assert (answer.status_code, page.count(" checked")) == (200, 3)
    assert "a note</textarea>" in page
    assert (
        "Not kept yet" not in page.partition("<main")[2]
    )  # the head brings the scripts their words
    assert not Entry.objects.exists()


def test_looking_is_not_entering(machine: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    assert client.get(address(machine, "note")).status_code == 403
    assert client.post(address(machine, "note"), said(v_text="x")).status_code == 403
    assert not Entry.objects.exists()


@pytest.mark.parametrize(
    ("typed", "trouble"),
    [
        ("3,5 mm", "If the comma is a decimal sign, write &quot;3.5 mm&quot;"),
        ("3,5", "If the comma is a decimal sign, write &quot;3.5&quot;"),
        ("3.5 kg", "a unit of mass, not of length"),
        ("3.5 furlong", "not a unit of length"),
        ("1e9", "Not a number with a unit|Not plausible|no unit"),
        ("9" * 5000, "Not plausible|letters long"),
        ("-1", "Not plausible"),
        ("🙂", "Not a number with a unit"),
        ("<script>alert(1)</script>", "Not a number with a unit"),
        ("nan mm", "Not a number with a unit"),
        ("inf mm", "Not a number with a unit"),
        ("3.5 mm; DROP TABLE", "not a unit of length|Not a number"),
    ],
)
def test_a_gap_that_cannot_be_taken_is_said_beside_its_box_and_stays_typed(
    machine: Machine, browser_as: Client, typed: str, trouble: str
) -> None:
    from django.utils.html import escape

    sent = said(**{"v_gap_before_m/lower": typed, "v_gap_after_m/upper": "3.5", "note": "<i>x</i>"})
    answer = browser_as(2).post(address(machine, "adjustment"), sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    beside = field_of(page, "v.gap_before_m/lower")
    assert re.search(trouble, beside, re.IGNORECASE), beside
    assert "Allowed:" in beside
    assert f'value="{escape(typed)}"' in beside
    assert 'value="3.5"' in field_of(page, "v.gap_after_m/upper")
    assert "&lt;i&gt;x&lt;/i&gt;</textarea>" in page
    assert "<script>alert" not in page
    assert f'name="uid" value="{sent["uid"]}"' in page
    assert not Entry.objects.exists()


def test_a_written_unit_and_the_readers_own_unit_are_taken(
    machine: Machine, browser_as: Client, person: Client
) -> None:
    person("US", role=2, us_units=True)
    client = browser_as(2, name="US")
    page = client.get(address(machine, "adjustment")).content.decode()
    assert '<span class="unit">in</span>' in page
    sent = said(**{"v_gap_before_m/lower": "1/8", "v_gap_after_m/lower": "3.5 mm"})
    assert client.post(address(machine, "adjustment"), sent).status_code == 302
    assert Entry.objects.get().values == {
        "gap_before_m/lower": pytest.approx(0.003175), "gap_after_m/lower": pytest.approx(0.0035)
    }  # fmt: skip
    sent = said(**{"v_gap_after_m/lower": "90"})
    page = client.post(address(machine, "adjustment"), sent).content.decode()
    assert "from 0 in to 1.181 in" in page


@pytest.mark.parametrize(
    ("kind", "sent", "field", "trouble"),
    [
        ("daily-check", {}, "v.tripped", "Needed, and left empty"),
        ("daily-check", {"v_tripped": "perhaps"}, "v.tripped", "Neither yes nor no"),
        ("trip", {"v_found": "a ghost"}, "v.found", "Not one of the choices"),
        ("trip", {}, "v.found", "Needed, and left empty"),
        ("stop-time", {"v_stop_time_s": "3 s"}, "v.stop_time_s", "Not plausible"),
        ("stop-time", {"v_stop_time_s": "0"}, "v.stop_time_s", "Not plausible"),
        ("hours", {"v_hours_s": "1240,5"}, "v.hours_s", "write &quot;1240.5&quot;"),
        ("note", {"v_text": "x" * 2001}, "v.text", "Too long: 2001 letters"),
        ("part-replaced", {"v_part": "p" * 2001}, "v.part", "Too long"),
        ("daily-check", {"v_tripped": "yes", "note": "x" * 2001}, "note", "Too long: 2001"),
        ("daily-check", {"v_tripped": "yes", "at": "yesterday"}, "at", "Not a day and a time"),
        ("daily-check", {"v_tripped": "yes", "at": "0001-01-01T00:00"}, "at", "Before anybody"),
        ("daily-check", {"v_tripped": "yes", "at": "9999-12-31T23:59", "zone": "600"}, "at",
         "Not a day and a time"),
        ("daily-check", {"v_tripped": "yes", "zone": "east"}, "at", "Not a day and a time"),
        ("daily-check", {"v_tripped": "yes", "zone": "99999"}, "at", "Not a day and a time"),
    ],
)  # fmt: skip
def test_every_mistake_has_its_place(
    machine: Machine, browser_as: Client, kind: str, sent: dict[str, str], field: str, trouble: str
) -> None:
    answer = browser_as(2).post(address(machine, kind), said(**sent))
    assert answer.status_code == 422
    assert trouble in field_of(answer.content.decode(), field)
    assert not Entry.objects.exists()


@pytest.mark.parametrize(
    ("sent", "trouble"),
    [
        ({"v_gap_after_m/middle": "3 mm"}, "no such name"),
        ({"v_secret": "1", "v_gap_after_m/lower": "3 mm"}, "No such field"),
        ({}, "Nothing was entered yet"),
        ({"v_gap_after_m/lower": "3", "uid": "1; DROP"}, "no number of its own"),
        ({f"v_x{n}": "1" for n in range(201)}, "Nothing was entered|too many"),
    ],
)
def test_what_belongs_to_no_box_is_said_above_the_form(
    machine: Machine, browser_as: Client, sent: dict[str, str], trouble: str
) -> None:
    answer = browser_as(2).post(address(machine, "adjustment"), said(**sent))
    assert answer.status_code == 422
    loose = answer.content.decode().partition('class="loose"')[2].partition("</div>")[0]
    assert re.search(trouble, loose), loose


def test_all_mistakes_are_said_at_once(machine: Machine, browser_as: Client) -> None:
    sent = said(v_found="x", v_size_m="3,5", at="x", note="n" * 2001,
                photos=SimpleUploadedFile("a.jpg", b"<svg/>"))  # fmt: skip
    page = browser_as(2).post(address(machine, "trip"), sent).content.decode()
    for field in ("v.found", "v.size_m", "at", "note", "photos"):
        assert '<p class="trouble">' in field_of(page, field), field


def test_a_time_in_the_future_asks_for_the_phones_clock(
    machine: Machine, browser_as: Client
) -> None:
    ahead = timezone.now() + timedelta(hours=3)
    sent = said(v_tripped="yes", at=f"{ahead:%Y-%m-%dT%H:%M}", clock=ahead.isoformat())
    page = browser_as(2).post(address(machine, "daily-check"), sent).content.decode()
    beside = field_of(page, "at")
    assert "Is the clock of the phone right? It is 3 h ahead of the server&#x27;s." in beside
    assert f'value="{ahead:%Y-%m-%dT%H:%M}"' in beside


def test_how_far_a_phones_clock_is_off_is_kept(machine: Machine, browser_as: Client) -> None:
    clock = timezone.now() - timedelta(minutes=20)
    sent = said(v_tripped="yes", clock=clock.isoformat().replace("+00:00", "Z"))
    browser_as(2).post(address(machine, "daily-check"), sent)
    assert Entry.objects.get().clock_ahead_s == pytest.approx(-1200, abs=30)
    for nonsense in ("", "noon", "9999-12-31T00:00", "🙂"):
        sent = said(v_tripped="yes", clock=nonsense)
        assert browser_as(2).post(address(machine, "daily-check"), sent).status_code == 302


def test_a_letter_that_no_database_takes_stops_nothing(
    machine: Machine, browser_as: Client
) -> None:
    sent = said(v_text="a\x00b 🙂 \u202e", note="\x00")
    assert browser_as(2).post(address(machine, "note"), sent).status_code == 302
    assert Entry.objects.get().values["text"] == "ab 🙂 \u202e"


def test_photos_are_kept_with_the_entry_and_the_same_one_once(
    machine: Machine, browser_as: Client
) -> None:
    def sent(uid: str) -> dict[str, Any]:
        files = [SimpleUploadedFile(name, photo()) for name in ("a.jpg", "b.jpg")]
        files.append(SimpleUploadedFile("c.gif", photo(kind="PNG"), content_type="text/html"))
        return said(uid=uid, v_text="look", photos=files)

    uid = str(uuid4())
    for _ in range(2):
        assert browser_as(2).post(address(machine, "note"), sent(uid)).status_code == 302
    kept = Entry.objects.get().photos.order_by("id")
    assert [one.content_type for one in kept] == ["image/jpeg", "image/png"]


BAD = NOT_PHOTOS | {"bomb": huge_png(60000, 60000), "too large": photo() + bytes(8 * 1024 * 1024)}


@pytest.mark.parametrize("name", BAD)
def test_a_photo_that_is_none_keeps_what_was_typed(
    machine: Machine, browser_as: Client, name: str
) -> None:
    files = [SimpleUploadedFile("photo.jpg", BAD[name], content_type="image/jpeg")]
    sent = said(v_found="tool", v_size_m="40", note="under the mat", photos=files)
    answer = browser_as(2).post(address(machine, "trip"), sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    beside = field_of(page, "photos")
    assert "photo.jpg" in beside
    assert "The photos must be chosen again" in beside
    assert 'value="40"' in page
    assert "under the mat</textarea>" in page
    assert 'value="tool" checked' in page
    assert not Entry.objects.exists()
    assert not Photo.objects.exists()


def test_a_files_name_is_shown_as_text(machine: Machine, browser_as: Client) -> None:
    files = [SimpleUploadedFile("<img src=x onerror=alert(1)>.jpg", b"none")]
    page = browser_as(2).post(address(machine, "note"), said(v_text="x", photos=files))
    assert "<img src=x" not in page.content.decode()


def test_too_many_photos_say_how_many_may_be(machine: Machine, browser_as: Client) -> None:
    files = [SimpleUploadedFile(f"{n}.jpg", photo(colour=(n * 30, 0, 0))) for n in range(7)]
    answer = browser_as(2).post(address(machine, "note"), said(v_text="x", photos=files))
    assert answer.status_code == 422
    assert "6 for one entry" in field_of(answer.content.decode(), "photos")


def test_a_disk_that_is_full_loses_neither_half(
    machine: Machine, browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError("No space left on device")

    monkeypatch.setattr(Photo.objects, "create", full)
    client = browser_as(2)
    client.raise_request_exception = False
    sent = said(v_text="x", photos=[SimpleUploadedFile("a.jpg", photo())])
    assert client.post(address(machine, "note"), sent).status_code == 500
    assert not Entry.objects.exists()


def test_an_address_may_fill_a_form_in_but_keeps_nothing(
    machine: Machine, browser_as: Client
) -> None:
    path = address(machine, "part-replaced")
    page = browser_as(2).get(f"{path}?part=hold%20winding%3Cb%3E&cured=yes&nonsense=1")
    text = page.content.decode()
    assert "hold winding&lt;b&gt;" in text
    assert field_of(text, "v.cured").count(" checked") == 1
    assert 'name="v.nonsense' not in text
    assert not machine.entries.exists()


def test_inches_in_and_out_to_the_last_digit(
    machine: Machine, browser_as: Client, person: Client
) -> None:
    """1 in = 25.4 mm, exact."""
    person("Uma", role=3, us_units=True)
    client = browser_as(3, name="Uma")
    sent = said(
        **{"v.found": "wire", "v.size_m": "0.25", "v.length_m": "1 1/2", "v.left_m": "6 3/8",
           "v.cut_length_m": "8 mm"}
    )  # fmt: skip
    assert client.post(address(machine, "trip"), sent).status_code == 302
    entry = Entry.objects.get()
    inch = {"size_m": 0.25, "length_m": 1.5, "left_m": 6.375}
    assert entry.values == {"found": "wire", "cut_length_m": 0.008} | {
        key: pytest.approx(value * 0.0254, rel=1e-12) for key, value in inch.items()
    }
    page = client.get(f"/entries/{entry.uid}/correct/").content.decode()
    boxes = dict(re.findall(r'name="(v\.\w+)" value="([^"]*)" inputmode', page))
    assert boxes == {"v.size_m": "0.25", "v.length_m": "1.5", "v.left_m": "6.375",
                     "v.cut_length_m": "0.3149606", "v.hours_s": ""}  # fmt: skip
    again = said(**{"v.found": "wire", **boxes})
    assert client.post(f"/entries/{entry.uid}/correct/", again).status_code == 302
    assert Entry.objects.latest("id").values == entry.values

    answer = client.post(address(machine, "adjustment"), said(**{"v.gap_after_m/lower": "3.5"}))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "such as &quot;0.15 in&quot;, from 0 in to 1.181 in" in page
    assert "330 mm" not in page
    sent = said(**{"v.gap_after_m/lower": "9/64", "v.feeler_m": "0.002"})
    assert client.post(address(machine, "adjustment"), sent).status_code == 302
    kept = Entry.objects.latest("id").values
    assert kept == {
        "gap_after_m/lower": pytest.approx(9 / 64 * 0.0254),
        "feeler_m": pytest.approx(0.002 * 0.0254),
    }
    page = client.get(f"/machines/{machine.uid}/gaps/").content.decode()
    assert "0.1406 in" in page
    assert "off by 0.001 in at most" in page
