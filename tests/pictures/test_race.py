from dataclasses import replace
from math import inf

import numpy as np
import pytest

from tests.pictures.examples import STAGES, Spread, Stage, race
from tests.pictures.reading import SVG, outside_page, overlaps, root_of, texts, words_of
from tripmargin.pictures import race_picture
from tripmargin.pictures.lanes import lanes_of


def sticking(stage, *, surely):
    """A race in which a stage may never come about, or surely never does."""
    stages = tuple(
        replace(s, high=inf, nominal=inf if surely else s.nominal) if s.name == stage else s
        for s in STAGES
    )
    given, times = race(), np.linspace(0, 0.15, 91)
    runs_on = 0.02 + 2.2 * times
    low = np.interp(times, given.times, given.position_low)
    nominal = np.interp(times, given.times, given.position)
    return race(
        stages=stages,
        times=times,
        position=runs_on if surely else nominal,
        position_low=runs_on * 0.95 if surely else low,
        position_high=runs_on * 1.05,
        margin=replace(given.margin, low=-inf, nominal=-inf if surely else given.margin.nominal),
        probability_through=1.0 if surely else 0.34,
    )


RACES = {
    "the plunger may stick": sticking("plunger", surely=False),
    "the plunger sticks": sticking("plunger", surely=True),
    "the hold winding never lets go": sticking("release", surely=True),
    "a pawl may stick": sticking("swing upper", surely=False),
    "a pawl sticks": sticking("swing upper", surely=True),
    "never at rest": sticking("rest", surely=True),
    "the first stage never ends": sticking("decision_delay", surely=True),
    "too large": race(notes=("The piece is thicker (500 mm) than the opening: it cannot pass.",)),
    "stops": race(),
    "barely stops": race(6.0),
    "goes through": race(7.5),
    "goes far through": race(14.0),
    "not caught": race(caught=False),
    "rests at once": race(0.2),
    "not caught in the middle": race(margin=None, probability_through=0.7, crossing_y=None),
    "one pawl with coarse teeth": race(
        0.3,
        stages=(
            *STAGES[:4],
            Stage(0.008, 0.006, 0.010, "swing drive"),
            Stage(0.048, 0.0, 0.096, "tooth drive"),
            Stage(0.028, 0.02, 0.045, "rest"),
        ),
    ),
    "no piece": race(piece=None, crossing_y=0.0),
    "no detector": race(stages=STAGES[1:]),
    "no chain": race(stages=()),
    "one pawl": race(stages=(*STAGES[:6], STAGES[-1])),
    "a long pawl's name": race(
        stages=(
            *STAGES[:4],
            Stage(0.03, 0.02, 0.04, "swing the left one under the yellow guard"),
            Stage(0.03, 0.0, 0.06, "tooth the left one under the yellow guard"),
        )
    ),
    "seen before the axis": race(
        position=race().position - 0.08,
        position_low=race().position_low - 0.08,
        position_high=race().position_high - 0.08,
    ),
    "a vague shear bar": race(sensor_to_shear_bar=Spread(0.33, 0.28, 0.38)),
    "markup": race(machine_name='<b>&"', piece='<i>&"'),
}


@pytest.mark.parametrize("us", [False, True])
@pytest.mark.parametrize("width", [280, 360, 720])
@pytest.mark.parametrize("name", RACES)
def test_every_text_stands_clear_of_the_edge_and_of_every_other(name, width, us):
    svg = race_picture(RACES[name], width=width, us=us)
    assert outside_page(svg) == []
    assert overlaps(svg) == []
    assert "nan" not in svg
    assert "inf" not in svg
    assert "none" not in words_of(svg)


@pytest.mark.parametrize("width", [280, 360, 720])
def test_a_stage_that_never_ends_reaches_the_edge_with_an_arrow_and_says_so(width):
    svg = race_picture(RACES["the plunger sticks"], width=width)
    words = words_of(svg)
    assert "plunger: never" in words
    assert "upper pawl: never begins" in words
    assert "The feed runs on" in words
    assert "An arrow to the edge" in words.replace("\n", " ")
    assert "pawls in" not in words
    frame = next(n for n in root_of(svg).iter(f"{SVG}rect") if n.get("fill") == "none")
    edge = float(frame.attrib["x"]) + float(frame.attrib["width"])
    tips = [n for n in root_of(svg).iter(f"{SVG}path") if n.get("d", "").endswith("Z")]
    assert any(n.attrib["d"].startswith(f"M{edge - 1:.0f}") for n in tips)


