"""Which language the command line speaks: what was asked for, else what the terminal is set to."""

from __future__ import annotations

import os
from collections.abc import Mapping

import click

SETTING = "TRIPMARGIN_LANGUAGE"
# POSIX.1-2024, 8.2: the first that is set and not empty says the language of messages.
_OF_THE_TERMINAL = ("LC_ALL", "LC_MESSAGES", "LANG")


def speak_as_asked(_context: click.Context, _option: click.Parameter, asked: str | None) -> None:
    """Speak the language of `--language` or TRIPMARGIN_LANGUAGE, where one was asked for.

    Raises
    ------
    BadParameter
        If one was asked for that there is no catalogue of.
    """
    from tripmargin.ground.languages import LanguageError

    if asked is None:
        return
    try:
        _speak(asked)
    except LanguageError as error:
        raise click.BadParameter(str(error)) from error


def speak_as_the_terminal() -> None:
    """Speak what TRIPMARGIN_LANGUAGE or the terminal is set to, before any option is read.

    For help is said at once. A setting that is not known is refused when the options are read.
    """
    from tripmargin.ground.languages import LanguageError

    try:
        _speak(os.environ.get(SETTING) or of_the_terminal(os.environ))
    except LanguageError:
        _speak(of_the_terminal(os.environ))


def _speak(code: str) -> None:
    """Speak a language, and let the library of the command line speak it too.

    That library asks gettext for the words of the domain "messages", and gettext the environment
    for the language.
    """
    from tripmargin.ground.languages import ENGLISH, speak

    speak(code)
    if code != ENGLISH:
        import gettext

        from tripmargin.ground.languages.catalogue import CATALOGUES

        os.environ["LANGUAGE"] = code
        gettext.bindtextdomain("messages", str(CATALOGUES))


def of_the_terminal(environment: Mapping[str, str]) -> str:
    """The terminal's language where it is offered; English where it is not.

    >>> of_the_terminal({"LANG": "C.UTF-8"})
    'en'
    """
    from tripmargin.ground.languages import ENGLISH, known_languages

    setting = next((environment[name] for name in _OF_THE_TERMINAL if environment.get(name)), "")
    code = setting.partition(".")[0].partition("_")[0].lower()
    if code in ("", "c", "posix", ENGLISH):
        return ENGLISH
    return code if code in known_languages() else ENGLISH
