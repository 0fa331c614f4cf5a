"""A piece: how it is made, read from words, turned, scaled and averaged."""

from __future__ import annotations

import contextlib
import json
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from tripmargin.ground.errors import QuantityError
from tripmargin.ground.tables import everyday_metal
from tripmargin.sensing.demagnetizing import polarizability
from tripmargin.sensing.pieces import Piece

lengths = st.floats(min_value=1e-4, max_value=1.0)
vectors = st.tuples(*[st.floats(min_value=-1.0, max_value=1.0)] * 3).filter(
    lambda vector: math.hypot(*vector) > 0.01
)


@given(lengths, lengths)
def test_a_rod_is_the_ellipsoid_of_its_proportions_and_volume(diameter, length):
    rod = Piece.rod(diameter, length)
    assert rod.volume == pytest.approx(math.pi / 4 * diameter**2 * length, rel=1e-9)
    assert rod.semi_axes / rod.semi_axes[1] == pytest.approx([length / diameter, 1, 1], rel=1e-9)


@given(lengths, lengths, lengths)
def test_a_plate_is_the_ellipsoid_of_its_proportions_and_volume(length, width, thickness):
    plate = Piece.plate(length, width, thickness)
    assert plate.volume == pytest.approx(length * width * thickness, rel=1e-9)
    expected = np.array([length, width, thickness]) / width
    assert plate.semi_axes / plate.semi_axes[1] == pytest.approx(expected, rel=1e-9)


@given(vectors)
@example((1.23456e-6, 4.11523e-7, 1.0))  # nearly along the axis that the others are taken from
def test_body_axes_are_square_to_each_other_and_the_first_is_the_length(axis):
    rod = Piece.rod(0.008, 0.12, axis=axis)
    assert_allclose(rod.orientation.T @ rod.orientation, np.eye(3), atol=1e-12)
    assert np.linalg.det(rod.orientation) == pytest.approx(1.0)
    assert_allclose(rod.orientation[:, 0], np.array(axis) / np.linalg.norm(axis), atol=1e-12)


@given(vectors)
def test_the_moment_tensor_has_the_polarizabilities_whatever_the_attitude(axis):
    rod = Piece.rod(0.008, 0.12, axis=axis)
    tensor = rod.moment_tensor()
    alpha = polarizability(rod.semi_axes, rod.relative_permeability)
    assert_allclose(np.linalg.eigvalsh(tensor), np.sort(alpha), rtol=1e-9)
    assert_allclose(tensor @ rod.orientation[:, 0], alpha[0] * rod.orientation[:, 0], atol=1e-12)


@pytest.mark.parametrize(
    ("word", "letter", "vector"),
    [("across", "x", (1, 0, 0)), ("along", "y", (0, 1, 0)), ("upright", "z", (0, 0, 1))],
)
def test_words_letters_and_vectors_for_an_attitude_agree(word, letter, vector):
    rods = [Piece.rod(0.008, 0.12, axis=axis) for axis in (word, letter, vector)]
    assert rods[0] == rods[1] == rods[2]
    assert rods[0] == Piece.from_text(f"8 mm x 120 mm rod {word}")
    assert rods[0] == Piece.from_text(f"8 mm x 120 mm rod axis {letter}")
    assert hash(rods[0]) == hash(rods[1])


def test_a_plate_lies_flat_unless_it_stands():
    assert_allclose(Piece.plate(0.06, 0.04, 0.003).orientation[:, 2], [0, 0, 1])
    assert_allclose(Piece.plate(0.06, 0.04, 0.003, axis="along").orientation[:, 2], [0, 0, 1])
    assert_allclose(Piece.plate(0.06, 0.04, 0.003, axis="upright").orientation[:, 2], [0, 1, 0])
    edge_on = Piece.plate(0.06, 0.04, 0.003, normal="across")
    assert_allclose(edge_on.orientation[:, :1].T, [[0, 1, 0]])


def test_a_thin_side_that_is_not_square_to_the_length_is_refused():
    with pytest.raises(ValueError, match="not square"):
        Piece.plate(0.06, 0.04, 0.003, axis="x", normal=(1, 0, 1))


