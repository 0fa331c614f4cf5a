"""A limit on how long something may be worked out."""

from __future__ import annotations

import threading

import pytest

from tripmargin.circuit import network_from_machine, operate
from tripmargin.ground.patience import TooLongError, at_most, still_time
from tripmargin.machine import load_machine


def test_without_a_limit_there_is_always_time() -> None:
    still_time()


def test_a_limit_holds_within_it_and_in_its_own_thread_only() -> None:
    beside: list[bool] = []

    def other() -> None:
        still_time()
        beside.append(True)

    with at_most(-1.0):
        with pytest.raises(TooLongError, match="given up after"):
            still_time()
        with at_most(60.0):
            still_time()
        thread = threading.Thread(target=other)
        thread.start()
        thread.join()
        with pytest.raises(TooLongError):
            still_time()
    assert beside == [True]
    still_time()


def test_the_circuit_is_given_up_when_its_time_has_gone() -> None:
    network = network_from_machine(load_machine("dunlin"))
    with at_most(-1.0), pytest.raises(TooLongError):
        operate(network)
    assert operate(network)["key on"].lamps
