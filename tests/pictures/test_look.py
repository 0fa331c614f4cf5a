import pytest

from tests.pictures.examples import constant, race, reach, window
from tests.pictures.reading import colours, texts
from tripmargin.pictures import protection_map_picture, race_picture, reach_picture
from tripmargin.pictures.look import DAY, SUN, contrast, type_for

# WCAG 2.2, 1.4.3 and 1.4.11: contrast of a colour with white, to 1e-4 (as the package
# wcag-contrast-ratio 0.9 computes it; #777777 is the well-known grey that just fails).
WITH_WHITE = {
    "#767676": 4.5422,
    "#777777": 4.4781,
    "#595959": 7.0047,
    "#949494": 3.0335,
    "#0000ff": 8.5925,
    "#ff0000": 3.9985,
    "#000000": 21.0,
}
LOOKS = {"day": DAY, "sun": SUN}


@pytest.mark.parametrize(("colour", "ratio"), WITH_WHITE.items())
def test_contrast_is_that_of_the_accessibility_guidelines(colour, ratio):
    assert contrast(colour, "#ffffff") == pytest.approx(ratio, abs=1e-4)


@pytest.mark.parametrize("name", LOOKS)
def test_text_stands_out_at_least_four_and_a_half_to_one(name):
    ratios = {pair: contrast(*pair) for pair in LOOKS[name].texts}
    assert min(ratios.values()) >= 4.5, ratios


@pytest.mark.parametrize("name", LOOKS)
def test_regions_and_lines_stand_out_at_least_three_to_one(name):
    ratios = {pair: contrast(*pair) for pair in LOOKS[name].graphics}
    assert min(ratios.values()) >= 3.0, ratios


def test_the_sun_mode_has_the_greatest_contrast_there_is():
    assert contrast(SUN.ink, SUN.paper) == pytest.approx(21.0)
    assert contrast(SUN.accent, SUN.paper) > contrast(DAY.accent, DAY.paper)


def pictures(**how):
    yield protection_map_picture(window(), **how)
    yield protection_map_picture(constant(0.3, 0.4), **how)
    yield race_picture(race(), **how)
    yield race_picture(race(7.5), **how)
    yield race_picture(race(caught=False), **how)
    yield reach_picture(reach(), **how)
    yield reach_picture(reach(False, must_stop_diameter=None), **how)


@pytest.mark.parametrize("sun", [False, True])
def test_every_letter_is_drawn_in_a_colour_made_for_text_on_its_ground(sun):
    look = SUN if sun else DAY
    for svg in pictures(sun=sun):
        fills = {text.fill for text in texts(svg)}
        assert all(contrast(fill, look.paper) >= 4.5 for fill in fills), fills


@pytest.mark.parametrize("sun", [False, True])
def test_no_picture_uses_a_colour_outside_the_look(sun):
    look = SUN if sun else DAY
    palette = {look.paper, look.ink, look.soft, look.accent, look.wash}
    for svg in pictures(sun=sun):
        if "reach" not in svg.split("</title>")[0].lower():
            assert colours(svg) <= palette


@pytest.mark.parametrize("width", [280, 360, 519, 720, 1280])
def test_no_letter_is_under_eleven_pixels(width):
    assert min(type_for(width).small, type_for(width).body) >= 11
    for svg in pictures(width=width):
        assert min(text.size for text in texts(svg)) >= 11
