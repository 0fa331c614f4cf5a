"""Correcting and taking back: by whom, of what, and what is left."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from tests.photos import photo
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.keeping.photos import read_photos, write_entry_with_photos
from tripmargin.records.kinds import WITHDRAWN
from tripmargin.records.store.models import Entry, Machine, Person

Client = Callable[..., Any]


@pytest.fixture
def machine(sqlite_records: str) -> Machine:
    return add_demo_machine("whimbrel", who_name="Ann")


@pytest.fixture
def ann(machine: Machine, person: Client) -> Person:
    made: Person = person("Ann", role=2)
    return made


@pytest.fixture
def wrong(machine: Machine, ann: Person) -> Entry:
    """What Ann entered: a gap with more digits than a box shows, at a moment with seconds."""
    values = {"gap_before_m/lower": 0.0055123456789, "gap_after_m/lower": 0.0035}
    at = timezone.now() - timedelta(hours=2)
    new = NewEntry(kind="adjustment", values=values, at=at, note="as found")
    return write_entry(machine, new, who=ann).entry


def form(entry: Entry, **more: str) -> dict[str, Any]:
    return {
        "uid": str(uuid4()), "at": f"{entry.at:%Y-%m-%dT%H:%M}", "zone": "0", "note": entry.note,
        "v.gap_before_m/lower": "5.512346", "v.gap_after_m/lower": "3.5",
    } | more  # fmt: skip


def test_the_form_is_filled_with_what_the_entry_says(wrong: Entry, browser_as: Client) -> None:
    page = browser_as(2, name="Ann").get(f"/entries/{wrong.uid}/correct/").content.decode()
    for text in ('value="5.512346"', 'value="3.5"', "as found</textarea>", "First, each time:"):
        assert text in page
    assert f'value="{wrong.at:%Y-%m-%dT%H:%M}"' in page


def test_what_was_not_touched_stays_to_the_last_digit(wrong: Entry, browser_as: Client) -> None:
    sent = form(wrong, **{"v.gap_after_m/lower": "3.4"})
    answer = browser_as(2, name="Ann").post(f"/entries/{wrong.uid}/correct/", sent)
    assert answer.status_code == 302
    right = wrong.corrected_by.get()
    assert right.values == {
        "gap_before_m/lower": wrong.values["gap_before_m/lower"], "gap_after_m/lower": 0.0034
    }  # fmt: skip
    assert right.at == wrong.at
    assert Entry.objects.get(pk=wrong.pk).values["gap_after_m/lower"] == 0.0035


def test_a_second_sending_of_a_correction_is_kept_once(wrong: Entry, browser_as: Client) -> None:
    client, sent = browser_as(2, name="Ann"), form(wrong)
    for _ in range(2):
        assert client.post(f"/entries/{wrong.uid}/correct/", sent).status_code == 302
    sent = {"uid": str(uuid4()), "note": "twice"}
    right = wrong.corrected_by.get()
    for _ in range(2):
        assert client.post(f"/entries/{right.uid}/withdraw/", sent).status_code == 302
    assert Entry.objects.count() == 3


@pytest.mark.parametrize("page", ["correct", "withdraw"])
def test_other_peoples_entries_need_the_role_to_set(
    wrong: Entry, browser_as: Client, page: str
) -> None:
    sent = form(wrong) if page == "correct" else {"uid": str(uuid4()), "note": "wrong"}
    address, log = f"/entries/{wrong.uid}/{page}/", f"/machines/{wrong.machine.uid}/log/"
    for role, name, may in ((1, "Looks", 403), (2, "Bo", 403), (3, "Cy", 302)):
        client = browser_as(role, name=name)
        assert (address in client.get(log).content.decode()) == (may == 302)
        answer = client.get(address)
        assert answer.status_code == (200 if may == 302 else may)
        if name == "Bo":
            assert "Ann entered this" in answer.content.decode()
        assert client.post(address, sent).status_code == may
    assert wrong.corrected_by.get().who_name == "Cy"


def test_corrected_already_says_so_and_shows_the_one_that_stands(
    wrong: Entry, browser_as: Client
) -> None:
    client = browser_as(2, name="Ann")
    client.post(f"/entries/{wrong.uid}/correct/", form(wrong, note="first"))
    second = wrong.corrected_by.get()
    client.post(f"/entries/{second.uid}/correct/", form(wrong, note="this one stands"))
    stands = second.corrected_by.get()
    for page in ("correct", "withdraw"):
        shown = client.get(f"/entries/{wrong.uid}/{page}/").content.decode()
        assert "Corrected already" in shown
        assert "this one stands" in shown
        assert f'href="/entries/{stands.uid}/correct/"' in shown


@pytest.mark.parametrize("page", ["correct", "withdraw"])
def test_who_comes_too_late_keeps_what_was_typed(
    wrong: Entry, browser_as: Client, page: str
) -> None:
    client = browser_as(2, name="Ann")
    client.post(f"/entries/{wrong.uid}/correct/", form(wrong))
    sent = form(wrong, note="typed meanwhile")
    answer = client.post(f"/entries/{wrong.uid}/{page}/", sent)
    shown = answer.content.decode()
    assert answer.status_code == 422
    assert "Ann corrected it on" in shown
    assert "typed meanwhile</textarea>" in shown
    assert wrong.corrected_by.count() == 1


def test_taking_back_needs_a_reason_and_can_be_put_back(wrong: Entry, browser_as: Client) -> None:
    client, address = browser_as(2, name="Ann"), f"/entries/{wrong.uid}/withdraw/"
    for note, trouble in (("", "A few words will do"), (" ", "A few"), ("x" * 2001, "Too long")):
        answer = client.post(address, {"uid": str(uuid4()), "note": note})
        assert answer.status_code == 422
        assert trouble in answer.content.decode()
    client.post(address, {"uid": str(uuid4()), "note": "another machine"})
    back = wrong.corrected_by.get()
    assert (back.kind, back.values, back.note) == (WITHDRAWN, {}, "another machine")
    page = client.get(f"/machines/{wrong.machine.uid}/log/").content.decode()
    assert "Put it back" in page
    again = client.get(f"/entries/{back.uid}/correct/").content.decode()
    assert 'value="5.512346"' in again
    assert client.get(f"/entries/{back.uid}/withdraw/").status_code == 302
    client.post(f"/entries/{back.uid}/correct/", form(wrong))
    restored = back.corrected_by.get()
    assert (restored.kind, restored.values) == ("adjustment", wrong.values)


def test_an_imported_entry_belongs_to_nobody(machine: Machine, browser_as: Client) -> None:
    entry = write_entry(
        machine, NewEntry(kind="note", values={"text": "x"}, source="import"), who_name="role 2"
    ).entry
    assert browser_as(2).get(f"/entries/{entry.uid}/correct/").status_code == 403
    assert browser_as(3).get(f"/entries/{entry.uid}/correct/").status_code == 200


def test_an_entry_of_a_kind_that_this_version_does_not_know_is_told_and_taken_back(
    machine: Machine, browser_as: Client
) -> None:
    entry = Entry(machine=machine, kind="later kind", at=timezone.now(), values={"x_m": 1.5})
    entry.save()
    client = browser_as(3)
    page = client.get(f"/machines/{machine.uid}/log/").content.decode()
    assert "later kind" in page
    assert "1.5" in page
    answer = client.get(f"/entries/{entry.uid}/correct/")
    assert answer.headers["Location"] == f"/entries/{entry.uid}/withdraw/"


def test_a_correction_brings_photos_of_its_own_and_mistakes_as_any_form(
    wrong: Entry, browser_as: Client
) -> None:
    client, address = browser_as(2, name="Ann"), f"/entries/{wrong.uid}/correct/"
    answer = client.post(address, form(wrong, **{"v.gap_after_m/lower": "3,4"}))
    assert answer.status_code == 422
    assert 'value="3,4"' in answer.content.decode()
    sent = form(wrong) | {"photos": SimpleUploadedFile("a.jpg", photo())}
    assert client.post(address, sent).status_code == 302
    assert wrong.corrected_by.get().photos.count() == 1


@pytest.fixture
def pictured(wrong: Entry, ann: Person) -> Entry:
    """Ann's entry with two photos."""
    again = NewEntry(kind=wrong.kind, values=wrong.values, at=wrong.at, note=wrong.note,
                     uid=wrong.uid)  # fmt: skip
    photos = read_photos([("a.jpg", photo()), ("b.png", photo(kind="PNG", colour="#123456"))])
    return write_entry_with_photos(wrong.machine, again, photos, who=ann).entry


