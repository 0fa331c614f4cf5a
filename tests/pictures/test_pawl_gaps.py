"""The drawing of the gaps in their window: whatever is measured, at every width, day and sun."""

from __future__ import annotations

import pytest

from tests.pictures.reading import colours, outside_page, overlaps
from tripmargin.machine import load_machine
from tripmargin.pictures.look import DAY, SUN
from tripmargin.pictures.pawl_gaps import pawl_gaps_picture
from tripmargin.stopping import pawl_steps
from tripmargin.stopping.setting.rounds import Round, known_gaps

GAPS = {
    "both inside": (0.0034, 0.0036),
    "at the aim": (0.003, 0.003),
    "one far above": (0.0096, 0.0026),
    "one almost closed": (0.0001, 0.0049),
    "both at an end": (0.0025, 0.005),
}


def drawn(gaps: tuple[float, float], rounds: tuple[Round, ...] = (), **look: object) -> str:
    plan = pawl_steps(load_machine("whimbrel"), lower_gap=gaps[0], upper_gap=gaps[1])
    known = known_gaps(plan.adjusters, plan.readings, rounds)
    return pawl_gaps_picture(plan, known, **look)  # type: ignore[arg-type]


@pytest.mark.parametrize("width", [280, 360, 640])
@pytest.mark.parametrize("us", [False, True], ids=["metric", "US"])
@pytest.mark.parametrize("name", GAPS)
def test_nothing_overlaps_or_leaves_the_page(name: str, us: bool, width: float) -> None:
    moved = (Round("lower", GAPS[name][0] + 0.001, turns=1.0),)
    for rounds in ((), moved):
        svg = drawn(GAPS[name], rounds, width=width, us=us)
        assert overlaps(svg) == []
        assert outside_page(svg) == []


@pytest.mark.parametrize("sun", [False, True])
def test_it_keeps_to_the_look_and_holds_no_style_or_script(sun: bool) -> None:
    svg = drawn(GAPS["one far above"], sun=sun)
    look = SUN if sun else DAY
    assert colours(svg) <= {look.paper, look.ink, look.soft, look.accent}
    assert "style=" not in svg
    assert "<script" not in svg


def test_what_is_only_reckoned_is_said_to_be() -> None:
    moved = (Round("lower", 0.0036, turns=-2.0),)
    svg = drawn((0.0062, 0.0041), moved)
    assert "now, reckoned: " in svg
    assert "lower pawl: measured 3.6 mm" in svg
    assert "upper pawl: reckoned " in svg
