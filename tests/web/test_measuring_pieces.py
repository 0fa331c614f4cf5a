"""Test pieces of the yard: a list that lasts, from which the next piece to pass is chosen."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.utils import timezone

from tests.records.standing_help import write
from tests.records.test_findings import PASS
from tests.web.test_measuring_stop import words
from tripmargin.ground.languages import speaking
from tripmargin.records.keeping import owned_pieces as keeping
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.keeping.owned_pieces import PieceError, add_piece, owned_names
from tripmargin.records.store.models import AuditLine, Machine
from tripmargin.web.measuring import learning

Client = Callable[..., Any]


@pytest.fixture
def curlew(sqlite_records: str) -> Machine:
    return add_demo_machine("curlew", who_name="Ann")


def at(machine: Machine) -> str:
    return f"/machines/{machine.uid}/measure/pieces/"


def test_the_list_lasts_and_says_who(records: str, person: Client) -> None:
    ann = person("Ann", role=2)
    for said in ("20 mm ball", "M8x30 bolt along", "16mm ball", "16 mm ball", "8.5 mm ball"):
        add_piece(said, who=ann)
    assert owned_names() == ("8.5 mm ball", "16 mm ball", "20 mm ball", "M8x30 bolt along")
    keeping.take_out_piece("16 mm ball", who=ann)
    keeping.take_out_piece("16 mm ball", who=ann)
    assert "16 mm ball" not in owned_names()
    add_piece("16 mm ball", who=ann)
    assert owned_names()[1] == "16 mm ball"
    assert [one.name for one in keeping.owned_pieces()] == list(owned_names())
    lines = AuditLine.objects.filter(about="16 mm ball").order_by("pk")
    assert [(one.what, one.who_name) for one in lines] == [
        ("test piece added", "Ann"), ("test piece taken out", "Ann"), ("test piece added", "Ann"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("", "Needed, and left empty."),
        ("1e9 mm ball", "no test piece's"),
        ("0 mm ball", "A size is from 0.5 mm to 2000 mm"),
        ("ball", "a ball needs diameter, and no lengths stand there"),
        ("thing", "Allowed"),
        ("M8x30 bolt", "“M8x30 bolt”: how it lies is not said"),
        ("-3 mm ball", "Allowed"),
        ("x" * 3000, "too long"),
    ],
)
def test_what_is_no_piece_is_refused(
    sqlite_records: str, person: Client, said: str, why: str
) -> None:
    with pytest.raises(PieceError, match=why):
        add_piece(said, who=person("Ann"))
    assert owned_names() == ()


def test_a_list_has_an_end(
    sqlite_records: str, person: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keeping, "MOST", 2)
    ann = person("Ann")
    for size in (10, 12):
        add_piece(f"{size} mm ball", who=ann)
    add_piece("12 mm ball", who=ann)
    with pytest.raises(PieceError, match="Take one out first"):
        add_piece("14 mm ball", who=ann)


def test_the_list_on_its_page(curlew: Machine, browser_as: Client) -> None:
    client = browser_as(2)
    assert "None is in the list yet." in words(client.get(at(curlew)))
    assert client.post(at(curlew), {"usual": "16 mm ball"}).status_code == 302
    assert client.post(at(curlew), {"add": "M8x30 bolt along"}).status_code == 302
    comma = client.post(at(curlew), {"add": "12,5 mm ball"})
    assert comma.status_code == 422
    html = comma.content.decode()
    assert 'name="add" value="12,5 mm ball"' in html
    assert 'value="12.5 mm ball" data-mend="add"' in html
    client.post(at(curlew), {"add": "12,5 mm ball", "mend.add": "12.5 mm ball"})
    assert owned_names() == ("12.5 mm ball", "16 mm ball", "M8x30 bolt along")
    client.post(at(curlew), {"out": "12.5 mm ball"})
    bare = client.post(at(curlew), {"add": "20"})
    assert bare.status_code == 422
    assert 'value="20 mm ball" data-mend="add"' in bare.content.decode()
    look = browser_as(1)
    assert "16 mm ball" in words(look.get(at(curlew)))
    assert "Take out" not in words(look.get(at(curlew)))
    assert look.post(at(curlew), {"out": "16 mm ball"}).status_code == 403
    assert owned_names() == ("16 mm ball", "M8x30 bolt along")


def test_the_next_piece_is_one_of_the_yards(
    curlew: Machine, browser_as: Client, person: Client
) -> None:
    ann = person("Ann", role=2)
    first = learning.Asked.of(curlew).learned().next_piece
    assert first is not None
    owned = ("30 mm ball", "36 mm ball")
    assert first.piece.name not in owned
    for name in owned:
        add_piece(name, who=ann)
    following = learning.Asked.of(curlew).learned().next_piece
    assert following is not None
    assert following.piece.name in owned
    write(curlew, "test pass", PASS, timezone.now())
    after = learning.Asked.of(curlew).learned().next_piece
    assert after is not None
    assert after.piece.name in owned
    page = browser_as(2).get(f"/machines/{curlew.uid}/measure/learned/").content.decode()
    other = next(name for name in owned if name != after.piece.name)
    links = [unescape(one) for one in re.findall(r'href="([^"]+test-pass/\?[^"]+)"', page)]
    assert any(f"piece={other.replace(' ', '+')}" in one for one in links)
    form = browser_as(2).get(next(one for one in links if other.replace(" ", "+") in one))
    assert f'name="v.piece" value="{other}"' in form.content.decode()
    for name in owned:
        assert f'value="{name}" data-mend="v.piece"' in form.content.decode()


def test_a_piece_that_is_no_ball_goes_into_the_log_with_how_it_lay(
    curlew: Machine, browser_as: Client, person: Client
) -> None:
    add_piece("M16x60 bolt along", who=person("Ann", role=2))
    client = browser_as(2)
    page = client.get(f"/machines/{curlew.uid}/measure/learned/").content.decode()
    assert 'name="v.piece" value="M16x60 bolt along"' in page


def test_a_piece_that_is_refused_says_how_it_lies_in_german(records: str, person: Client) -> None:
    with speaking("de"), pytest.raises(PieceError) as refused:
        add_piece("Schraube M8x30", who=person("Ann", role=2))
    said = str(refused.value)
    assert said.startswith("„Schraube M8x30“: wie es liegt, ist nicht gesagt")
    assert "Erlaubt: eine Kugel, etwa „Kugel 16 mm“" in said
    with speaking("de"):
        assert add_piece("Schraube M8x30 längs", who=person("Bo", role=2)) == "M8x30 bolt along"
