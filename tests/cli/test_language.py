"""The command line in another language: asked for by option, by setting, or by the terminal."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from tripmargin.cli.language import of_the_terminal
from tripmargin.ground.languages import known_languages

SETTINGS = ("LANG", "LC_ALL", "LC_MESSAGES", "LANGUAGE", "TRIPMARGIN_LANGUAGE")


def run(*args: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """A process of its own: a language is spoken until the end of one."""
    clean = {name: value for name, value in os.environ.items() if name not in SETTINGS}
    command = [sys.executable, "-m", "tripmargin.cli", *args]
    return subprocess.run(
        command, capture_output=True, text=True, env=clean | environment, check=False
    )


def test_an_answer_is_said_in_the_language_asked_for() -> None:
    said = run("--language", "de", "race", "curlew", "--cut", "9 mm")
    assert said.returncode == 0, said.stderr
    assert "Das schützt die Maschine, nicht Menschen." in said.stdout
    assert "This protects" not in said.stdout
    numbers = [word for word in said.stdout.split() if word.replace(",", "").isdigit()]
    assert any("," in word for word in numbers), "a decimal comma"


def test_the_help_of_commands_and_of_their_library_is_said_too() -> None:
    said = run("--help", TRIPMARGIN_LANGUAGE="de").stdout
    assert said.startswith("Aufruf: ")
    assert "Befehle:" in said
    assert "Usage" not in said
    whole = run("card", "--help", TRIPMARGIN_LANGUAGE="de").stdout
    assert "Eine HTML-Datei." in whole  # a help of several paragraphs


def test_data_stay_as_they_are_in_every_language() -> None:
    english, german = (
        run("--language", code, "race", "curlew", "--cut", "9 mm", "--json").stdout
        for code in ("en", "de")
    )
    assert '"margin_m"' in german
    assert english.split('"assumed"')[0] == german.split('"assumed"')[0]


@pytest.mark.parametrize("how", ["option", "setting"])
def test_a_language_that_is_not_there_is_refused_with_those_that_are(how: str) -> None:
    if how == "option":
        refused = run("--language", "xx", "prove", "dunlin")
    else:
        refused = run("prove", "dunlin", TRIPMARGIN_LANGUAGE="xx")
    assert refused.returncode == 2
    assert "'xx': there is no catalogue of it" in refused.stderr
    assert "Traceback" not in refused.stderr


@pytest.mark.parametrize(
    ("environment", "code"),
    [
        ({}, "en"),
        ({"LANG": "en_GB.UTF-8"}, "en"),
        ({"LANG": "C"}, "en"),
        ({"LANG": "xx_YY.UTF-8"}, "en"),
        ({"LC_ALL": "", "LANG": "POSIX"}, "en"),
    ],
)
def test_the_terminals_language_is_taken_where_it_is_offered(
    environment: dict[str, str], code: str
) -> None:
    assert of_the_terminal(environment) == code


def test_the_first_setting_that_is_not_empty_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    """POSIX.1-2024, 8.2: LC_ALL before LC_MESSAGES before LANG."""
    offered = known_languages() | {"sv": "Svenska"}
    monkeypatch.setattr("tripmargin.ground.languages.known_languages", lambda: offered)
    assert of_the_terminal({"LC_ALL": "sv_SE.UTF-8", "LANG": "en_GB"}) == "sv"
    assert of_the_terminal({"LC_ALL": "", "LC_MESSAGES": "sv", "LANG": "en_GB"}) == "sv"
    assert of_the_terminal({"LC_ALL": "C", "LANG": "sv_SE"}) == "en"