def digests(entry: Entry) -> list[str]:
    return sorted(entry.photos.values_list("digest", flat=True))


def test_photos_go_along_with_a_correction(pictured: Entry, browser_as: Client) -> None:
    client, address = browser_as(2, name="Ann"), f"/entries/{pictured.uid}/correct/"
    page = client.get(address).content.decode()
    for each in pictured.photos.all():
        assert f'name="keep" value="{each.uid}" checked' in page
        assert f'src="/photos/{each.uid}/small/"' in page
    assert client.post(address, form(pictured)).status_code == 302  # a phone's older form
    correction = pictured.corrected_by.get()
    assert digests(correction) == digests(pictured)
    page = client.get(f"/entries/{correction.uid}/").content.decode()
    for each in correction.photos.all():
        assert f"/photos/{each.uid}/" in page
        assert client.get(f"/photos/{each.uid}/").content == bytes(each.content)


def test_a_photo_without_its_tick_stays_with_the_old_entry_alone(
    pictured: Entry, browser_as: Client
) -> None:
    client, address = browser_as(2, name="Ann"), f"/entries/{pictured.uid}/correct/"
    first, second = pictured.photos.order_by("id")
    sent = form(pictured) | {"keeps": "1", "keep": str(second.uid)}
    answer = client.post(address, sent | {"v.gap_after_m/lower": "3 kg"})  # shown again
    page = answer.content.decode()
    assert answer.status_code == 422
    assert f'value="{first.uid}">' in page
    assert f'value="{second.uid}" checked>' in page
    assert client.post(address, sent).status_code == 302
    assert digests(pictured.corrected_by.get()) == [second.digest]
    assert len(digests(pictured)) == 2


