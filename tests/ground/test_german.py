"""Numbers, units and refusals in German.

A decimal comma, a space between thousands: SI brochure, 9th edition, 5.4.4. The German words are
checked against themselves only: no outside source.
"""

from __future__ import annotations

import pytest

from tripmargin.ground.errors import NotKnownError, QuantityError
from tripmargin.ground.languages import speaking
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.ground.units import percent, shown, written


def test_what_is_shown_has_a_comma_and_what_is_written_can_be_read_back() -> None:
    with speaking("de"):
        assert shown(0.0325, "length") == "32,5 mm"
        assert shown(1000 / 60, "rotation") == "1000 1/min"
        assert shown(1e-6, "current") == "0,000001 A"
        assert percent(0.99224) == "99,22 %"
        assert percent(1 - 3e-7) == "über 99,999 %"
        assert percent(float("nan")) == "nicht bekannt"
        assert quantity("3.4 mm +- 0.45 mm", "length").shown() == "3,4 mm +- 0,45 mm"
        assert quantity("3.4 mm +- 0.45 mm", "length").written() == "3.4 mm +- 0.45 mm"
        assert quantity(written(0.0325, "length"), "length").nominal == pytest.approx(0.0325)
        assert Quantity.exact(0.0325, "length").text == "32.5 mm"


def test_a_refusal_is_said_in_german_and_its_examples_can_be_typed() -> None:
    with speaking("de"), pytest.raises(QuantityError) as refused:
        quantity("33", "length")
    assert str(refused.value) == (
        "„33“: keine Einheit.\n  Erlaubt: Länge, etwa „330 mm“ oder „13 in“."
    )
    with speaking("de"), pytest.raises(QuantityError, match="„V“ ist eine Einheit für Spannung"):
        quantity("33 V", "length")


def test_what_is_not_known_is_said_in_german_in_the_words_of_the_file() -> None:
    with speaking("de"):
        said = str(NotKnownError("reach", ["sensor.assemblies"]))
    assert said.startswith(
        "Nicht bekannt: Reichweite. In der Maschinendatei fehlen dazu: sensor.assemblies."
    )


def test_things_in_a_row_are_joined_as_the_language_joins_them() -> None:
    with speaking("de"):
        assert listed(["Kugel", "Platte", "Rundstab"]) == "Kugel, Platte und Rundstab"
        assert listed(["6 mm", "8 mm"], "or") == "6 mm oder 8 mm"
    assert listed([]) == ""
