"""Setting the pawls in the browser: what the tests of its pages share."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

from tripmargin.records.store.models import Machine

FOUND = {"gap.lower": "6.2", "gap.upper": "4.1", "unit": "mm", "do": "plan"}
STOP_ALONE = (
    '[machine]\nname = "Knot"\n[limits]\nclearance = "2.5 mm .. 5 mm"\n'
    '[chain]\n[[chain.pawls]]\nname = "lower"\n[[chain.pawls]]\nname = "upper"\n'
)
"""No sensor, no cuts: nothing takes seconds, and everything about the adjusters is assumed."""


def at(machine: Machine) -> str:
    return f"/machines/{machine.uid}/set/pawls/"


def words(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", unescape(answer.content.decode()))).strip()


def fields(answer: Any) -> dict[str, list[str]]:
    """What the form would send, its buttons aside."""
    html = answer.content.decode().partition("data-working")[2].partition("</form>")[0]
    html = html.partition(">")[2]
    made: dict[str, list[str]] = {}
    for tag in re.findall(r"<input[^>]*>", html):
        name, value = (re.search(rf'{key}="([^"]*)"', tag) for key in ("name", "value"))
        if name and ('type="radio"' not in tag or "checked" in tag):
            made.setdefault(unescape(name[1]), []).append(unescape(value[1]) if value else "")
    made.pop("csrfmiddlewaretoken", None)
    return made


def beside(answer: Any, box: str) -> str:
    html = answer.content.decode().partition(f'id="{box}-trouble"')[2].partition("</div>")[0]
    return unescape(re.sub(r"<[^>]*>", "", html))


def read(client: Any, machine: Machine, page: Any, gap: str, do: str = "next", **more: Any) -> Any:
    return client.get(at(machine), {**fields(page), "reading": gap, "do": do, **more})


def expected(page: Any) -> tuple[float, float]:
    low, high = fields(page)["expected"][0].split(";")
    return 1e3 * float(low), 1e3 * float(high)


def worked_to_the_end(client: Any, machine: Machine, page: Any) -> Any:
    """Every reading in the middle of what is expected."""
    for _ in range(12):
        if "expected" not in fields(page):
            return page
        page = read(client, machine, page, f"{sum(expected(page)) / 2:.2f}")
        assert page.status_code == 200, words(page)
    raise AssertionError("there is no end to it")
