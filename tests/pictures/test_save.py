import csv
import io
import os
import re
from html.parser import HTMLParser
from math import inf

import numpy as np
import pytest
from PIL import Image

from tests.pictures.examples import Spread, Stage, race, reach, window
from tripmargin.pictures import (
    Section,
    protection_map_picture,
    protection_map_table,
    race_picture,
    race_table,
    reach_picture,
    reach_table,
    save_picture,
)
from tripmargin.pictures.words import SAFETY

TABLE = (
    ("piece", "margin_m", "note"),
    [['8 mm rod, "long"', 0.1, "two\nlines"], ["<b>&", -1.25e-7, ""], ["nut", None, "ü"]],
)


def picture():
    return protection_map_picture(window(machine_name='<b>&"'), width=360)


def test_svg_is_written_as_given(tmp_path):
    path = save_picture(tmp_path / "map.svg", svg=picture())
    assert path.read_text(encoding="utf-8") == picture()


def test_png_shows_the_picture_twice_as_fine_with_its_letters(tmp_path):
    path = save_picture(tmp_path / "map.png", svg=picture())
    bare = save_picture(
        tmp_path / "bare.png", svg=re.sub(r"<text.*?</text>", "", picture(), flags=re.S)
    )
    with Image.open(path) as image, Image.open(bare) as without:
        assert image.width == 720
        title = (0, 0, 720, 60)
        dark = np.asarray(image.convert("L").crop(title)) < 100
        assert 0.02 < dark.mean() < 0.3
        assert not (np.asarray(without.convert("L").crop(title)) < 100).any()


def test_csv_comes_back_as_it_went(tmp_path):
    path = save_picture(tmp_path / "t.csv", table=TABLE)
    with path.open(newline="", encoding="utf-8") as file:
        back = list(csv.reader(file))
    assert back[0] == list(TABLE[0])
    assert back[1] == ['8 mm rod, "long"', "0.1", "two\nlines"]
    assert float(back[2][1]) == -1.25e-7
    assert back[3] == ["nut", "", "ü"]


class _Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.words, self.links = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [value for key, value in attrs if key in ("src", "href", "xlink:href")]

    def handle_data(self, data):
        self.words.append(data)


def page_of(path):
    page = _Page()
    page.feed(path.read_text(encoding="utf-8"))
    return page


def test_html_is_one_page_with_picture_table_and_words_of_safety(tmp_path):
    cautions = ["Engine off, key out & everything at rest."]
    path = save_picture(
        tmp_path / "p.html", svg=picture(), table=TABLE, title='<b>&"', cautions=cautions
    )
    page = page_of(path)
    words = "".join(page.words)
    assert {"svg", "table", "figure"} <= set(page.tags)
    assert SAFETY in words
    assert words.index(cautions[0]) < words.index("Longest protected cut")
    assert '8 mm rod, "long"' in words
    assert not {"script", "link", "img", "iframe", "b"} & set(page.tags)
    assert page.links == []
    assert not re.findall(r"https?://(?!www\.w3\.org/2000/svg)", path.read_text(encoding="utf-8"))


def test_html_shows_further_sections_below_the_table_and_the_cautions_above(tmp_path):
    sections = [
        Section("Because", ["a <b>line</b>"]),
        Section("Stages", table=(("stage", "takes"), [("relay's release", "9 mm")])),
    ]
    path = save_picture(
        tmp_path / "p.html", svg=picture(), table=TABLE, cautions=["Key out."], sections=sections
    )
    page = page_of(path)
    words = "".join(page.words)
    assert words.index("Key out.") < words.index("two\nlines") < words.index("Because")
    assert "a <b>line</b>" in words
    assert "relay's release" in words
    assert page.tags.count("table") == 2
    assert "b" not in page.tags


