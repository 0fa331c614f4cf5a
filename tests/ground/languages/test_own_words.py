"""A machine file's own words: the demo machines' are translated, all others stay as written."""

from __future__ import annotations

import pytest

from tripmargin.ground.languages import later, speaking
from tripmargin.ground.languages.own_words import OwnWords, as_written
from tripmargin.ground.languages.phrases import Listed, Phrase

GERMAN = {
    "behind the cab": "hinter der Kabine",
    "supply in range": "Versorgung im Bereich",
    "key off": "Zündung aus",
}


@pytest.mark.parametrize("text", GERMAN)
def test_a_demo_machines_words_are_read_in_the_language_spoken(text):
    with speaking("de"):
        assert as_written(text) == GERMAN[text]
    assert as_written(text) == text


@pytest.mark.parametrize(
    "text", ["", "behind the cab, left", "Behind the cab", "{x}", "K1", "not known"]
)
def test_other_words_stay_as_their_owner_wrote_them(text):
    """Also words that the tool itself says elsewhere: "not known" is no machine's word."""
    with speaking("de"):
        assert as_written(text) == text


def test_what_is_kept_is_read_when_it_is_shown():
    place = OwnWords("behind the cab")
    where = Phrase(later("{part}: {place}"), {"part": "supply in range", "place": place})
    parts = Listed(("supply in range", "K1"))
    with speaking("de"):
        assert str(place) == "hinter der Kabine"
        assert "Versorgung im Bereich" in str(where)
        assert "hinter der Kabine" in str(where)
        assert str(parts).startswith("Versorgung im Bereich")
    assert str(where) == "supply in range: behind the cab"
    assert str(parts) == "supply in range and K1"
