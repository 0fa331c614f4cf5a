"""The last few things made: each once, whoever asks."""

from __future__ import annotations

from collections.abc import Callable
from threading import Barrier, Thread

import pytest

from tripmargin.protection.remembered import Remembered


def counted(made: list[str], name: str) -> Callable[[], str]:
    def make() -> str:
        made.append(name)
        return name.upper()

    return make


def test_what_was_made_is_not_made_again() -> None:
    made: list[str] = []
    kept = Remembered[str, str](most=2)
    assert [kept.get(k, counted(made, k)) for k in "abab"] == ["A", "B", "A", "B"]
    assert made == ["a", "b"]


def test_the_one_asked_for_least_recently_goes_first() -> None:
    made: list[str] = []
    kept = Remembered[str, str](most=2)
    for k in "abac":  # b goes for c
        kept.get(k, counted(made, k))
    for k in "acb":
        kept.get(k, counted(made, k))
    assert made == ["a", "b", "c", "b"]


def test_a_memory_for_nothing_makes_anew() -> None:
    made: list[str] = []
    kept = Remembered[str, str](most=0)
    for k in "aa":
        kept.get(k, counted(made, k))
    assert made == ["a", "a"]


def test_what_could_not_be_made_is_tried_again() -> None:
    kept = Remembered[str, int](most=2)
    with pytest.raises(ZeroDivisionError):
        kept.get("a", lambda: 1 // 0)
    assert kept.get("a", lambda: 3) == 3


def test_two_that_ask_at_once_get_one_thing() -> None:
    made: list[object] = []
    kept = Remembered[str, object](most=2)
    start, found = Barrier(8), []

    def make() -> object:
        made.append(object())
        return made[-1]

    def ask() -> None:
        start.wait()
        found.append(kept.get("a", make))

    threads = [Thread(target=ask) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(made) == 1
    assert found == [made[0]] * 8