def test_a_piece_says_whether_its_attitude_was_given():
    assert not Piece.rod(0.008, 0.12).attitude_given
    assert not Piece.from_text("M12x40 bolt").attitude_given
    assert not Piece.ball(0.02).attitude_given
    assert Piece.rod(0.008, 0.12, axis="x").attitude_given
    assert Piece.from_text("M12x40 bolt across").attitude_given
    assert Piece.rod(0.008, 0.12).turned("y").scaled(2.0).attitude_given


@given(st.floats(min_value=0.1, max_value=10.0))
def test_a_scaled_piece_grows_in_every_dimension(factor):
    bolt = replace(Piece.from_table("M12x40 bolt", axis="y"), remanent_moment=[0.0, 0.01, 0.0])
    grown = bolt.scaled(factor)
    assert grown.dimensions == pytest.approx([factor * value for value in bolt.dimensions])
    assert grown.mass == pytest.approx(factor**3 * bolt.mass)
    assert_allclose(grown.moment_tensor(), factor**3 * bolt.moment_tensor(), rtol=1e-9, atol=1e-20)
    assert_allclose(grown.remanent_moment, factor**3 * bolt.remanent_moment)


def test_a_name_follows_the_scale():
    assert Piece.ball(0.02).scaled(1.1).name == "22 mm ball"
    assert Piece.from_table("M8 nut").scaled(2).name == "M8 nut, 2 times"


def test_a_remanent_moment_turns_with_its_piece():
    rod = replace(Piece.rod(0.008, 0.12), remanent_moment=[0.02, 0.0, 0.0])
    assert_allclose(rod.turned("y").remanent_moment, [0.0, 0.02, 0.0], atol=1e-15)


@pytest.mark.parametrize("n", [1, 2, 5, 12])
def test_averaging_points_integrate_polynomials_over_the_body(n):
    # Gauss-Legendre with n points is exact up to degree 2 n - 1.
    power = 2 * ((2 * n - 1) // 2)
    offsets, weights = Piece.rod(0.01, 0.2, axis="y").averaging_points(n)
    assert weights.sum() == pytest.approx(1.0)
    assert_allclose(offsets[:, [0, 2]], 0.0, atol=1e-15)
    assert weights @ offsets[:, 1] ** power == pytest.approx(0.1**power / (power + 1))
    offsets, weights = Piece.plate(0.2, 0.2, 0.01, axis="y", normal="x").averaging_points(n)
    assert weights.sum() == pytest.approx(1.0)
    assert_allclose(offsets[:, 0], 0.0, atol=1e-15)
    mean = weights @ (offsets[:, 1] * offsets[:, 2]) ** power
    assert mean == pytest.approx((0.1**power / (power + 1)) ** 2)


def test_a_ball_is_averaged_at_one_point_and_none_is_refused():
    offsets, weights = Piece.ball(0.02).averaging_points(7)
    assert offsets.shape == (1, 3)
    assert weights.tolist() == [1.0]
    with pytest.raises(ValueError, match="at least one point"):
        Piece.rod(0.01, 0.1).averaging_points(0)


@pytest.mark.parametrize(
    ("text", "kind", "millimetres", "made_of"),
    [
        ("20 mm ball", "ball", (20,), "steel"),
        ("20mm BALL", "ball", (20,), "steel"),
        ("2 cm ball", "ball", (20,), "steel"),
        ("3/4 in ball", "ball", (19.05,), "steel"),
        ("1 1/2 in ball", "ball", (38.1,), "steel"),
        ("1-1/2 in ball", "ball", (38.1,), "steel"),
        ('0.5" ball', "ball", (12.7,), "steel"),
        ("8 mm x 120 mm rod", "rod", (8, 120), "steel"),
        ("8 mm × 12 cm rod", "rod", (8, 120), "steel"),
        ("8 x 120 mm rod", "rod", (8, 120), "steel"),
        ("60 mm x 40 mm x 3 mm plate", "plate", (60, 40, 3), "steel"),
        ("stainless ball 20 mm", "ball", (20,), "stainless steel"),
        ("20 mm ball of brass, along", "ball", (20,), "brass"),
        ("20 mm aluminum ball", "ball", (20,), "aluminium"),
        ("M12 X 40 bolt", "rod", (12.48, 47.5), "steel"),
        ("M12x40 bolt stainless", "rod", (12.48, 47.5), "stainless steel"),
        ("m10x37 bolt", "rod", (10.54, 43.4), "steel"),
    ],
)
def test_pieces_are_read_from_words(text, kind, millimetres, made_of):
    piece = Piece.from_text(text)
    assert piece.kind == kind
    assert np.array(piece.dimensions) * 1e3 == pytest.approx(millimetres, rel=1e-3)
    assert piece.material == made_of


@pytest.mark.parametrize("name", list(everyday_metal()))
def test_every_name_in_the_table_is_understood_as_words(name):
    piece = Piece.from_text(f"{name} upright")
    assert piece == Piece.from_table(name, axis="z")
    assert piece.name == name


@given(lengths, lengths)
def test_the_name_of_a_piece_reads_back_as_the_piece(diameter, length):
    rod = Piece.rod(diameter, length, material="brass")
    back = Piece.from_text(rod.name)
    assert back.dimensions == pytest.approx(rod.dimensions, rel=1e-5)
    assert back.material == "brass"


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("20 ball", "no unit after '20'"),
        ("8 mm x 120 rod", "no unit after '120'"),
        ("20 furlong ball", "'furlong' is not understood"),
        ("20 mm", "no ball, rod or plate"),
        ("", "no ball, rod or plate"),
        ("-20 mm ball", "diameter = -0.02 m: must be positive"),
        ("0 mm ball", "must be positive"),
        ("1e400 mm ball", "inf m: must be positive and finite"),
        ("nan mm ball", "'nan mm' is not understood"),
        ("1/0 in ball", "divides by zero"),
        ("20 mm x 3 mm ball", "a ball needs diameter, and 2 lengths stand there"),
        ("20 mm gold ball", "'gold' is not understood"),
        ("20 mm ball across along", "says twice"),
        ("x" * 10_000, "at most 200 letters"),
        ("20 mm ball\0", "not understood"),
    ],
)
def test_words_that_are_no_piece_are_refused_with_what_is_allowed(text, problem):
    with pytest.raises(QuantityError) as refused:
        Piece.from_text(text)
    assert isinstance(refused.value, ValueError)
    assert problem in refused.value.problem
    assert len(str(refused.value)) < 700


