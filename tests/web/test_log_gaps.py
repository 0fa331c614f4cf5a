"""Measured gaps go into the machine's file as a new version, proved; nothing else changes in it."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime, timedelta
from html import unescape
from typing import Any

import pytest
from django.utils import timezone

from tests.records.standing_help import WITH_PAWLS, new_machine, write
from tests.web.test_log_forms import address, said
from tripmargin.records.keeping.machines import (
    add_demo_machine,
    add_version,
    compare,
    machine_of,
    read_machine_file,
)
from tripmargin.records.standing.due import GAP_IN_FILE, SOON
from tripmargin.records.store.models import AuditLine, Entry, Machine, MachineVersion

Client = Callable[..., Any]
LOWER = "chain.pawls.lower.clearance"


@pytest.fixture
def whimbrel(sqlite_records: str) -> Machine:
    return add_demo_machine("whimbrel", who_name="Ann")


def ago(**how: float) -> datetime:
    return timezone.now() - timedelta(**how)


def words(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", unescape(answer.content.decode())))


def newest(machine: Machine) -> MachineVersion:
    found: MachineVersion = machine.versions.order_by("-number")[0]
    return found


def put_in(client: Any, machine: Machine) -> Any:
    return client.post(f"/machines/{machine.uid}/gaps/", {"number": newest(machine).number})


def test_an_adjustment_offers_it_and_it_makes_a_proved_version(
    whimbrel: Machine, browser_as: Client
) -> None:
    client, before = browser_as(3), newest(whimbrel)
    given = machine_of(before).get(LOWER)
    assert given is not None
    sent = said(**{"v.gap_after_m/lower": "4.1", "v.gap_after_m/upper": "4.2", "v.feeler_m": "0.1"})
    answer = client.post(address(whimbrel, "adjustment"), sent)
    assert answer.headers["Location"].endswith("#content")  # the offer stands at the top
    page = client.get(answer.headers["Location"])
    offered = f"/machines/{whimbrel.uid}/gaps/"
    assert f'href="{offered}"' in page.content.decode()
    assert "The log says 4.1 mm for the lower pawl (2026-01-02), the file " in words(page)
    shown = words(client.get(offered))
    assert "4.1 mm" in shown
    assert given.text in shown
    assert "Make it version 2, and prove it" in shown
    assert "off by 0.05 mm at most" in shown

    answer = put_in(client, whimbrel)
    assert answer.headers["Location"] == f"/machines/{whimbrel.uid}/"
    made = newest(whimbrel)
    assert made.number == 2
    changed = {one.field: one for one in compare(before, made)}
    assert set(changed) <= {LOWER, LOWER.replace("lower", "upper"), "chain.feeler_step"}
    now = machine_of(made).get(LOWER)
    assert now is not None
    assert now.nominal == pytest.approx(0.0041)
    assert now.high - now.low == pytest.approx(given.high - given.low)  # no better known
    step = machine_of(made).get("chain.feeler_step")
    assert step is not None
    assert step.nominal == pytest.approx(1e-4)
    assert made.note.startswith("Gaps as measured: lower 4.1 mm on 2026-01-02; upper 4.2 mm")
    assert made.proof.verdict in words(client.get(f"/machines/{whimbrel.uid}/"))
    line = AuditLine.objects.latest("id")
    assert (line.what, line.who_name) == ("version added", "role 3")
    # There is nothing left to be put in, and a second sending makes no third version.
    assert "Nothing is to be put in." in words(client.get(offered))
    put_in(client, whimbrel)
    assert whimbrel.versions.count() == 2


def test_a_file_without_tolerance_gets_half_a_step_of_the_gauge(
    sqlite_records: str, browser_as: Client
) -> None:
    text = WITH_PAWLS.replace('clearance = "3.5 mm"', 'clearance = "3.5 mm"  # by Ann', 1)
    machine = new_machine(text)
    write(machine, "adjustment", {"gap_after_m/lower": 0.0041}, ago(hours=2))
    assert put_in(browser_as(3), machine).status_code == 302
    made = newest(machine)
    assert re.search(r'clearance = "4.1 mm \+- 0.025 mm" +# by Ann', made.text)
    assert made.text.count("4.1 mm") == 1
    assert machine_of(made).get("chain.feeler_step") is None  # not measured: assumed


def test_what_the_type_sheet_gives_is_put_over_it_in_the_machines_own_file(
    whimbrel: Machine, browser_as: Client
) -> None:
    write(whimbrel, "adjustment", {"gap_after_m/upper": 0.0039}, ago(hours=2))
    before = newest(whimbrel)
    assert put_in(browser_as(3), whimbrel).status_code == 302
    assert newest(whimbrel).text.startswith(before.text.splitlines()[0])
    assert [one.field for one in compare(before, newest(whimbrel))] == [
        LOWER.replace("lower", "upper")
    ]


def test_it_is_the_newest_measured_gap_of_each_pawl(
    sqlite_records: str, browser_as: Client
) -> None:
    machine = new_machine()
    write(machine, "adjustment", {"gap_after_m/lower": 0.0048}, ago(days=3))
    write(machine, "adjustment", {"gap_before_m/lower": 0.0042}, ago(hours=2))
    wrong = write(machine, "adjustment", {"gap_after_m/lower": 0.0029}, ago(hours=1))
    write(machine, "adjustment", {"gap_after_m/lower": 0.0044}, ago(hours=1), corrects=wrong)
    put_in(browser_as(3), machine)
    (changed,) = compare(*machine.versions.order_by("number"))
    assert changed.after.startswith("4.4 mm")


def test_a_file_that_was_changed_meanwhile_is_looked_at_again(
    sqlite_records: str, browser_as: Client
) -> None:
    machine, client = new_machine(), browser_as(3)
    write(machine, "adjustment", {"gap_after_m/lower": 0.0041}, ago(hours=2))
    sent = {"number": newest(machine).number}
    text = newest(machine).text.replace("60 ms", "62 ms")
    add_version(machine, *read_machine_file(text.encode(), "knot.toml"))
    answer = client.post(f"/machines/{machine.uid}/gaps/", sent)
    assert answer.status_code == 422
    assert "was changed meanwhile" in words(answer)
    assert machine.versions.count() == 2
    assert put_in(client, machine).status_code == 302


def test_a_type_sheet_that_is_gone_is_said_and_nothing_is_made(
    whimbrel: Machine, browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tripmargin.records.keeping import machines

    write(whimbrel, "adjustment", {"gap_after_m/upper": 0.0039}, ago(hours=2))
    monkeypatch.setattr(machines, "sheets_in_force", dict)
    answer = put_in(browser_as(3), whimbrel)
    assert answer.status_code == 422
    assert "the records hold no type sheet of this name" in words(answer)
    assert whimbrel.versions.count() == 1


@pytest.mark.parametrize(
    ("gap", "due"), [(0.0035, False), (0.00352, False), (0.0041, True), (0.0056, False)]
)
def test_it_is_due_where_the_log_and_the_file_are_apart(
    sqlite_records: str, browser_as: Client, gap: float, due: bool
) -> None:
    """Not within half a step of the gauge; and one outside the window is to be set, not filed."""
    from tripmargin.records.standing.at_a_glance import glance_at

    machine = new_machine()
    write(machine, "adjustment", {"gap_after_m/lower": gap}, ago(hours=2))
    machine.refresh_from_db()
    found = [one for one in glance_at(machine).due if one.what == GAP_IN_FILE]
    assert bool(found) == due
    if due:
        (one,) = found
        assert one.urgency == SOON
        assert one.sentence.startswith("The log says 4.1 mm for the lower pawl (")
        assert "the file 3.5 mm." in one.sentence
    link = f"/machines/{machine.uid}/gaps/"
    for path in ("/due/", f"/machines/{machine.uid}/", f"/machines/{machine.uid}/drift/"):
        assert (f'href="{link}"' in browser_as(3).get(path).content.decode()) == due, path
        assert link not in browser_as(2).get(path).content.decode()


def test_within_the_files_own_tolerance_nothing_is_due(whimbrel: Machine) -> None:
    from tripmargin.records.standing.at_a_glance import glance_at

    given = machine_of(newest(whimbrel)).get(LOWER)
    assert given is not None
    assert given.uncertain
    for gap, due in ((given.high, 0), (given.high + 1e-4, 1)):
        write(whimbrel, "adjustment", {"gap_after_m/lower": gap}, ago(hours=2 - due))
        machine = Machine.objects.get(pk=whimbrel.pk)
        assert [one.what for one in glance_at(machine).due].count(GAP_IN_FILE) == due


def test_what_must_be_seen_first_is_where_the_page_opens(
    whimbrel: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    for kind, values, at_top in (
        ("daily-check", {"v.tripped": "no"}, True),
        ("daily-check", {"v.tripped": "yes", "v.reset": "yes"}, False),
        ("missed-metal", {"v.found": "tool", "v.why": "not seen"}, True),
        ("note", {"v.text": "fine"}, False),
    ):
        answer = client.post(address(whimbrel, kind), said(**values))
        assert answer.headers["Location"].endswith("#content") == at_top, kind


def test_who_may_only_log_is_told_and_not_offered_it(whimbrel: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    answer = client.post(address(whimbrel, "adjustment"), said(**{"v.gap_after_m/lower": "4.1"}))
    page = client.get(answer.headers["Location"])
    assert "The log says 4.1 mm" in words(page)
    assert "/gaps/" not in page.content.decode()
    assert client.get(f"/machines/{whimbrel.uid}/gaps/").status_code == 403
    assert Entry.objects.count() == 1
