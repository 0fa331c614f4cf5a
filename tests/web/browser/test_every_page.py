"""Pages that no other browser test opens: at both sizes, for everybody, in sun mode too."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.web.browser.conftest import BOTH
from tripmargin.records.keeping.machines import add_demo_machine, add_version, machine_of

Fixture = Callable[..., Any]


@pytest.mark.parametrize("sun", [False, True], ids=["day", "sun"])
@BOTH
def test_pages_of_people_files_and_the_outbox(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, person: Fixture,
    size: tuple[int, int], sun: bool,
) -> None:  # fmt: skip
    page = page_as(4, size=size)
    page.seen.allowed.append("404")  # the last address is meant to be none
    other = person("Bo with a rather long name of his own", role=2)
    machine = add_demo_machine("dunlin")
    first = machine.versions.get()
    changed = machine_of(first).with_settings({"limits.stop_time": 0.06})
    add_version(machine, first.text, changed, who_name="Ann")
    if sun:
        page.goto("/you/")
        page.get_by_role("button", name="Sun mode").click()
        page.wait_for_selector("html.sun")
    for path in (
        "/", "/people/", f"/people/{other.pk}/", "/people/changes/", "/people/invite/", "/you/",
        "/type-sheets/", "/machines/away/", "/offline/",
        f"/machines/{machine.uid}/file/", f"/machines/{machine.uid}/compare/?before=1&after=2",
        f"/machines/{machine.uid}/log/new/trip/", "/no-such-page/",
    ):  # fmt: skip
        answer = page.goto(path)
        assert answer.status in (200, 404), (path, answer.status)
        assert (answer.status == 404) == (path == "/no-such-page/"), path
        no_barrier(page)
        no_sideways(page)