def test_a_table_says_never_for_a_stage_without_end():
    given = race(
        stages=(Stage(0.003, 0.002, 0.004, "decision_delay"), Stage(inf, 0.1, inf, "plunger")),
        margin=Spread(-inf, -inf, 0.1),
    )
    _, rows = race_table(given)
    assert rows[1] == ["plunger", "s", "never", 0.1, "never"]
    assert ["margin", "m", "runs on", "runs on", 0.1] in rows


def test_html_takes_many_pictures_and_no_id_stands_twice(tmp_path):
    makers = ((protection_map_picture, window()), (race_picture, race()), (reach_picture, reach()))
    wide = [make(given) for make, given in makers]
    slim = [make(given, width=360) for make, given in makers]
    path = save_picture(tmp_path / "p.html", svg=wide, phone=slim)
    ids = re.findall(r'\bid="([^"]*)"', path.read_text(encoding="utf-8"))
    assert len(ids) > 12
    assert len(set(ids)) == len(ids)


def test_html_refuses_phone_pictures_that_do_not_pair(tmp_path):
    with pytest.raises(ValueError, match="for a phone"):
        save_picture(tmp_path / "p.html", svg=[picture(), picture()], phone=[picture()])


def test_a_long_table_is_folded(tmp_path):
    rows = [[k] for k in range(1000)]
    path = save_picture(tmp_path / "p.html", svg=picture(), table=(("n",), rows))
    assert "<details><summary>1000 rows" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["map.pdf", "map", "map.svgz", "map.htm"])
def test_an_unknown_ending_is_refused_and_the_four_are_named(tmp_path, name):
    with pytest.raises(ValueError, match=r"\.svg, \.png, \.html or \.csv"):
        save_picture(tmp_path / name, svg=picture(), table=TABLE)
    assert list(tmp_path.iterdir()) == []


def test_an_ending_in_capitals_is_understood(tmp_path):
    assert save_picture(tmp_path / "MAP.SVG", svg=picture()).exists()


@pytest.mark.parametrize("name", ["map.svg", "map.png", "map.csv"])
def test_what_is_missing_is_said(tmp_path, name):
    with pytest.raises(ValueError, match=r"given"):
        save_picture(tmp_path / name)


@pytest.mark.parametrize("stop", ["replace", "fsync"])
@pytest.mark.parametrize("name", ["map.svg", "map.png", "map.html", "map.csv"])
def test_an_interrupted_write_leaves_the_old_file_and_nothing_else(
    tmp_path, monkeypatch, name, stop
):
    target = tmp_path / name
    target.write_text("old")

    def interrupt(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, stop, interrupt)
    with pytest.raises(KeyboardInterrupt):
        save_picture(target, svg=picture(), table=TABLE)
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_folder_that_is_not_there_is_an_error_of_the_system(tmp_path):
    with pytest.raises(OSError, match="no_such"):
        save_picture(tmp_path / "no_such" / "map.svg", svg=picture())


def test_tables_hold_the_numbers_of_the_picture():
    headers, rows = protection_map_table(window())
    assert len(rows) == 61 * 61
    assert all(abs(sum(row[2:]) - 1) < 1e-12 for row in rows)
    assert headers[:2] == ("cut_length_m", "ball_diameter_m")
    _, stages = race_table(race())
    assert stages[0] == ["decision_delay", "s", 0.003, 0.002, 0.004]
    _, uncaught = race_table(race(caught=False))
    assert ["margin", "m", None, None, None] in uncaught
    _, balls = reach_table(reach())
    assert len(balls) == 21 * 41
    assert sum(row[2] is None for row in balls) == 21


def test_a_table_is_csv_for_any_reader(tmp_path):
    path = save_picture(tmp_path / "t.csv", table=reach_table(reach()))
    back = np.genfromtxt(io.StringIO(path.read_text()), delimiter=",", skip_header=1)
    given = np.where(np.isfinite(reach().smallest_ball), reach().smallest_ball, np.nan)
    np.testing.assert_array_equal(back[:, 2], given.ravel())
