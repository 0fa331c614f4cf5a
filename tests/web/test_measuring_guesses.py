"""What was guessed of a recording of a stop, said otherwise; how much learned values drift."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone

from tests.records.standing_help import write
from tests.records.test_findings import STOP
from tests.web.recordings import logger_csv, stop_wav
from tests.web.test_measuring_stop import at, boxes, left, sent, words
from tripmargin.records.keeping.machines import add_demo_machine, machine_of
from tripmargin.records.store.models import Entry, Machine

Client = Callable[..., Any]


@pytest.fixture
def curlew(sqlite_records: str) -> Machine:
    return add_demo_machine("curlew", who_name="Ann")


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))
    return tmp_path / "yard"


def took(answer: Any) -> float:
    """The stop time on the page, ms."""
    (found,) = re.findall(r"([0-9.]+) ms with 95 % between", words(answer))
    return float(found)


def test_pause_and_distance_move_a_stop_that_was_heard(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    address = sent(client, curlew, stop_wav())
    first = client.get(address)
    shown = boxes(first.content.decode())
    assert (shown["click_delay.low"], shown["distance_difference.high"]) == ("0", "0.25")
    said = {"click_delay.low": "10", "click_delay.high": "10",
            "distance_difference.low": "2", "distance_difference.high": "2"}  # fmt: skip
    moved = client.post(address, {**shown, **said, "do": "look"})
    assert moved.status_code == 200, words(moved)
    # 10 ms later the crossing; 2 m at 2.914 ms a metre (20 degC) earlier the rest.
    assert took(first) - took(moved) == pytest.approx(10 + 2 * 2.914, abs=1.0)
    again = boxes(moved.content.decode())
    assert {key: again[key] for key in said} == said
    for change, name, told in (
        ({"click_delay.low": "20"}, "click_delay-high", "Less than the least."),
        ({"distance_difference.low": "x"}, "distance_difference-low", "Not a number"),
        ({"temperature": "200"}, "temperature", "Out of range: 200 °C."),
    ):
        wrong = client.post(address, {**again, **change, "do": "keep", "cut": "8"})
        assert wrong.status_code == 422
        beside = wrong.content.decode().partition(f'id="{name}-trouble"')[2].partition("</div>")[0]
        assert told in beside
    assert Entry.objects.count() == 0


def test_in_us_units_the_way_is_in_feet(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    client.post("/you/units/", {"units": "us"})
    shown = boxes(client.get(sent(client, curlew, stop_wav())).content.decode())
    assert shown["distance_difference.high"] == "0.8202"
    assert shown["temperature"] == "68"


@pytest.mark.parametrize(("decimal", "delimiter"), [(",", ";"), (".", "\t")])
def test_a_loggers_file_said_as_it_is_gives_the_same(
    curlew: Machine, browser_as: Client, own_home: Path, decimal: str, delimiter: str
) -> None:
    client = browser_as(2)
    address = sent(client, curlew, logger_csv(decimal, delimiter), "log.csv")
    first = client.get(address)
    html = first.content.decode()
    assert "As guessed: trip" in html
    assert "As guessed: speed" in html
    said = {
        "kind": "CSV", "delimiter": {";": "semicolon", "\t": "tab"}[delimiter], "header": "1",
        "decimal": {",": "comma", ".": "point"}[decimal], "encoding": "utf-8", "time": "time",
        "trip": "1", "roll": "2", "roll_is": "speed", "do": "look",
    }  # fmt: skip
    same = client.post(address, said)
    assert same.status_code == 200, words(same)
    assert took(same) == took(first)
    assert len(left(own_home)) == 2  # it was sent once
    faster = client.post(
        address, {**said, "rate": "4000", "time": "none", "trip": "2", "roll": "3"}
    )
    assert took(faster) == pytest.approx(took(first) / 2, rel=0.05)


def test_times_in_ms_without_a_header(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    rows = logger_csv().decode().splitlines()[1:]
    plain = "\n".join(rows).encode()
    address = sent(client, curlew, plain, "log.csv")
    first = client.get(address)
    shown = boxes(first.content.decode())
    assert shown["of.time"] == ""
    fast = client.post(address, {**shown, "unit.time": "ms", "do": "look"})
    assert took(fast) < took(first) / 100
    assert boxes(fast.content.decode())["unit.time"] == "ms"


def test_another_file_read_wrongly_can_be_put_right(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    address = sent(client, curlew, logger_csv(",", ";"), "log.csv")
    wrong = client.post(address, {"delimiter": "bar", "do": "look"})
    assert wrong.status_code == 422
    html = wrong.content.decode()
    assert boxes(html)["delimiter"] == "bar"
    assert client.post(address, {**boxes(html), "delimiter": "", "do": "look"}).status_code == 200


def test_instants_moved_by_hand_go_with_how_it_was_read(
    curlew: Machine, browser_as: Client
) -> None:
    client = browser_as(2)
    address = sent(client, curlew, stop_wav())
    shown = boxes(client.get(address).content.decode())
    moved = client.post(address, {**shown, "i.rest": "70", "do": "look"})
    assert "Moved by hand: " in words(moved)
    other = client.post(
        address, {**boxes(moved.content.decode()), "temperature": "5", "do": "look"}
    )
    assert "Moved by hand: " not in words(other)  # they were another reading's


def test_drift_per_year_goes_into_the_file(curlew: Machine, browser_as: Client) -> None:
    write(curlew, "stop time", STOP, timezone.now())
    client = browser_as(3)
    address = f"/machines/{curlew.uid}/measure/keep/"
    html = client.get(address).content.decode()
    assert "age does not widen them" in html
    names = re.findall(r'name="(drift\.[^"]+)"', html)
    assert names
    (key,) = re.findall(r'name="key" value="([^"]+)"', html)
    form = {"key": key, "note": "Timed", names[0]: "5 apples"}
    wrong = client.post(address, form)
    assert wrong.status_code == 422
    assert f'name="{names[0]}" value="5 apples"' in wrong.content.decode()
    comma = client.post(address, {**form, names[0]: "1,5 ms"})
    assert comma.status_code == 422
    assert 'value="1.5 ms" data-mend=' in comma.content.decode()
    assert curlew.versions.count() == 1
    assert client.post(address, {**form, names[0]: "5 %"}).status_code == 302
    made = machine_of(curlew.versions.get(number=2))
    assert made.measured is not None
    drifts = {one.field: one.drift for one in made.measured.fields}
    assert drifts.pop(names[0].removeprefix("drift.")) == "5 %"
    assert set(drifts.values()) <= {None}


def test_a_tampered_number_of_a_stop(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    address = sent(client, curlew, stop_wav())
    answer = client.post(address, {"which": "x" * 50, "do": "keep", "uid": str(uuid4())})
    assert answer.status_code == 422
    assert at(curlew) in answer.content.decode()