def test_a_misspelt_name_is_told_the_nearest_one():
    with pytest.raises(QuantityError, match='"M12x40 bolt"'):
        Piece.from_text("M12x40 bollt")
    with pytest.raises(ValueError, match="'M12x40 bolt'"):
        Piece.from_table("M12x40 bollt")


FRAGMENTS = ["20", "1/2", "-", "x", "by", " ", "mm", "in", '"', "e9", ".", "ball", "rod", "plate"]
FRAGMENTS += ["M8", "bolt", "nut", "brass", "steel", "of", ",", "along", "axis", "z", "١", "½"]


@given(st.text(max_size=40) | st.lists(st.sampled_from(FRAGMENTS), max_size=9).map(" ".join))
def test_any_text_is_a_piece_or_a_plain_refusal(text):
    with contextlib.suppress(QuantityError):
        assert Piece.from_text(text).volume > 0


@pytest.mark.parametrize("bad", [0.0, -0.01, math.nan, math.inf])
def test_dimensions_that_cannot_be_are_refused_by_name(bad):
    with pytest.raises(ValueError, match=r"diameter = .* must be positive and finite"):
        Piece.ball(bad)
    with pytest.raises(ValueError, match=r"length = .* must be positive and finite"):
        Piece.rod(0.01, bad)
    with pytest.raises(ValueError, match=r"thickness = .* must be positive and finite"):
        Piece.plate(0.1, 0.1, bad)
    with pytest.raises(ValueError, match=r"factor = .* must be positive and finite"):
        Piece.ball(0.01).scaled(bad)


@pytest.mark.parametrize("axis", ["sideways", (0, 0, 0), (math.nan, 0, 1), (1, 0)])
def test_an_axis_without_a_direction_is_refused(axis):
    with pytest.raises(ValueError, match="not a direction"):
        Piece.rod(0.01, 0.1, axis=axis)


def test_a_piece_is_frozen_to_its_arrays_and_ready_for_json():
    piece = Piece.from_text("M12x40 bolt along")
    with pytest.raises(ValueError, match="read-only"):
        piece.semi_axes[0] = 1.0
    written = json.loads(json.dumps(piece.to_dict()))
    assert written["name"] == "M12x40 bolt"
    assert written["mass_kg"] == pytest.approx(piece.mass)
    assert written["dimensions_m"] == list(piece.dimensions)
