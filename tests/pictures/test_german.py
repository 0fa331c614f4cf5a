"""The pictures in German: whole, with decimal commas for people and points for programs."""

from __future__ import annotations

import re

import pytest

from tests.pictures import examples
from tests.pictures.reading import outside_page, overlaps, root_of, words_of
from tripmargin.ground.languages import speaking
from tripmargin.machine import load_machine
from tripmargin.pictures import (
    Bar,
    case_picture,
    feed_path_picture,
    protection_map_picture,
    race_picture,
    race_table,
    reach_picture,
)
from tripmargin.pictures.answer_words import answer_words, touching
from tripmargin.pictures.chart_page_style import chart_style
from tripmargin.pictures.feed_path_parts import FeedRaceLike
from tripmargin.pictures.margins import rest_words
from tripmargin.pictures.page import html_page
from tripmargin.pictures.question_drawings import DRAWN, question_drawing
from tripmargin.pictures.save import csv_text
from tripmargin.pictures.svg import wrapped
from tripmargin.pictures.words import SAFETY, chance, length, measured_ms, plain_number
from tripmargin.protection import race
from tripmargin.sensing import Piece

WIDTHS = [320, 360, 720, 1200]
ENGLISH = re.compile(r"\b(the|of|and|is|with|at|to|from|not|are|seen|caught)\b")
QUESTIONS = [name if "." in name else f"chain.pawls.lower.{name}" for name in DRAWN]
MADE = {
    "map": lambda width: protection_map_picture(examples.window(), width=width, in_use=0.01),
    "race": lambda width: race_picture(examples.race(), width=width),
    "not caught": lambda width: race_picture(examples.race(caught=False), width=width),
    "reach": lambda width: reach_picture(examples.reach(blind_line=False), width=width),
    "case": lambda width: case_picture("Knot", ["Offen."], [Bar("F1", 0.8)], width=width),
}


@pytest.fixture(scope="module")
def stop() -> FeedRaceLike:
    ball = Piece.from_text("20 mm ball")
    return race(load_machine("curlew"), cut_length=0.014, piece=ball, x=0.05, height=0.05)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", MADE)
def test_long_words_overlap_nothing_and_none_is_english(name: str, width: float) -> None:
    with speaking("de"):
        svg = MADE[name](width)
    assert overlaps(svg) == []
    assert outside_page(svg) == []
    assert ENGLISH.findall(words_of(svg)) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_feed_path_has_room_for_its_names(stop: FeedRaceLike, width: float) -> None:
    with speaking("de"):
        svg = feed_path_picture(load_machine("curlew"), stop, width=width)
    assert overlaps(svg) == []
    assert outside_page(svg) == []
    assert {"Messertrommel", "Gegenschneide", "Oberwalze"} <= set(words_of(svg).split())
    assert "\N{HORIZONTAL ELLIPSIS}" not in words_of(svg)


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_questions_drawing_is_whole_and_kept_by_its_language(name: str) -> None:
    english = question_drawing(name)
    with speaking("de"):
        german = question_drawing(name)
    assert english is not None
    assert german is not None
    assert overlaps(german) == []
    assert outside_page(german) == []
    assert "Not to scale." in english
    assert "Nicht maßstäblich." in german
    assert question_drawing(name) == english


def test_a_person_reads_commas_and_a_program_points() -> None:
    with speaking("de"):
        svg = protection_map_picture(examples.window(), width=360)
        page = html_page("Wettlauf", [svg], table=race_table(examples.race()))
        written = csv_text(race_table(examples.race()))
    assert "Kleinste geschützte Kugel: 10,3 mm." in words_of(svg)
    for node in root_of(svg).iter():
        for name in ("x", "y", "cx", "cy", "width", "height", "font-size", "stroke-width"):
            if (value := node.get(name)) not in (None, "100%"):
                float(value)  # type: ignore[arg-type]
    assert '<html lang="de">' in page
    assert "<th>Größe</th>" in page
    assert ">0,0065<" in page
    assert csv_text(race_table(examples.race())) == written
    assert written.splitlines()[2] == "relay_release,s,0.0065,0.004,0.009"


def test_numbers_and_sentences_are_german() -> None:
    with speaking("de"):
        assert (plain_number(-12.345), length(0.0163, False)) == ("−12,3", "16,3 mm")
        assert measured_ms(0.06011, 0.05914, 0.06059) == ("60,1 ms", "59,1 ms", "60,6 ms")
        assert chance(3e-4) == "1 zu 3300"
        rests = rest_words(examples.Spread(0.0305, 0.0205, 0.041), False)
        page = html_page("Seite", [])
    assert rests == "kommt 30,5 mm vor der Gegenschneide zur Ruhe (20,5 bis 41 mm)"
    assert "Das schützt die Maschine, nicht Menschen." in page
    assert SAFETY not in page


def test_a_meters_ranges_are_joined_and_then_said() -> None:
    (joined,) = touching(["17 ohm to 1.3 kohm", "less than 17 ohm"])
    with speaking("de"):
        assert answer_words(joined) == "weniger als 1,3 kΩ"
        assert answer_words("6.1 V to 11.9 V") == "6,1 V bis 11,9 V"


def test_the_page_number_on_paper_is_german() -> None:
    with speaking("de"):
        assert 'content: "Seite " counter(page) " von " counter(pages);' in chart_style("Knot", [])
    assert 'content: "page " counter(page) " of " counter(pages);' in chart_style("Knot", [])


def test_a_long_word_is_broken_with_a_hyphen_and_a_parts_name_is_not() -> None:
    assert wrapped("Schleifenprüfung", 11, 80) == ["Schleifenprü-", "fung"]
    assert "".join(wrapped("K1.suppression_of_a_relay", 11, 60)) == "K1.suppression_of_a_relay"
