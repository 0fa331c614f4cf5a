"""The tables: enough rows, each with a source, and a reference page that is current."""

from __future__ import annotations

import math

import pytest

from tripmargin.ground.tables import (
    everyday_metal,
    everyday_piece,
    find_everyday_piece,
    material,
    materials,
    table_words,
)
from tripmargin.ground.tables.equivalents import round_link
from tripmargin.ground.tables.page import everyday_metal_page


def test_at_least_forty_pieces_of_everyday_metal_are_in_the_table():
    assert len(everyday_metal()) >= 40


@pytest.mark.parametrize("row", everyday_metal().values(), ids=lambda row: row.name)
def test_every_piece_has_a_shape_a_material_and_a_source(row):
    assert len(row.dimensions) == {"ball": 1, "rod": 2, "plate": 3}[row.kind]
    assert all(math.isfinite(value) and 1e-4 < value < 0.5 for value in row.dimensions)
    assert row.material in materials()
    marks = ("from memory", "no source", "invented", "published tables", "DIN", "ISO", "EN ")
    assert any(mark in row.source for mark in marks)
    if row.kind == "plate":  # a plate's thin side is its last
        assert list(row.dimensions) == sorted(row.dimensions, reverse=True)


@pytest.mark.parametrize("row", materials().values(), ids=lambda row: row.name)
def test_every_material_says_whether_it_is_seen_and_why(row):
    low, high = row.relative_permeability_range
    assert low <= row.relative_permeability <= high
    assert row.conductivity > 0
    assert 1000 < row.density < 20_000
    assert row.visible == ("no" if high <= 1.1 else "hardly" if low < 2 else "yes")
    assert row.because.endswith(".")
    assert row.source


def test_no_two_words_mean_two_materials():
    words = [word for row in materials().values() for word in (row.name, *row.aliases)]
    assert len(words) == len(set(words))


def test_an_unknown_material_is_told_the_nearest():
    with pytest.raises(ValueError, match="Did you mean 'stainless steel'"):
        material("stainles steel")


def test_a_bolt_of_a_known_thread_may_have_any_length_but_not_any_thread():
    assert everyday_piece("M8x33 bolt").dimensions[1] == pytest.approx(38.3e-3)
    assert find_everyday_piece("M7x33 bolt") is None
    assert find_everyday_piece("M8x0 bolt") is None
    assert find_everyday_piece("M8x2000 bolt") is None


def test_a_bolt_of_a_known_size_is_spelled_as_in_the_table():
    assert find_everyday_piece(" m8 × 30  BOLT ") == "M8x30 bolt"


def test_a_round_link_holds_the_steel_of_its_bent_wire():
    # Pappus: area of the wire times the length of its middle line; a link as round as a ring.
    _, (length, width, thickness), _ = round_link(wire=0.01, pitch=0.04, width=0.06)
    assert length == pytest.approx(width)
    assert length / thickness == pytest.approx(6.0)
    ring = math.pi / 4 * 0.01**2 * math.pi * 0.05
    assert length * width * thickness == pytest.approx(ring)


def test_the_reference_page_of_everyday_metal_is_current(project_root):
    page = project_root / "docs" / "reference" / "everyday-metal.md"
    assert page.read_text(encoding="utf-8") == everyday_metal_page()


def test_the_words_of_the_tables_are_marked_for_the_catalogues():
    assert set(table_words.MATERIAL_WORDS) == set(materials())
    assert set(table_words.WHY_SEEN) == {row.because for row in materials().values()}
    assert set(table_words.PIECE_WORDS) <= set(everyday_metal())
