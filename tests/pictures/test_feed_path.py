"""The feed path in side view: to scale, honest about what is schematic, readable at any width."""

from dataclasses import replace
from functools import cache
from math import inf, isfinite, pi

import pytest

from tests.pictures.reading import SVG, outside_page, overlaps, root_of, words_of
from tripmargin import load_machine
from tripmargin.pictures import feed_path_picture
from tripmargin.pictures.feed_path_parts import feed_path_of
from tripmargin.protection import race
from tripmargin.sensing import Piece

CUTS = {"dunlin": 0.019, "whimbrel": 0.028, "curlew": 0.012, "sanderling": 0.016}


@cache
def stop(name, cut=None, piece=None):
    machine = load_machine(name)
    thing = Piece.from_text(piece or machine.limits.must_stop)
    return race(machine, cut_length=cut or CUTS[name], piece=thing)


@cache
def runs_on():
    """A stop whose plunger sticks: the metal goes on at its speed."""
    given = stop("whimbrel")
    stages = tuple(
        replace(s, nominal=inf, high=inf) if s.name == "plunger" else s for s in given.stages
    )
    way = given.position[0] + given.metal_speed * given.times
    never = type(given.margin)(-inf, low=-inf, high=-inf)
    return replace(given, stages=stages, margin=never, position=way, position_high=way * 1.05)


@cache
def missed():
    """A ball too small to be seen."""
    given = stop("dunlin", 0.006, "4 mm ball")
    assert given.margin is None
    return given


@cache
def through():
    """A machine let go: its pawls stand far off and the longest cut is set."""
    given = race(load_machine("whimbrel"), cut_length=0.028, piece=Piece.ball(0.02), clearance=0.02)
    assert given.margin.nominal < 0
    return given


def turned(degrees):
    machine = load_machine("whimbrel")
    rotation = replace(machine.sensor.rotation, nominal=degrees * pi / 180)
    return replace(machine, sensor=replace(machine.sensor, rotation=rotation))


CASES = {
    **{name: (lambda name=name: (load_machine(name), stop(name))) for name in CUTS},
    "slow": lambda: (load_machine("dunlin"), stop("dunlin", 0.006)),
    "not caught": lambda: (load_machine("dunlin"), missed()),
    "goes through": lambda: (load_machine("whimbrel"), through()),
    "runs on": lambda: (load_machine("whimbrel"), runs_on()),
    "no piece": lambda: (load_machine("curlew"), race(load_machine("curlew"), cut_length=0.017)),
    "not known": lambda: (load_machine("curlew"), None),
    "nothing known": lambda: (
        replace(load_machine("whimbrel"), feed=None, sensor=None, chain=None),
        None,
    ),
    "sensor upside down": lambda: (turned(180), stop("whimbrel")),
}


def part(svg, name):
    return next(n for n in root_of(svg).iter() if n.get("data-part") == name)


@pytest.mark.parametrize("playing", [False, True])
@pytest.mark.parametrize("us", [False, True])
@pytest.mark.parametrize("width", [320, 360, 720])
@pytest.mark.parametrize("name", CASES)
def test_every_text_stands_clear_of_the_edge_and_of_every_other(name, width, us, playing):
    machine, given = CASES[name]()
    svg = feed_path_picture(machine, given, width=width, us=us, sun=us, playing=playing)
    assert outside_page(svg) == []
    assert overlaps(svg) == []
    for wrong in ("nan", "inf", "<style", "style=", "<script", "href", "@page@"):
        assert wrong not in svg


@pytest.mark.parametrize("width", [320, 720])
@pytest.mark.parametrize("name", CUTS)
def test_lengths_are_drawn_in_the_machines_own_proportions(name, width):
    machine, given = CASES[name]()
    svg = feed_path_picture(machine, given, width=width)
    ruler = part(svg, "ruler")
    ends = float(ruler.get("x2")) - float(ruler.get("x1"))
    scale = ends / float(ruler.get("data-length"))  # px/m
    feed = machine.feed
    radius = float(part(svg, "lower roll").get("r"))
    assert radius / scale == pytest.approx(feed.roll_diameter.nominal / 2, rel=0.01)
    crop = float(part(svg, "crop").get("height"))
    assert crop / scale == pytest.approx(feed.crop_depth.high, rel=0.01)
    way = part(svg, "dimension to bar")
    length = float(way.get("x2")) - float(way.get("x1"))
    assert length / scale == pytest.approx(given.sensor_to_shear_bar.nominal, rel=0.01)
    margin = part(svg, "dimension margin")
    length = float(margin.get("x2")) - float(margin.get("x1"))
    assert length / scale == pytest.approx(given.margin.nominal, rel=0.01, abs=0.1 / scale)
    fan = float(part(svg, "may stand").get("width"))
    spread = given.position_high[-1] - given.position_low[-1]
    assert fan / scale == pytest.approx(spread, rel=0.01, abs=0.1 / scale)
    assert float(part(svg, "shear bar edge").get("x1")) == pytest.approx(
        float(margin.get("x2")), abs=0.11
    )


