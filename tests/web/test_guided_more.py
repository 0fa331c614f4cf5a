"""More answers about a machine of the records: filled from its file, kept as a new version."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest

from tests.web.test_guided import ADD, CHECK, FILE, OVER, QUESTIONS, SAID, START, draft, trouble
from tests.web.test_guided import unproved as _unproved
from tripmargin.machine.asking import Answers
from tripmargin.records.keeping.machines import (
    add_demo_machine,
    add_machine,
    add_version,
    machine_of,
    read_machine_file,
)
from tripmargin.records.store.models import Machine
from tripmargin.web.machines import guided_more

unproved = _unproved
TEXT = """# Ours; measured by two people.
format = 1
[machine]
name = "Knot"
serial = "K-1"   # from the plate

[feed]
knives = 8
cut_lengths = ["4.5 mm", "9 mm"]
roll_diameter = "330 mm +- 4 mm"  # with straight edges

[chain]
supply = "13.2 V +- 0.4 V"
[chain.hold_winding]
inductance = "50 mH"              # nobody asks for this
resistance = "18 ohm"
release_current = "0.3 A"
suppression = { kind = "diode", voltage = "0.8 V" }
[[chain.pawls]]
name = "drive"
clearance = "3 mm +- 1 mm"
"""


@pytest.fixture
def knot(sqlite_records: str) -> Machine:
    return add_machine(*read_machine_file(TEXT.encode(), "knot.toml"), who_name="Ann Moss")


@pytest.fixture
def setter(browser_as: Any, knot: Machine, monkeypatch: pytest.MonkeyPatch) -> Any:
    """A client that has begun; without the seconds of a proof."""
    monkeypatch.setattr(guided_more, "proof_of", lambda version: None)
    client = browser_as(3)
    begun = client.get(f"/machines/{knot.uid}/questions/")
    assert begun["Location"] == QUESTIONS
    return client


def page_of(client: Any) -> str:
    return unescape(client.get(QUESTIONS).content.decode())


def form_of(client: Any) -> dict[str, str]:
    """What the page's own form would send."""
    form = page_of(client).split('class="guided"')[1].split("</form>")[0]
    tags = re.findall(r"<input [^>]*>", form)
    sent = {}
    for tag in tags:
        name, value = (re.search(rf'{key}="([^"]*)"', tag) for key in ("name", "value"))
        if name and value:
            sent[name[1]] = value[1]
    return sent


def looked_at(client: Any, **changed: str) -> str:
    sent = {**form_of(client), **{k.replace("__", "."): v for k, v in changed.items()}}
    answer = client.post(FILE, sent, follow=True)
    return unescape(answer.content.decode())


def kept(client: Any) -> Any:
    seen = re.search(r'name="seen" value="([^"]+)"', client.get(FILE).content.decode())
    assert seen is not None
    return client.post(ADD, {"uid": draft(client)["uid"], "seen": seen[1]})


def test_the_boxes_hold_what_the_file_says_and_the_page_says_where_it_is_from(setter: Any) -> None:
    page, sent = page_of(setter), form_of(setter)
    assert "Questions about Knot" in page
    assert "version 1" in page
    assert "Ann Moss" in page
    assert "machine.name" not in sent  # a version does not change who the machine is
    assert sent["machine.serial"] == "K-1"
    assert sent["feed.knives"] == "8"
    assert sent["feed.cut_lengths"] == "4.5 mm; 9 mm"
    assert sent["feed.roll_diameter"] == "330 mm +- 4 mm"
    assert sent["chain.hold_winding.suppression"] == "diode 0.8 V"
    assert sent["chain.pawls.drive.clearance"] == "3 mm +- 1 mm"
    assert sent["feed.slip"] == ""
    assert "In the file, version 1: <b>330 mm +- 4 mm</b>" in page
    assert page.count("In the file, version 1:") == 8
    assert 'class="trouble"' not in page


def test_what_was_skipped_is_added_and_all_else_stays_letter_by_letter(
    setter: Any, knot: Machine
) -> None:
    page = looked_at(setter, feed__slip="2 .. 6", feed__knives="10")
    assert ">feed.slip</span></td>" in page
    assert ">feed.knives</span></td><td>8</td><td>10</td>" in page
    assert page.count(">feed.") == 2
    assert knot.versions.count() == 1  # nothing is kept before it was looked at
    assert kept(setter)["Location"] == f"/machines/{knot.uid}/file/"
    version = knot.versions.order_by("-number").first()
    assert (version.number, version.added_by.name) == (2, "role 3")
    lines = version.text.splitlines()
    assert set(TEXT.splitlines()) - set(lines) == {"knives = 8"}
    new = [line for line in lines if line not in TEXT.splitlines()]
    assert new == ["knives = 10", 'slip = "2 % .. 6 %"']
    assert machine_of(version).get("feed.slip").text == "2 % .. 6 %"
    assert draft(setter) is None


