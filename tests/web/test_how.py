"""How a machine stops, in the web app: what is picked, and the page that plays it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import pytest

from tripmargin.ground.languages import speaking
from tripmargin.machine import load_machine
from tripmargin.protection import race
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Machine, Person
from tripmargin.sensing import Piece
from tripmargin.web.how.placed import Placed

Client = Callable[..., Any]
GAP = "chain.pawls.lower.clearance"


@pytest.fixture
def whimbrel(sqlite_records: str) -> Machine:
    return add_demo_machine("whimbrel")


def played(answer: Any) -> dict[str, Any]:
    assert answer.status_code == 200, answer.content.decode()[:400]
    text = answer.content.decode()
    return json.loads(re.search(r'id="how-data">(.*?)</script>', text, re.S)[1])  # type: ignore[index]


def test_cut_and_piece_are_picked_and_the_race_is_played(
    whimbrel: Machine, browser_as: Client
) -> None:
    client = browser_as(1)
    address = f"/machines/{whimbrel.uid}/how/"
    text = client.get(address).content.decode()
    for cut in ("5 mm", "28 mm"):
        assert f">{cut}</option>" in text
    data = played(client.get(f"{address}play/", {"cut": "17", "piece": "M12x40 bolt"}))
    run = race(load_machine("whimbrel"), cut_length=0.017, piece=Piece.from_text("M12x40 bolt"))
    assert data["variants"]["base"]["metal"]["margin"] == pytest.approx(
        run.margin.nominal, abs=1e-9
    )
    assert "before" not in data["variants"]


def test_it_runs_under_its_own_policy_and_leads_back(whimbrel: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    address = f"/machines/{whimbrel.uid}/how/"
    answer = client.get(f"{address}play/", {"cut": "17", GAP: "8"})
    header, text = answer.headers["Content-Security-Policy"], answer.content.decode()
    inside = re.search(r'Content-Security-Policy" content="([^"]*)"', text)[1]  # type: ignore[index]
    assert header == f"{inside}; frame-ancestors 'none'"
    assert "default-src 'none'" in header
    assert "'self'" not in header
    assert "unsafe" not in header
    back = re.search(r'<nav><a href="([^"]*)">Back to Whimbrel</a></nav>', text)[1]  # type: ignore[index]
    page = client.get(back.replace("&amp;", "&")).content.decode()
    assert f'name="{GAP}" value="8"' in page  # what was turned is not lost on the way
    assert '<option value="17" selected>17 mm</option>' in page


def test_what_is_turned_stands_beside_the_file(whimbrel: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    machine = load_machine("whimbrel")
    answer = client.get(f"/machines/{whimbrel.uid}/how/play/", {"cut": "28", GAP: "8"})
    data, ball = played(answer), Piece.ball(0.02)
    before = race(machine, cut_length=0.028, piece=Piece.from_text(machine.limits.must_stop))
    assert Piece.from_text(machine.limits.must_stop) == ball
    after = race(machine, cut_length=0.028, piece=ball, **{GAP: 0.008})
    found = {k: data["variants"][k]["metal"]["margin"] for k in ("before", "base")}
    assert found == pytest.approx(
        {"before": before.margin.nominal, "base": after.margin.nominal}, abs=1e-9
    )


def test_it_is_kept_as_a_file_without_a_way_back(whimbrel: Machine, browser_as: Client) -> None:
    answer = browser_as(1).get(f"/machines/{whimbrel.uid}/how/play/", {"cut": "28", "save": "1"})
    assert answer.headers["Content-Disposition"] == 'attachment; filename="how-Whimbrel.html"'
    assert "<nav>" not in answer.content.decode()
    assert played(answer)["machine"] == "Whimbrel"


def test_inches_for_whoever_reads_inches(whimbrel: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    Person.objects.filter(name="role 1").update(us_units=True)
    data = played(client.get(f"/machines/{whimbrel.uid}/how/play/", {"cut": "0.5"}))
    assert data["us"] is True
    assert "0.5 in cut" in data["variants"]["base"]["metal"]["lead"]


def test_sun_mode_goes_along_but_not_into_the_file(whimbrel: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    client.cookies["tripmargin_sun"] = "1"
    address = f"/machines/{whimbrel.uid}/how/play/"
    assert played(client.get(address, {"cut": "28"}))["sun"] is True
    assert played(client.get(address, {"cut": "28", "save": "1"}))["sun"] is False


@pytest.mark.parametrize(
    ("said", "why"),
    [({"cut": "99"}, "allowed"), ({"piece": "20 mm bal"}, "20 mm bal"), ({"cut": "x"}, "x")],
)
def test_what_cannot_be_is_told_and_stays(
    whimbrel: Machine, browser_as: Client, said: dict[str, str], why: str
) -> None:
    answer = browser_as(1).get(f"/machines/{whimbrel.uid}/how/play/", {GAP: "8", **said})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert why in text
    assert 'class="trouble"' in text
    assert f'name="{GAP}" value="8"' in text


def test_the_piece_comes_where_it_is_told_to(whimbrel: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    address = f"/machines/{whimbrel.uid}/how/"
    asked = {"cut": "28", "x": "0", "height": "3 cm"}
    answer = client.get(f"{address}play/", asked)
    data, ball = played(answer), Piece.ball(0.02)
    run = race(load_machine("whimbrel"), cut_length=0.028, piece=ball, x=0.0, height=0.03)
    assert data["variants"]["base"]["metal"]["margin"] == pytest.approx(
        run.margin.nominal, abs=1e-9
    )
    (back,) = re.findall(r'<nav><a href="([^"]*)">', answer.content.decode())
    page = client.get(back.replace("&amp;", "&")).content.decode()
    assert 'name="x" value="0"' in page  # what was asked for is not lost on the way
    assert 'name="height" value="3 cm"' in page


@pytest.mark.parametrize(
    ("name", "typed", "why"),
    [("x", "-400", "beside the roll"), ("height", "90", "no crop comes"), ("x", "wide", "wide")],
)
def test_a_place_that_cannot_be_is_told_and_stays(
    whimbrel: Machine, browser_as: Client, name: str, typed: str, why: str
) -> None:
    said = {"cut": "17", name: typed}
    answer = browser_as(1).get(f"/machines/{whimbrel.uid}/how/play/", said)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert why in text
    assert f'name="{name}" value="{typed}"' in text


def test_a_place_is_typed_with_a_comma_or_in_inches() -> None:
    machine = load_machine("whimbrel")
    for typed in ("47,5", "47.5", "47,5 mm"):
        with speaking("de"):
            assert Placed.of(machine, {"height": typed}, us=False).height == pytest.approx(0.0475)
    assert Placed.of(machine, {"x": "\u22122"}, us=True).x == pytest.approx(-0.0508)