def test_all_photos_may_be_left_out_and_other_entries_photos_do_not_come(
    pictured: Entry, ann: Person, browser_as: Client
) -> None:
    other = NewEntry(kind="note", values={"text": "other"})
    photos = read_photos([("c.jpg", photo(colour="#ffffff"))])
    stranger = write_entry_with_photos(pictured.machine, other, photos, who=ann).entry.photos.get()
    sent = form(pictured) | {"keeps": "1", "keep": [str(stranger.uid), "nonsense"]}
    answer = browser_as(2, name="Ann").post(f"/entries/{pictured.uid}/correct/", sent)
    assert answer.status_code == 302
    assert not pictured.corrected_by.get().photos.exists()


def test_six_photos_are_the_most_with_those_that_go_along(
    pictured: Entry, browser_as: Client
) -> None:
    client, address = browser_as(2, name="Ann"), f"/entries/{pictured.uid}/correct/"
    more = [SimpleUploadedFile(f"{k}.jpg", photo(colour=f"#0000{k}0")) for k in range(1, 6)]
    answer = client.post(address, form(pictured) | {"photos": more})
    assert answer.status_code == 422
    assert "too many photos" in answer.content.decode()
    more = [SimpleUploadedFile(f"{k}.jpg", photo(colour=f"#0000{k}0")) for k in range(1, 5)]
    assert client.post(address, form(pictured) | {"photos": more}).status_code == 302
    assert pictured.corrected_by.get().photos.count() == 6


def test_what_is_put_back_has_its_photos_again(
    pictured: Entry, ann: Person, browser_as: Client
) -> None:
    client = browser_as(2, name="Ann")
    client.post(f"/entries/{pictured.uid}/withdraw/", {"uid": str(uuid4()), "note": "not mine"})
    taken_back = pictured.corrected_by.get()
    assert taken_back.kind == WITHDRAWN
    assert client.post(f"/entries/{taken_back.uid}/correct/", form(pictured)).status_code == 302
    assert digests(taken_back.corrected_by.get()) == digests(pictured)