def test_a_stage_that_may_stick_keeps_its_time_and_the_margin_its_best_end():
    words = words_of(race_picture(RACES["the plunger may stick"]))
    assert "plunger 7 ms, may never come about" in words
    assert "at worst the stop may never come about and the feed runs on" in words
    assert "margin 193 mm" in words
    assert "pawls in 43.1 ms" in words


def test_a_race_that_surely_ends_speaks_of_no_arrow():
    assert "arrow" not in words_of(race_picture(race()))


def test_a_piece_too_large_for_the_rolls_has_no_margin_and_its_notes_stand_above():
    words = words_of(race_picture(RACES["too large"]))
    assert "too large to pass between the rolls, so no margin holds" in words
    assert "it cannot pass." in words
    assert "margin 193" not in words
    assert "Chance" not in words


def test_the_feed_has_caught_when_the_later_pawl_has():
    lanes, caught = lanes_of(STAGES)
    before = 0.003 + 0.0065 + 0.0121 + 0.007
    assert caught == pytest.approx(before + 0.0074 + 0.0071)
    assert [lane.name for lane in lanes] == [
        "decision delay",
        "relay release",
        "release",
        "plunger",
        "lower pawl",
        "upper pawl",
        "rest",
    ]
    starts = [lane.bars[0].begins for lane in lanes]
    assert starts[4] == starts[5] == pytest.approx(before)
    assert starts[6] == pytest.approx(caught)


def test_stages_without_a_pawl_run_one_after_another():
    lanes, caught = lanes_of(STAGES[:3])
    assert [lane.bars[0].begins for lane in lanes] == pytest.approx([0, 0.003, 0.0095])
    assert caught == pytest.approx(0.0216)


def test_the_margin_is_drawn_as_long_as_it_is():
    given = race()
    svg = race_picture(given, width=720)
    lines = [n.attrib for n in root_of(svg).iter(f"{SVG}line")]
    upright = [n for n in lines if n["x1"] == n["x2"] and n.get("stroke-width") == "2"]
    drawn = max(abs(float(n["y1"]) - float(n["y2"])) for n in upright)
    zero, hundred = (
        next(t for t in texts(svg) if t.words == w and t.right < 60) for w in ("0", "100")
    )
    scale = (zero.bottom - hundred.bottom) / 0.1
    assert drawn / scale == pytest.approx(given.margin.nominal, rel=0.01)
    assert "margin 193 mm" in words_of(svg)


def test_a_margin_below_zero_is_said_as_going_through():
    # 28 mm + 7.5 m/s x (43.1 ms + 6.3 ms) - 330 mm = 68.5 mm.
    words = words_of(race_picture(race(7.5)))
    assert "goes through" in words
    assert "through by 68.5 mm" in words


def test_a_piece_that_is_not_caught_goes_through_and_has_no_margin():
    words = words_of(race_picture(race(caught=False)))
    assert "not caught with every input at its middle, so it goes through" in words
    assert "margin" not in words
    assert "Chance" not in words


def test_a_piece_that_only_some_machines_catch_keeps_its_chance_and_has_no_way_drawn():
    words = words_of(race_picture(RACES["not caught in the middle"]))
    assert "with every input at its middle it is not caught. Tolerances and noise decide" in words
    assert "so it goes through" not in words
    assert "Chance that it goes through: 70 %." in words
    assert "margin" not in words
    assert "at rest" not in words


def test_a_row_that_is_hard_to_name_is_given_room():
    words = words_of(race_picture(RACES["one pawl with coarse teeth"], width=360))
    assert "drive pawl 56 ms" in words


def test_small_chances_are_told_as_one_in_so_many():
    assert "Chance that it goes through: 1 in 3200." in words_of(race_picture(race()))


def test_the_instants_of_catch_and_rest_are_written():
    words = words_of(race_picture(race()))
    assert "pawls in 43.1 ms" in words
    assert "at rest 49.4 ms" in words


def test_every_stage_is_named_with_its_time():
    words = words_of(race_picture(race()))
    for stage in ("decision delay 3 ms", "relay release 6.5 ms", "plunger 7 ms", "rest 6.3 ms"):
        assert stage in words
    assert "upper pawl: swing 7.4, tooth 7.1 ms" in words


@pytest.mark.parametrize(
    "wrong", [{"position": np.full(91, np.nan)}, {"position_low": np.zeros(90)}]
)
def test_a_fan_that_cannot_be_is_refused(wrong):
    with pytest.raises(ValueError, match="fan"):
        race_picture(race(**wrong))