def test_the_sensor_is_drawn_as_the_file_has_it():
    machine = load_machine("whimbrel")
    svg = feed_path_picture(machine, stop("whimbrel"), width=720)
    scale = float(part(svg, "lower roll").get("r")) / 0.102
    magnet, keeper = part(svg, "magnet"), part(svg, "keeper")
    # The type sheet: 26 mm x 25 mm at z 80 mm; 60 mm x 8 mm at z 61 mm.
    assert float(magnet.get("width")) / scale == pytest.approx(0.026, abs=1e-4)
    assert -float(magnet.get("y")) / scale == pytest.approx(0.080 + 0.0125, abs=1e-4)
    assert float(keeper.get("height")) / scale == pytest.approx(0.008, abs=1e-4)
    windings = [n for n in root_of(svg).iter() if n.get("data-part") == "winding"]
    assert [float(n.get("x")) / scale for n in windings] == pytest.approx(
        [-0.028, 0.016], abs=1e-4
    )  # between 32 mm and 56 mm across


def test_both_assemblies_of_a_sensor_are_one_in_side_view():
    kinds = [block.kind for block in feed_path_of(load_machine("whimbrel")).blocks]
    assert kinds == ["keeper", "magnet", "winding", "winding"]


def test_a_sensor_turned_right_handed_about_x_turns_against_the_clock():
    svg = feed_path_picture(turned(30), stop("whimbrel"))
    sensor = next(
        n for n in root_of(svg).iter(f"{SVG}g") if "rotate(-30)" in n.get("transform", "")
    )
    assert any(n.get("data-part") == "magnet" for n in sensor)


def test_what_the_file_does_not_give_is_dashed_and_said():
    svg = feed_path_picture(load_machine("dunlin"), stop("dunlin"))
    for name in ("upper roll", "cutterhead"):
        assert part(svg, name).get("stroke-dasharray") is not None
    assert part(svg, "lower roll").get("stroke-dasharray") is None
    words = words_of(svg)
    assert "Dashed is schematic: upper roll, cutterhead and body of the shear bar." in words
    assert "not in the machine file" in words


def test_a_machine_of_which_nothing_is_known_is_all_dashes_and_has_no_number():
    machine, _ = CASES["nothing known"]()
    svg = feed_path_picture(machine, None, missing=("feed.roll_diameter",))
    assert part(svg, "lower roll").get("stroke-dasharray") is not None
    words = words_of(svg)
    assert "not known: the machine file does not give feed.roll_diameter" in words
    assert "Nothing here is to scale." in words
    assert " mm" not in words


def test_caught_and_standing_are_named_with_the_margin_and_its_unit():
    words = words_of(feed_path_picture(load_machine("whimbrel"), stop("whimbrel")))
    for said in ("caught", "stands", "margin 58 mm", "moves 327 mm in 51.3 ms"):
        assert said in words
    words = words_of(feed_path_picture(load_machine("whimbrel"), stop("whimbrel"), us=True))
    assert "margin 2.29 in" in words


def test_a_piece_that_is_not_caught_is_drawn_going_into_the_knives():
    svg = feed_path_picture(load_machine("dunlin"), missed())
    words = words_of(svg)
    assert "not caught" in words
    assert "so nothing stops it" in words.replace("\n", " ")
    assert "stands" not in words
    assert "margin" not in words
    assert not [n for n in root_of(svg).iter() if n.get("data-part") == "may stand"]


def test_a_piece_that_goes_through_stands_behind_the_shear_bar():
    svg = feed_path_picture(load_machine("whimbrel"), through())
    gap = part(svg, "dimension margin")
    assert float(gap.get("x1")) == pytest.approx(
        float(part(svg, "shear bar edge").get("x1")), abs=0.11
    )
    assert "through by" in words_of(svg)


def test_a_feed_that_runs_on_has_no_place_to_stand_and_no_clock_that_ends():
    words = words_of(feed_path_picture(load_machine("whimbrel"), runs_on()))
    assert "the feed runs on: no margin" in words
    assert "no rest" in words
    assert "plunger: never" in words
    assert "stands" not in words.split("Read it")[0]


def test_each_ratchet_has_the_teeth_of_the_file():
    svg = feed_path_picture(load_machine("whimbrel"), stop("whimbrel"))
    assert part(svg, "ratchet lower").get("data-teeth") == "15"
    assert "gap 4.4 mm" in words_of(svg)


def test_title_and_description_tell_the_picture():
    root = root_of(feed_path_picture(load_machine("whimbrel"), stop("whimbrel")))
    assert root.find(f"{SVG}title").text == "Feed path of Whimbrel in side view"
    told = root.find(f"{SVG}desc").text
    assert "Caught 179 mm before the sensor's axis." in told
    assert "It stands 148 mm behind the sensor's axis" in told


@pytest.mark.parametrize("slow", [0.5, 0.0, -1.0, 1e9, float("nan")])
def test_a_slowness_that_cannot_be_is_refused(slow):
    with pytest.raises(ValueError, match="slow"):
        feed_path_picture(load_machine("dunlin"), stop("dunlin"), playing=True, slow=slow)


def test_a_course_that_is_not_finite_is_refused():
    given = stop("dunlin")
    with pytest.raises(ValueError, match="position"):
        feed_path_picture(load_machine("dunlin"), replace(given, position=given.position * inf))
    assert isfinite(given.margin.nominal)
