"""Errors that a person can act on."""

from __future__ import annotations

import pytest

from tripmargin.ground.errors import (
    MachineFileError,
    NotKnownError,
    Problem,
    QuantityError,
    TripmarginError,
    nearest,
    shortened,
)

NO_UNIT = Problem(
    "curlew.toml",
    41,
    "feed.sensor_to_shear_bar",
    '"33"',
    "no unit",
    'a length such as "330 mm" or "13 in", from 50 mm to 2000 mm',
    "Measure along the crop's path.",
)


def test_a_problem_says_where_what_was_seen_what_is_allowed_and_how_to_mend_it() -> None:
    assert str(NO_UNIT) == (
        'curlew.toml:41: feed.sensor_to_shear_bar = "33": no unit.\n'
        '  Allowed: a length such as "330 mm" or "13 in", from 50 mm to 2000 mm.\n'
        "  Measure along the crop's path."
    )


def test_a_file_error_carries_the_first_problem_and_shows_all() -> None:
    other = Problem("curlew.toml", None, "feed", "", "unknown key", "")
    error = MachineFileError([NO_UNIT, other])
    assert (error.file, error.line, error.field) == ("curlew.toml", 41, "feed.sensor_to_shear_bar")
    assert (error.value, error.allowed, error.hint) == ('"33"', NO_UNIT.allowed, NO_UNIT.hint)
    assert "curlew.toml: feed: unknown key." in str(error)


def test_what_is_not_known_is_named_in_the_words_of_the_file() -> None:
    error = NotKnownError("reach", ["sensor.assemblies", "detector.gain"])
    assert "reach needs sensor.assemblies, detector.gain" in str(error)


@pytest.mark.parametrize("kind", [MachineFileError, NotKnownError, QuantityError])
def test_every_refusal_is_of_one_family(kind: type) -> None:
    assert issubclass(kind, TripmarginError)


def test_the_nearest_known_word_is_offered_and_only_if_it_is_near() -> None:
    assert nearest("treshold", ["threshold", "gain"]) == "threshold"
    assert nearest("xyz", ["threshold", "gain"]) is None


def test_a_long_text_is_cut() -> None:
    assert shortened("y" * 1000) == "y" * 60 + "..."
