import numpy as np
import pytest

from tests.pictures.examples import Blind, Reach, reach
from tests.pictures.reading import SVG, outside_page, overlaps, root_of, texts, words_of
from tripmargin.pictures import reach_picture
from tripmargin.pictures.look import DAY, contrast
from tripmargin.pictures.reach import levels_between

SPOTS = (
    Blind(-0.30, -0.28, 0.08, "edge of the sensor"),
    Blind(0.28, 0.30, 0.08, "edge of the sensor"),
    Blind(-0.01, 0.01, 0.02, "windings cancel, which they should not on a well-made sensor"),
)
REACHES = {
    "blind line": reach(),
    "no blind line": reach(False),
    "nothing to stop": reach(must_stop_diameter=None, probability=None),
    "nothing seen": reach(smallest_ball=np.full((21, 41), np.inf)),
    "hardly anything seen": reach(
        smallest_ball=np.where(np.arange(861).reshape(21, 41) == 400, 0.01, np.inf)
    ),
    "the same everywhere": reach(False, smallest_ball=np.full((21, 41), 0.008)),
    "all too small to see": reach(False, must_stop_diameter=0.001),
    "all seen": reach(False, must_stop_diameter=0.2),
    "scattered blind spots": reach(False, blind=SPOTS),
    "many blind spots": reach(
        False, blind=tuple(Blind(x, x + 0.01, 0.05, "weak") for x in np.arange(-0.3, 0.3, 0.04))
    ),
    "one height": reach(False, heights=np.array([0.05]), smallest_ball=np.full((1, 41), 0.012)),
    "one place": reach(False, places=np.array([0.0]), smallest_ball=np.full((21, 1), 0.012)),
    "one point": Reach(np.array([0.0]), np.array([0.05]), np.array([[0.012]])),
    "from the roll up": reach(heights=np.linspace(0, 0.09, 21)),
    "markup": reach(machine_name='<b>&"'),
}


@pytest.mark.parametrize("us", [False, True])
@pytest.mark.parametrize("width", [280, 360, 720])
@pytest.mark.parametrize("name", REACHES)
def test_every_text_stands_clear_of_the_edge_and_of_every_other(name, width, us):
    svg = reach_picture(REACHES[name], width=width, us=us)
    assert outside_page(svg) == []
    assert overlaps(svg) == []
    assert "nan" not in svg
    assert '"inf' not in svg


@pytest.mark.parametrize("width", [360, 720])
def test_the_blind_line_is_named_and_its_width_and_place_are_said(width):
    words = words_of(reach_picture(reach(), width=width))
    assert "Blind: windings cancel, up to 16 mm wide, in the middle." in words
    assert "Blind windings cancel" in words


def test_a_sensor_without_a_blind_line_shows_none():
    assert "lind" not in words_of(reach_picture(reach(False)))


def test_places_in_any_order_make_the_same_map():
    given, order = reach(False), np.random.default_rng(1).permutation(41)
    turned = reach(False, places=given.places[order], smallest_ball=given.smallest_ball[:, order])
    assert reach_picture(turned) == reach_picture(given)


def test_sizes_stand_on_their_lines():
    # Back from the label's place on the page, by the axes' own numbers, to place and height: there
    # the map must hold the label's size, linear between grid values.
    given = reach(False, must_stop_diameter=None)
    svg = reach_picture(given, width=720)
    ticks = {t.words: (t.top + t.bottom) / 2 for t in texts(svg) if t.right < 45}
    scale = (ticks["0"] - ticks["80"]) / 0.08
    low, high = (next(t for t in texts(svg) if t.words == w) for w in ("\u2212300", "300"))
    across = (high.left + high.right - low.left - low.right) / 2 / 0.6
    labels = [t for t in texts(svg) if t.left > 50 and t.words in ("3", "5", "8", "12", "20")]
    assert len(labels) >= 4
    for label in labels:
        height = (ticks["0"] - (label.top + label.bottom) / 2) / scale
        place = ((label.left + label.right - low.left - low.right) / 2) / across - 0.3
        row = [np.interp(place, given.places, r) for r in given.smallest_ball]
        size = np.interp(height, given.heights, row)
        assert size == pytest.approx(float(label.words) * 1e-3, rel=0.1)


def test_the_share_of_places_that_see_the_piece_to_stop_is_said():
    given = reach()
    share = float(np.mean(given.smallest_ball <= 0.020))
    assert f"seen at {100 * share:.1f} % of places" in words_of(reach_picture(given))


def test_nothing_seen_is_said():
    assert "no ball is seen anywhere" in words_of(reach_picture(REACHES["nothing seen"]))


def test_lines_between_sizes_stand_out_from_the_page():
    assert contrast(DAY.accent, DAY.paper) >= 3
    svg = reach_picture(reach(False))
    drawn = [n for n in root_of(svg).iter(f"{SVG}path") if n.get("stroke") == DAY.accent]
    assert len(drawn) >= 3


def test_tints_grow_paler_with_size_so_that_grey_print_keeps_their_order():
    svg = reach_picture(reach(False, must_stop_diameter=None))
    fills = [
        n.get("fill") for n in root_of(svg).iter(f"{SVG}path") if n.get("fill", "").startswith("#")
    ]
    ratios = [contrast(fill, DAY.paper) for fill in fills]
    assert ratios == sorted(ratios, reverse=True)
    assert len(set(fills)) == len(fills) >= 4


@pytest.mark.parametrize("us", [False, True])
def test_levels_are_round_few_and_inside(us):
    levels = levels_between(0.002, 0.3, us)
    assert 3 <= len(levels) <= 5
    assert all(0.002 < level < 0.3 for level in levels)


@pytest.mark.parametrize(
    "wrong", [np.full((21, 41), np.nan), np.zeros((21, 41)), np.ones((41, 21))]
)
def test_sizes_that_cannot_be_are_refused(wrong):
    with pytest.raises(ValueError, match="smallest_ball"):
        reach_picture(reach(smallest_ball=wrong))
