"""Messages in the reader's language, with catalogues made for the test."""

from __future__ import annotations

import threading
from pathlib import Path

import numpy as np
import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo

from tripmargin.ground.languages import (
    LanguageError,
    catalogue,
    known_languages,
    language,
    numeral,
    say,
    say_as,
    say_many,
    speaking,
)


@pytest.fixture
def swedish(monkeypatch, tmp_path: Path):
    """A language more: a folder more, and no code."""
    words = Catalog(locale="sv")
    words.add("English", "Svenska", context="name of this language")
    words.add(".", ",", context="decimal sign")
    words.add("The gap is {gap:.1f} mm.", "Spelet är {gap:.1f} mm.")
    words.add(("{count} machine", "{count} machines"), ("{count} maskin", "{count} maskiner"))
    words.add("lower", "undre", context="pawl")
    words.add("{name}: {hours:,.0f} h", "{name}: {hours:,.0f} h")
    (tmp_path / "sv").mkdir()
    with (tmp_path / "sv" / "tripmargin.mo").open("wb") as file:
        write_mo(file, words)
    monkeypatch.setattr(catalogue, "CATALOGUES", tmp_path)
    catalogue.catalogue_of.cache_clear()
    yield
    catalogue.catalogue_of.cache_clear()


def test_a_folder_more_is_a_language_more(swedish):
    assert known_languages() == {"en": "English", "sv": "Svenska"}


@pytest.mark.usefixtures("swedish")
def test_it_is_spoken_within_the_with_only():
    with speaking("sv"):
        assert language() == "sv"
        assert say("The gap is {gap:.1f} mm.", gap=3.25) == "Spelet är 3,2 mm."
        assert say_many("{count} machine", "{count} machines", 2) == "2 maskiner"
        assert say_as("pawl", "lower") == "undre"
    assert language() == "en"
    assert say("The gap is {gap:.1f} mm.", gap=3.25) == "The gap is 3.2 mm."


@pytest.mark.usefixtures("swedish")
def test_numbers_of_every_kind_get_the_languages_sign():
    with speaking("sv"):
        assert numeral(1234.5, ",.1f") == "1\u202f234,5"
        assert say("The gap is {gap:.1f} mm.", gap=np.float64(0.5)) == "Spelet är 0,5 mm."
        # A name is no number, whatever signs it has.
        assert say("{name}: {hours:,.0f} h", name="J. 2.5", hours=1240) == "J. 2.5: 1\u202f240 h"


@pytest.mark.usefixtures("swedish")
def test_what_no_catalogue_holds_is_said_in_english():
    with speaking("sv"):
        assert say("Not yet translated.") == "Not yet translated."


@pytest.mark.usefixtures("swedish")
def test_what_a_person_wrote_is_never_taken_for_a_place_for_a_value():
    with speaking("sv"):
        assert say("{name}: {hours:,.0f} h", name="{hours}", hours=1) == "{hours}: 1 h"


@pytest.mark.usefixtures("swedish")
def test_another_thread_keeps_its_own_language():
    heard = []
    with speaking("sv"):
        thread = threading.Thread(target=lambda: heard.append(language()))
        thread.start()
        thread.join()
    assert heard == ["en"]


@pytest.mark.parametrize("code", ["xx", "../en", "", "d/e", "de.mo"])
def test_an_unknown_language_is_refused_with_the_known_ones(code):
    with pytest.raises(LanguageError, match="Allowed: en"), speaking(code):
        pass
    assert language() == "en"
