"""Where a picked piece is seen: worked out step by step, told, remembered, with its table."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from tripmargin.protection.remembered import Remembered
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Machine
from tripmargin.sensing.piece_reach import PieceReaching
from tripmargin.web.machines import reaching

Client = Callable[..., Any]
HTMX = {"HTTP_HX_REQUEST": "true"}
BOLT = "piece=M8x30+bolt"


@pytest.fixture
def dunlin(sqlite_records: str, monkeypatch: pytest.MonkeyPatch) -> Machine:
    """A machine of which nothing is worked out yet, on a grid of few places."""
    of = PieceReaching.of

    def coarse(*args: Any, **more: Any) -> PieceReaching:
        return of(*args, **more, places=[-0.2, 0.1], heights=[0.03, 0.05])

    monkeypatch.setattr(PieceReaching, "of", coarse)
    monkeypatch.setattr(reaching, "_WORK", Remembered(8))
    return add_demo_machine("dunlin", who_name="Ann")


def test_the_work_is_told_step_by_step_until_the_map_is_there(
    browser_as: Client, dunlin: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reaching, "AT_A_TIME", 0.0)
    work: list[reaching._Work] = []
    go_on = reaching._Work.go_on

    def one_step(self: reaching._Work, seconds: float) -> Any:
        work.append(self)
        if len(work) > 1:
            self._step()
        return go_on(self, seconds)

    monkeypatch.setattr(reaching._Work, "go_on", one_step)
    client, path = browser_as(1), f"/machines/{dunlin.uid}/reach/piece/?{BOLT}&attitude=best"
    for done in range(13):
        text = client.get(path, **HTMX).content.decode()
        assert f"step {done} of 13" in text
        assert f'<progress id="piece-progress" max="13" value="{done}">' in text
        again = re.search(r'hx-get="([^"]+)"', text)
        assert again is not None
        assert "attitude=best" in again[1]
        assert "M8x30+bolt" in again[1]
    text = client.get(path, **HTMX).content.decode()
    assert "best attitude at each place" in text
    assert len(set(map(id, work))) == 1  # one piece of work, whoever asks


@pytest.mark.parametrize("attitude", ["worst", "typical", "best"])
def test_each_attitude_is_named_with_its_table(
    browser_as: Client, dunlin: Machine, attitude: str
) -> None:
    # Without a script the page waits for the whole.
    path = f"/machines/{dunlin.uid}/reach/piece/?{BOLT}&attitude={attitude}"
    text = browser_as(1).get(path).content.decode()
    assert f"{attitude} attitude" in text
    assert "<!doctype html>" in text
    rows = text.partition("<tbody>")[2].partition("</tbody>")[0].count("<tr>")
    assert rows == 4
    assert "lying then" in text
    assert "tolerance is taken at its middle" in text


def test_what_was_worked_out_is_not_worked_out_again(
    browser_as: Client, dunlin: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, path = browser_as(1), f"/machines/{dunlin.uid}/reach/piece/?{BOLT}"
    first = client.get(path).content.decode()
    monkeypatch.delattr(PieceReaching, "_signal")
    again = client.get(path, **HTMX).content.decode()
    assert again[again.index("<svg") : again.index("</svg>")] in first
    # What the stop is set to owes nothing to what the sensor sees.
    other = client.get(f"{path}&chain.pawls.lower.clearance=6").content.decode()
    assert "worst attitude" in other


def test_a_ball_says_in_how_many_cases_it_is_seen(browser_as: Client, dunlin: Machine) -> None:
    path = f"/machines/{dunlin.uid}/reach/piece/?piece=20+mm+ball"
    text = browser_as(1).get(path).content.decode()
    assert re.search(r"20 mm ball at 19 mm: seen in [\d.]+ % of cases", text)
    assert "There is one way for it to lie" in text


def test_the_reach_has_its_picker_and_the_balls(browser_as: Client, dunlin: Machine) -> None:
    client = browser_as(1)
    text = client.get(f"/machines/{dunlin.uid}/reach/?{BOLT}", **HTMX).content.decode()
    assert 'value="M8x30 bolt"' in text
    asks = re.search(r'hx-get="([^"]*/reach/piece/[^"]*)" [^>]*hx-trigger="load"', text)
    assert asks is not None
    assert "M8x30+bolt" in asks[1]
    assert text.count('name="attitude"') == 3
    assert "Balls of every size" in text
    plain = client.get(f"/machines/{dunlin.uid}/reach/?{BOLT}").content.decode()
    assert 'hx-trigger="load"' not in plain.partition("Which piece?")[2]


@pytest.mark.parametrize(
    ("query", "said"),
    [("piece=%3Cscript%3E", "&lt;script&gt;"), ("piece=" + "9" * 300, "too long"),
     ("attitude=sideways", "worst"), ("cut=-4", "allowed")],
)  # fmt: skip
def test_what_cannot_be_asked_is_said(
    browser_as: Client, dunlin: Machine, query: str, said: str
) -> None:
    answer = browser_as(1).get(f"/machines/{dunlin.uid}/reach/piece/?{query}")
    assert answer.status_code == 200
    assert said in answer.content.decode().lower()
    assert "<script>alert" not in answer.content.decode()


def test_a_machine_without_a_sensor_says_what_is_missing(
    browser_as: Client, dunlin: Machine
) -> None:
    client = browser_as(3)
    client.post("/machines/add/", {"text": "[machine]\nname = 'Bare'\n"})
    uid = Machine.objects.get(name="Bare").uid
    text = client.get(f"/machines/{uid}/reach/piece/", **HTMX).content.decode()
    assert "Not known" in text
