"""Turned settings kept as a new version of the machine's file."""

from __future__ import annotations

import difflib
import html
import re
from collections.abc import Callable
from typing import Any

import pytest

from tripmargin.records.keeping.machines import add_demo_machine, add_version, read_machine_file
from tripmargin.records.store.models import AuditLine, Machine, MachineVersion

Client = Callable[..., Any]
LOWER = "chain.pawls.lower.clearance"


@pytest.fixture
def curlew(sqlite_records: str) -> Machine:
    return add_demo_machine("curlew", who_name="Ann")


def told(answer: Any) -> str:
    return html.unescape(answer.content.decode())


def rows(answer: Any) -> list[tuple[str, ...]]:
    body = told(answer).partition("<tbody>")[2].partition("</tbody>")[0]
    row = r"<tr><th scope=\"row\">([^<]+)<br>.*?</th><td>(.*?)</td><td>(.*?)</td>"
    found = re.findall(row, body)
    return [tuple(re.sub("<[^>]+>", "", cell) for cell in row) for row in found]


def send(client: Any, machine: Machine, turned: str, **more: str) -> Any:
    said = {"turned": turned, "version": "1", "note": "Gap set anew, worn pawl"} | more
    return client.post(f"/machines/{machine.uid}/keep/", said)


def changed(machine: Machine) -> list[str]:
    old, new = machine.versions.get(number=1).text, machine.versions.get(number=2).text
    return [one for one in difflib.ndiff(old.splitlines(), new.splitlines()) if one[0] in "+-"]


def test_the_differences_are_looked_at_and_kept_with_their_reason(
    browser_as: Client, curlew: Machine
) -> None:
    client, turned = browser_as(3), f"{LOWER}=4.6"
    page = client.get(f"/machines/{curlew.uid}/keep/?{turned}")
    assert rows(page) == [("Clearance, lower pawl", "3.4 mm +- 0.4 mm", "4.6 mm +- 0.4 mm")]
    assert "what the machine is, not what one would like it to be" in told(page)
    assert curlew.versions.count() == 1
    answer = send(client, curlew, turned)
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/machines/{curlew.uid}/")
    assert changed(curlew) == [
        '- clearance = "3.4 mm +- 0.4 mm"',
        '+ clearance = "4.6 mm +- 0.4 mm"',
    ]
    version = curlew.versions.get(number=2)
    assert (version.note, version.added_by_name) == ("Gap set anew, worn pawl", "role 3")
    assert version.proof.verdict in ("protected", "doubtful", "not protected")
    assert AuditLine.objects.filter(what="version added", about="Curlew, version 2").count() == 1


def test_what_the_type_sheet_gives_is_written_over_in_the_machine_s_own_file(
    browser_as: Client, curlew: Machine
) -> None:
    client, turned = browser_as(3), "chain.supply=12.5&suppression=resistor+82+ohm"
    page = client.get(f"/machines/{curlew.uid}/keep/?{turned}")
    supply = ("Supply voltage at the hold winding", "13.4 V +- 0.7 V", "12.5 V +- 0.7 V")
    assert supply in rows(page)
    assert ("Kind, suppression of the hold winding", "diode", "resistor") in rows(page)
    assert send(client, curlew, turned).status_code == 302
    assert changed(curlew)[-2:] == [
        "+ [chain.hold_winding]",
        '+ suppression = { kind = "resistor", resistance = "82 ohm" }',
    ]


def test_inches_are_turned_and_the_file_keeps_its_unit(
    browser_as: Client, curlew: Machine, person: Any
) -> None:
    person("Reader", role=3, us_units=True)
    client, turned = browser_as(3, "Reader"), f"{LOWER}=0.2"
    page = client.get(f"/machines/{curlew.uid}/keep/?{turned}")
    assert rows(page)[0][2] == "0.2 in +- 0.01575 in (written 5.08 mm +- 0.4 mm)"
    assert send(client, curlew, turned).status_code == 302
    assert changed(curlew)[-1] == '+ clearance = "5.08 mm +- 0.4 mm"'
    # What was kept is what is in force: nothing is turned any more.
    assert "Nothing is turned" in told(client.get(f"/machines/{curlew.uid}/keep/?{turned}"))


def test_what_is_kept_is_what_was_shown(browser_as: Client, curlew: Machine) -> None:
    client, turned = browser_as(3), f"{LOWER}=0.2&chain.supply=12.7"
    said = client.get(f"/machines/{curlew.uid}/turned/?{turned}")
    margin = re.search(r"<span>Margin ([^<]+)</span>", said.content.decode())
    send(client, curlew, turned)
    assert '+ clearance = "0.2 mm +- 0.4 mm"' in changed(curlew)
    after = client.get(f"/machines/{curlew.uid}/turned/").content.decode()
    assert margin is not None
    assert margin[0] in after


def test_sent_twice_it_is_kept_once(browser_as: Client, curlew: Machine) -> None:
    client = browser_as(3)
    first, second = (send(client, curlew, f"{LOWER}=4.6") for _ in range(2))
    assert first.headers["Location"] == second.headers["Location"]
    assert curlew.versions.count() == 2


def test_a_version_of_somebody_else_meanwhile_is_said(browser_as: Client, curlew: Machine) -> None:
    text = curlew.versions.get().text.replace('"3.6 mm +- 0.4 mm"', '"5 mm +- 0.4 mm"')
    add_version(curlew, *read_machine_file(text.encode(), "curlew.toml"), who_name="Ann")
    answer = send(browser_as(3), curlew, f"{LOWER}=4.6")
    assert answer.status_code == 422
    assert "Another version came into force meanwhile" in told(answer)
    assert "Gap set anew, worn pawl" in told(answer)
    assert 'name="version" value="2"' in told(answer)
    assert MachineVersion.objects.count() == 2


def test_without_a_reason_nothing_is_kept(browser_as: Client, curlew: Machine) -> None:
    answer = send(browser_as(3), curlew, f"{LOWER}=4.6", note=" ")
    assert answer.status_code == 422
    assert "required" in told(answer)
    assert rows(answer)
    assert curlew.versions.count() == 1


@pytest.mark.parametrize(
    ("turned", "said"),
    [
        (f"{LOWER}=9,5", "comma"),
        (f"{LOWER}=900", "allowed"),
        ("suppression=magic", "not one of"),
        ("", "Nothing is turned"),
        (f"{LOWER}=3.4", "Nothing is turned"),
        ("suppression=diode+0.8+V", "Nothing is turned"),
        ("machine.name=Evil&feed.knives=1", "Nothing is turned"),
    ],
)
def test_what_cannot_be_kept_is_said(
    browser_as: Client, curlew: Machine, turned: str, said: str
) -> None:
    client = browser_as(3)
    looked = client.get(f"/machines/{curlew.uid}/keep/?{turned}")
    for answer in (looked, send(client, curlew, turned)):
        assert answer.status_code in (200, 422)
        assert said in told(answer)
    assert curlew.versions.count() == 1


def test_only_who_may_set_is_offered_it(browser_as: Client, curlew: Machine) -> None:
    path = f"/machines/{curlew.uid}/turned/"
    for role, offered in ((2, False), (3, True)):
        text = browser_as(role).get(f"{path}?{LOWER}=4.6").content.decode()
        assert ("/keep/?" in text) == offered
        assert f"/keep/?{LOWER}=4.6" in text or not offered
    assert "/keep/?" not in browser_as(3).get(path).content.decode()
