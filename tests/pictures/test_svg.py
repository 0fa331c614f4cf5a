import io
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from tests.pictures.reading import SVG, filled_area
from tripmargin.pictures.axes import Scale, log_ticks, nice_ticks
from tripmargin.pictures.fields import Field
from tripmargin.pictures.look import DAY
from tripmargin.pictures.save import png_bytes
from tripmargin.pictures.svg import Canvas, clean, shortened, text_width, wrapped


@given(st.text())
def test_any_text_survives_xml_less_what_xml_forbids(text):
    canvas = Canvas(300, DAY)
    canvas.text(0, 10, text, 12, data_name=text)
    root = ET.fromstring(canvas.done(20, text, text))
    node = root.find(f"{SVG}text")
    allowed = "".join(
        c
        for c in text
        if c in "\t\n\r" or " " <= c <= "\ud7ff" or "\ue000" <= c <= "\ufffd" or c >= "\U00010000"
    )
    # XML 1.0, 2.11: a parser hands on every line end as a line feed.
    assert (node.text or "") == allowed.replace("\r\n", "\n").replace("\r", "\n")


def test_markup_in_a_name_is_shown_and_not_obeyed():
    assert clean("<b>&\"'") == "&lt;b&gt;&amp;&quot;&#x27;"


def test_the_same_drawing_gives_the_same_bytes_and_another_gives_other_ids():
    def draw(word):
        canvas = Canvas(300, DAY)
        canvas.rect(0, 0, 10, 10, fill=canvas.pattern("dots", DAY.ink))
        canvas.text(0, 10, word, 12)
        return canvas.done(20, "title", "description")

    ids = [ET.fromstring(draw(word)).find(f"{SVG}title").get("id") for word in ("one", "two")]
    assert draw("one") == draw("one")
    assert ids[0] != ids[1]


def test_a_screen_reader_finds_a_role_a_title_and_a_description():
    root = ET.fromstring(Canvas(300, DAY).done(20, "Title", "What it shows."))
    title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert root.get("role") == "img"
    assert root.get("aria-labelledby").split() == [title.get("id"), description.get("id")]
    assert (title.text, description.text) == ("Title", "What it shows.")


@pytest.mark.parametrize("bold", [False, True])
def test_estimated_width_of_text_is_that_of_the_letters_as_drawn(bold):
    # Outside value: the PNG writer's own layout of its typeface. Bold is a mean factor: 5 %.
    text, size = "The quick brown Fox: 0123456789 mm, 99 %, jumps.", 20.0
    canvas = Canvas(700, DAY)
    style = {"font_weight": "bold"} if bold else {}
    canvas.text(10, 30, text, size, **style)
    image = Image.open(io.BytesIO(png_bytes(canvas.done(40, "t", "d"), scale=1.0))).convert("L")
    inked = np.flatnonzero((np.asarray(image) < 128).any(axis=0))
    drawn = inked.max() - inked.min()
    assert text_width(text, size, bold) == pytest.approx(drawn, rel=0.05 if bold else 0.02)


@given(st.text(alphabet="abc WM%0123 .", max_size=200), st.floats(20, 400))
def test_wrapped_lines_fit_and_lose_no_letter(text, width):
    lines = wrapped(text, 12, width)
    assert all(text_width(line, 12) <= width for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_a_number_is_not_parted_from_its_unit():
    text = "Longest cut 14.7 mm, at 99 % of the time"
    for width in range(60, 260, 3):
        lines = wrapped(text, 12, width)
        assert not any(line.startswith(("mm", "%")) for line in lines), lines


@given(st.text(min_size=1, max_size=60), st.floats(30, 200))
def test_shortened_text_fits(text, width):
    assert text_width(shortened(text, 12, width), 12) <= max(width, 12.0)


@given(st.floats(-1e3, 1e3), st.floats(1e-3, 1e3), st.integers(2, 10))
def test_ticks_are_round_even_and_inside(low, span, count):
    ticks = nice_ticks(low, low + span, count)
    assert all(low - 1e-6 * span <= t <= low + span * (1 + 1e-6) for t in ticks)
    assert len(ticks) <= count + 1
    if len(ticks) > 2:
        assert np.ptp(np.diff(ticks)) < 1e-6 * span


def test_log_ticks_are_the_usual_ones():
    assert log_ticks(3, 60, 5) == [5.0, 10.0, 20.0, 50.0]
    assert len(log_ticks(0.1, 0.14, 5)) >= 1


def test_a_logarithmic_scale_puts_equal_ratios_at_equal_distances():
    scale = Scale(1, 100, 0, 200, log=True)
    assert scale([1, 10, 100]) == pytest.approx([0, 100, 200])
    assert scale.values([0, 100, 200]) == pytest.approx([1, 10, 100])


def test_the_region_of_a_round_hill_has_the_area_of_a_circle_and_a_ring():
    # Plane geometry: r^2 <= 60^2 has area pi 60^2; between 30 and 60, pi (60^2 - 30^2).
    axis = np.linspace(-100, 100, 201)
    hill = -(axis[None, :] ** 2 + axis[:, None] ** 2)
    field = Field(axis, axis, hill)
    assert filled_area(field.region(-(60.0**2))) == pytest.approx(np.pi * 60**2, rel=2e-3)
    ring = filled_area(field.region(-(60.0**2), -(30.0**2)))
    assert ring == pytest.approx(np.pi * (60**2 - 30**2), rel=2e-3)


def test_a_level_that_is_reached_exactly_belongs_to_the_region():
    axis = np.array([0.0, 10.0, 20.0])
    field = Field(axis, axis, np.full((3, 3), 0.99))
    assert filled_area(field.region(0.99)) == pytest.approx(400.0)
    assert field.region(0.991) == ""
