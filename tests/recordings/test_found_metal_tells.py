"""Why found metal teaches the stop and not the sensor: what it would tell of it, by simulation.

Metal in the field comes at any height and place. It is found where it tripped, and seldom where it
did not: let a piece that went through be found as often as one that tripped, or down to 30 times
less often, nobody knows. What a find says of the sensor is then the chance of having tripped among
what is found. The numbers stand in docs/how-to/calibrate-a-machine.md.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ndtr

import tripmargin
from tripmargin.machine import Machine
from tripmargin.recordings.calibrating import MetalFound, TestPass, calibrate, first_pass
from tripmargin.recordings.calibrating.seeing import UNKNOWN_SIGNAL
from tripmargin.recordings.calibrating.seen import Seen
from tripmargin.recordings.calibrating.signals import REFERENCE, signal
from tripmargin.sensing import Piece
from tripmargin.stopping import metal_speed

Floats = NDArray[np.float64]
LEVELS = np.linspace(-5, 5, 161) * UNKNOWN_SIGNAL  # ln(signal over the file's)
RATES = np.geomspace(1 / 30, 1.0, 7)  # how often what was missed is found, over what tripped
KNOWN = (0.0, 0.1)  # ln(signal over a ball of that size), mean and sd: a ball
# The same for every magnetic piece of the tables in its three attitudes against a ball as large as
# its longest side (worked out once, on Curlew, 40 mm above the roll).
UNKNOWN = (-1.7, 2.0)


@pytest.fixture(scope="module")
def curlew() -> Machine:
    return tripmargin.load_machine("curlew")


@pytest.fixture(scope="module")
def places(curlew: Machine) -> Floats:
    """ln(peak over threshold) of the reference ball, evenly over width and height of the crop."""
    width, depth = curlew.need("a test", "feed.roll_width", "feed.crop_depth")
    speed = metal_speed(curlew, 0.012)
    xs = width.nominal * (np.arange(5) - 2) / 5
    heights = depth.low + (depth.high - depth.low) * (np.arange(5) + 0.5) / 5
    still = np.zeros(1)
    return np.array(
        [
            signal(curlew, REFERENCE, float(x), float(h), speed).log_peak(still, still)[0]
            for x in xs
            for h in heights
        ]
    ) - np.log(1.5)


def _chance(places: Floats, size: float, shape: tuple[float, float], level: Floats) -> Floats:
    """Of tripping, wherever it came along; the places stand a step of about 0.25 apart."""
    at = places[:, None] + 3 * np.log(size / 0.01) + shape[0] + level
    return np.asarray(ndtr(at / np.hypot(shape[1], 0.25)).mean(axis=0))


def _narrowed(places: Floats, shape: tuple[float, float], tripped: int, missed: int) -> float:
    """Standard deviation of ln(signal) after the finds over that before, mean of 80 yards."""
    random = np.random.default_rng(1)
    before = np.exp(-0.5 * (LEVELS / UNKNOWN_SIGNAL) ** 2)
    made = []
    for _ in range(80):
        true = UNKNOWN_SIGNAL * random.normal()
        log = np.zeros((len(RATES), len(LEVELS)))
        left = {True: tripped, False: missed}
        while any(left.values()):
            size = float(np.exp(random.uniform(np.log(0.006), np.log(0.04))))
            at = random.choice(places) + 3 * np.log(size / 0.01)
            trips = bool(at + shape[0] + shape[1] * random.normal() + true > 0)
            if left[trips] == 0:
                continue
            left[trips] -= 1
            chance = _chance(places, size, shape, LEVELS)
            found = chance + RATES[:, None] * (1 - chance)
            log += np.log((chance if trips else RATES[:, None] * (1 - chance)) / found)
        after = np.exp(log - log.max()).mean(axis=0) * before
        after /= after.sum()
        mean = after @ LEVELS
        made.append(np.sqrt(after @ (LEVELS - mean) ** 2) / UNKNOWN_SIGNAL)
    return float(np.mean(made))


def test_metal_that_tripped_tells_next_to_nothing_of_the_sensor(places: Floats) -> None:
    """Ten pieces found after their trips narrow the signal by less than 1 %, even balls."""
    assert 0.99 < _narrowed(places, KNOWN, 10, 0) < 1.0
    assert 0.99 < _narrowed(places, UNKNOWN, 10, 0) < 1.005


def test_metal_that_went_through_tells_little(places: Floats) -> None:
    """Three pieces found in the knives: less than a tenth if they were balls, 1 % else."""
    assert 0.9 < _narrowed(places, KNOWN, 0, 3) < 0.95
    assert 0.98 < _narrowed(places, UNKNOWN, 0, 3) < 1.0


def test_one_chosen_pass_tells_more_than_all_of_them(curlew: Machine) -> None:
    """The first pass, whichever its answer, takes more than a quarter off."""
    asked, nothing = first_pass(curlew), Seen.of(curlew, (), 0.005)
    before = nothing.learned.sd(nothing.log_size())
    mean = 0.0
    for caught in (True, False):
        one = TestPass(asked.piece, asked.x, asked.height, asked.speed, caught=caught)
        seen = Seen.of(curlew, (one,), 0.005)
        share = asked.chance if caught else 1 - asked.chance
        mean += share * seen.learned.sd(seen.log_size()) / before
    assert mean < 0.75


def test_the_result_says_so(curlew: Machine) -> None:
    found = calibrate(curlew, [MetalFound(Piece.ball(0.03), 0.012, 0.15)], suggest=False)
    assert found.signal is None
    assert any("says next to nothing of the sensor" in line for line in found.assumed)
