"""A machine's page while a setting is turned: quick steps, exact figures, units, what to do."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

import tripmargin
from tripmargin.ground.units import percent
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine.rewriting import field_spec
from tripmargin.protection import Measure
from tripmargin.records.keeping.machines import add_demo_machine, machine_of
from tripmargin.records.store.models import Machine
from tripmargin.web.machines import measure_next, protection
from tripmargin.web.machines.shown import Shown

Client = Callable[..., Any]
HTMX = {"HTTP_HX_REQUEST": "true"}
TURNED = "chain.pawls.lower.clearance=6&chain.pawls.upper.clearance=7.5"


@pytest.fixture
def dunlin(sqlite_records: str) -> Machine:
    return add_demo_machine("dunlin", who_name="Ann")


def loaded(machine: Machine) -> LoadedMachine:
    return machine_of(machine.versions.get())


def proved(machine: Machine) -> Any:
    """The proof of what TURNED says, worked out without the page."""
    one = loaded(machine).with_settings(
        {
            "chain.pawls.lower.clearance": "6 mm +- 0.4 mm",
            "chain.pawls.upper.clearance": "7.5 mm +- 0.4 mm",
        }
    )
    cut = max(one.feed.cut_lengths)
    return next(c for c in tripmargin.prove(one).cuts if c.cut_length == cut)


def test_a_step_is_quick_until_the_slider_is_let_go(browser_as: Client, dunlin: Machine) -> None:
    client, path = browser_as(1), f"/machines/{dunlin.uid}/turned/?{TURNED}"
    turning = client.get(path, **HTMX).content.decode()
    assert "Quick figures" in turning
    assert "step=exact" not in turning
    let_go = client.get(f"{path}&step=let-go", **HTMX).content.decode()
    assert "Working out the exact ones" in let_go
    asks = re.search(r'<p [^>]*hx-get="([^"]*step=exact)"[^>]*>', let_go)
    assert asks is not None
    assert 'hx-sync="#turns:abort"' in asks[0]  # the next step that is turned cancels it
    exact = client.get(f"{path}&step=exact", **HTMX).content.decode()
    assert "Exact figures" in exact
    assert "Quick figures" not in exact
    cut = proved(dunlin)
    assert percent(cut.protected) in exact
    assert cut.verdict.capitalize() in exact


def test_without_a_script_the_figures_are_exact(browser_as: Client, dunlin: Machine) -> None:
    client, said = browser_as(1), percent(proved(dunlin).protected)
    for path in (f"/machines/{dunlin.uid}/?{TURNED}", f"/machines/{dunlin.uid}/turned/?{TURNED}"):
        text = client.get(path).content.decode()
        assert "Exact figures" in text
        assert said in text


def test_what_is_shown_first_is_followed_by_the_exact_figures_and_these_are_remembered(
    browser_as: Client, dunlin: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(protection, "_SHOWN", Shown())
    client, page = browser_as(1), f"/machines/{dunlin.uid}/"
    assert "step=let-go" in client.get(page).content.decode()
    client.get(f"{page}turned/?step=let-go", **HTMX)
    assert "step=exact" in client.get(page).content.decode()
    client.get(f"{page}turned/?step=exact", **HTMX)
    monkeypatch.delattr(protection, "live_protection")
    assert "Exact figures" in client.get(page).content.decode()


@pytest.mark.parametrize("us", [False, True], ids=["metric", "us"])
def test_tolerance_and_range_under_a_slider_are_in_the_reader_s_units(
    browser_as: Client, dunlin: Machine, person: Any, us: bool
) -> None:
    person("Reader", role=1, us_units=us)
    text = browser_as(1, "Reader").get(f"/machines/{dunlin.uid}/").content.decode()
    under = re.findall(r'<p class="help">([^<]*In the file[^<]*)</p>', text)
    assert len(under) == 3
    if us:
        assert under[0] == (
            "0 to 0.395 in. In the file: 0.126 in +- 0.01575 in (written 3.2 mm +- 0.4 mm)"
        )
    else:
        assert under[0] == "0 to 10 mm. In the file: 3.2 mm +- 0.4 mm"
    assert under[2].endswith("In the file: 13.2 V +- 0.8 V")


def test_what_to_measure_is_said_in_the_trade_s_words(browser_as: Client, dunlin: Machine) -> None:
    text = browser_as(1).get(f"/machines/{dunlin.uid}/because/", **HTMX).content.decode()
    after = text.partition("Measure next")[2]
    first = after.partition("<li>\n<h4>")[2].partition("</h4>")
    assert first[0] == "Slip of the crop against the rolls"
    card = first[2].partition("</li>")[0]
    assert "compare the lengths" in card
    assert "<svg" in card
    assert "nobody near rolls, knives or drives" in card  # it is read while the machine runs
    # The field's own name is the source, in small type, and stands nowhere else.
    assert card.count("feed.slip") == 1
    assert 'field-name">In the file: feed.slip<' in card
    assert after.index("Engine off") < after.index("<h4>")


def test_what_no_question_asks_has_its_way_to_measure_too(dunlin: Machine) -> None:
    one = Measure("chain.relay_release", "5 ms .. 9 ms", 0.5, 0.1, 0.05, "margin", False, "")
    said = measure_next._one(one, loaded(dunlin), us=False, sun=False)
    assert said.name == "Release time of the relay"
    assert "logger" in said.how
    assert said.drawing is None
    # Every quantity that a demo machine is unsure of has words of how it is measured.
    for name in tripmargin.demo_machines():
        for path, _ in tripmargin.load_machine(name).uncertain():
            if not path.startswith(("circuit", "checks", "limits")):
                spec = field_spec(path)
                assert spec.measure or measure_next.how(path), path