def test_another_spelling_and_an_emptied_box_change_nothing(setter: Any, knot: Machine) -> None:
    page = looked_at(setter, feed__roll_diameter="330 +- 4", chain__supply="")
    assert "Nothing: the answers are those of version 1." in page
    assert 'name="seen"' not in page
    assert knot.versions.count() == 1


def test_a_refused_answer_stays_beside_its_box(setter: Any, knot: Machine) -> None:
    answer = setter.post(FILE, {**form_of(setter), "feed.slip": "much"})
    assert answer.status_code == 422
    assert "“much”" in trouble(answer.content.decode(), "feed.slip")
    checked = setter.post(f"{CHECK}?field=feed.slip", {**form_of(setter), "feed.slip": "3 %"})
    assert "Taken as 3 %" in checked.content.decode()
    assert knot.versions.count() == 1


def test_a_version_that_came_meanwhile_is_built_on_not_lost(setter: Any, knot: Machine) -> None:
    looked_at(setter, feed__slip="3 %")
    seen = re.search(r'name="seen" value="([^"]+)"', setter.get(FILE).content.decode())
    other = TEXT.replace("13.2 V", "12.9 V")
    add_version(knot, *read_machine_file(other.encode(), "knot.toml"), who_name="Bo")
    early = setter.post(ADD, {"uid": draft(setter)["uid"], "seen": seen[1]})  # type: ignore[index]
    assert early["Location"] == FILE
    assert knot.versions.count() == 2
    page = unescape(setter.get(FILE).content.decode())
    assert "Version 2 was added since you began with version 1" in page
    kept(setter)
    text = knot.versions.order_by("-number").first().text
    assert "12.9 V" in text
    assert 'slip = "3 %"' in text


def test_a_second_sending_is_known_and_makes_no_version_more(setter: Any, knot: Machine) -> None:
    looked_at(setter, feed__slip="3 %")
    uid = draft(setter)["uid"]
    kept(setter)
    again = setter.post(ADD, {"uid": uid, "seen": "whatever"})
    assert again["Location"] == f"/machines/{knot.uid}/"
    assert knot.versions.count() == 2


def test_an_unfinished_machine_is_put_aside_and_a_page_left_open_keeps_to_its_own(
    browser_as: Any, knot: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guided_more, "proof_of", lambda version: None)
    client = browser_as(3)
    client.post(QUESTIONS, START)
    client.post(f"{CHECK}?field=feed.slip", {**START, "feed.slip": "5 %", **SAID})
    client.get(f"/machines/{knot.uid}/questions/")
    about = form_of(client)
    assert about["about"] == str(knot.uid)
    client.post(OVER, {"back": "1"})
    assert draft(client)["said"]["machine.name"] == "Knot"
    # The page about Knot still lay open in another window, and is sent now.
    client.post(f"{CHECK}?field=feed.slip", {**about, "feed.slip": "4 %"})
    assert draft(client)["about"] == str(knot.uid)
    assert draft(client)["said"]["feed.slip"] == "4 %"
    assert client.session["guided_machine_before"]["said"]["feed.slip"] == "5 %"


def test_what_a_type_sheet_says_is_no_answer_of_the_file(browser_as: Any) -> None:
    curlew = add_demo_machine("curlew")
    client = browser_as(3)
    client.get(f"/machines/{curlew.uid}/questions/")
    sent, page = form_of(client), page_of(client)
    assert sent["sheet"] == "type-trailed-electric.toml"
    assert "If left out: the type sheet's" in page
    own = [name for name, text in draft(client)["file"].items() if text]
    assert 0 < len(own) < len(Answers().questions()) / 2


def test_it_is_offered_on_the_file_page_and_after_adding_and_only_to_who_may(
    browser_as: Any, knot: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    address = f"/machines/{knot.uid}/questions/"
    assert address in browser_as(3).get(f"/machines/{knot.uid}/file/").content.decode()
    assert address not in browser_as(2).get(f"/machines/{knot.uid}/file/").content.decode()
    assert browser_as(2).get(address).status_code == 403
    monkeypatch.setattr("tripmargin.web.machines.adding.proof_of", lambda version: None)
    added = browser_as(3).post(
        "/machines/add/", {"text": TEXT.replace('"Knot"', '"<b>Ruff</b>"'), "note": ""}, follow=True
    )
    page = added.content.decode()
    ruff = Machine.objects.exclude(pk=knot.pk).get()
    assert f'href="/machines/{ruff.uid}/questions/"' in page
    assert "<b>Ruff" not in page
