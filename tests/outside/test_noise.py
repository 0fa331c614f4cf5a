"""The filter and its noise against a general library, closed forms and brute force.

Sources: scipy.signal for the analogue filter; Rice 1944/45 and CHECKS 2.1 to 2.5 for the rates;
noise made here as white Gaussian samples, shaped in the frequency domain by the textbook transfer
function, finely sampled (CHECKS 2.5: coarse sampling undercounts crossings).
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy import integrate, signal

from tests.made_machines import made
from tripmargin.sensing import (
    Filter,
    Piece,
    crossing_chance,
    false_trips_per_hour,
    simulate_pass,
)
from tripmargin.sensing.detector import output_only, through_filter

FILTERS = [
    pytest.param(Filter(900.0, 6.0, 160.0), id="both corners"),
    pytest.param(Filter(3.0, None, 40.0), id="low-pass alone"),
    pytest.param(Filter(1.0, 25.0, None), id="high-pass alone"),
    pytest.param(Filter(50.0, 30.0, 45.0), id="corners close together"),
]


def analogue(filter_: Filter) -> signal.TransferFunction:
    """The same filter written as a ratio of polynomials in s."""
    top, bottom = np.array([filter_.gain]), np.array([1.0])
    if filter_.low_cut is not None:
        w = 2 * np.pi * filter_.low_cut
        top, bottom = np.polymul(top, [1.0, 0.0]), np.polymul(bottom, [1.0, w])
    if filter_.high_cut is not None:
        b, a = signal.butter(2, 2 * np.pi * filter_.high_cut, analog=True)
        top, bottom = np.polymul(top, b), np.polymul(bottom, a)
    return signal.TransferFunction(top, bottom)


@pytest.mark.parametrize("filter_", FILTERS)
def test_the_response_is_that_of_the_general_library(filter_: Filter) -> None:
    frequency = np.geomspace(0.01, 1e4, 60)
    _, theirs = signal.freqresp(analogue(filter_), 2 * np.pi * frequency)
    np.testing.assert_allclose(filter_.response(frequency), theirs, rtol=1e-9)


@pytest.mark.parametrize("filter_", FILTERS)
def test_a_trace_through_the_filter_is_the_library_s_step_by_step_integration(
    filter_: Filter,
) -> None:
    # a bipolar pulse of 60 ms in a record long enough to settle; lsim holds the input between
    # samples as straight lines (exact for those), so that the sampling alone tells them apart
    dt = 1e-4
    t = np.arange(1 << 14) * dt
    u = (t - 0.25) / 0.02
    linkage = np.exp(-(u**2) / 2)
    emf, output = through_filter(linkage, dt, filter_)
    wanted = u / 0.02 * linkage
    np.testing.assert_allclose(emf, wanted, atol=1e-9 * wanted.max())
    _, theirs, _ = signal.lsim(analogue(filter_), wanted, t)
    np.testing.assert_allclose(output, theirs, atol=1e-4 * np.abs(theirs).max())
    np.testing.assert_allclose(
        output_only(linkage, dt, filter_), output, atol=1e-12 * np.abs(output).max()
    )


def rate_by_moments(filter_: Filter) -> float:
    """Rice's rate from the spectral moments, by quadrature of the library's response."""

    def moment(k: int) -> float:
        def density(f: float) -> float:
            _, h = signal.freqresp(analogue(filter_), [2 * np.pi * f])
            return float(f**k * abs(h[0]) ** 2)

        corner = filter_.high_cut
        parts = [
            (0.0, corner / 8),
            (corner / 8, corner),
            (corner, 8 * corner),
            (8 * corner, np.inf),
        ]
        return sum(integrate.quad(density, a, b, limit=400, epsrel=1e-8)[0] for a, b in parts)

    return float(np.sqrt(moment(2) / moment(0)))


def test_a_two_pole_low_pass_crosses_zero_at_its_corner_frequency() -> None:
    # CHECKS 2.2 (Crandall & Mark 1963): nu0 = f0 exactly
    for corner in (20.0, 160.0):
        assert Filter(7.0, None, corner).noise_crossing_rate() == pytest.approx(corner, rel=1e-12)


@pytest.mark.parametrize(("low", "high"), [(6.0, 160.0), (30.0, 45.0), (0.01, 100.0)])
def test_the_rate_with_a_high_pass_is_that_of_the_spectral_moments(low: float, high: float) -> None:
    filter_ = Filter(1.0, low, high)
    assert filter_.noise_crossing_rate() == pytest.approx(rate_by_moments(filter_), rel=1e-6)


def test_noise_without_a_low_pass_is_refused_as_it_has_no_rate() -> None:
    # CHECKS 2.4: the second moment diverges
    with pytest.raises(ValueError, match="high_cut"):
        Filter(1.0, 6.0, None).noise_crossing_rate()
    with pytest.raises(ValueError, match="high_cut"):
        false_trips_per_hour(made(detector={"high_cut": None}))


@pytest.mark.parametrize("level", [3.0, 4.0, 5.0, 6.0])
def test_false_trips_follow_rices_closed_form(level: float) -> None:
    # 2 nu0 exp(-x^2 / 2) a second; level factors of CHECKS 2.3
    factor = {3.0: 0.01110900, 4.0: 3.354626e-4, 5.0: 3.726653e-6, 6.0: np.exp(-18)}[level]
    machine = made(
        detector={"low_cut": None, "noise": "0.1 V", "threshold": f"{level / 10} V"},
    )
    assert false_trips_per_hour(machine) == pytest.approx(2 * 160 * factor * 3600, rel=1e-6)


# Brute force. White noise is shaped at once in the frequency domain; the record is periodic, so
# there is no start to throw away. 40 samples a period of the corner: CHECKS 2.5 puts the loss of
# crossings at f_c / f_s times about 1.2, that is under 0.7 % at 200 samples and 3 % at 40.


def noise(filter_: Filter, n: int, dt: float, rows: int, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    white = np.fft.rfft(rng.standard_normal((rows, n)))
    made_ = np.fft.irfft(white * filter_.response(np.fft.rfftfreq(n, dt)), n)
    return made_ / made_.std()


def test_false_trips_are_counted_alike_in_brute_force_noise() -> None:
    filter_ = Filter(1.0, 6.0, 160.0)
    dt = 1 / (160 * 200)
    rows, n = 24, 1 << 17
    trace = noise(filter_, n, dt, rows, seed=11)
    level = 2.5
    above = np.abs(trace) >= level
    counted = (~above[:, :-1] & above[:, 1:]).sum() / (rows * n * dt) * 3600
    machine = made(detector={"noise": "1 V", "threshold": f"{level} V"})
    assert false_trips_per_hour(machine) == pytest.approx(counted, rel=0.03)


def test_false_trips_with_a_part_that_repeats_with_the_roll_are_counted_alike() -> None:
    filter_ = Filter(1.0, 6.0, 160.0)
    dt = 1 / (160 * 200)
    rows, n = 24, 1 << 17
    t = np.arange(n) * dt
    speed = 2.0
    wave = 1.2 * np.sin(2 * np.pi * np.round(speed / (np.pi * 0.19) * n * dt) / (n * dt) * t)
    trace = noise(filter_, n, dt, rows, seed=12) + wave
    level = 3.2
    above = np.abs(trace) >= level
    counted = (~above[:, :-1] & above[:, 1:]).sum() / (rows * n * dt) * 3600
    machine = made(detector={"noise": "1 V", "threshold": f"{level} V", "ripple": "1.2 V"})
    assert false_trips_per_hour(machine, roll_speed=speed) == pytest.approx(counted, rel=0.03)


RELATIVE_NOISE = (0.02, 0.05, 0.1, 0.2)  # rms over threshold
GAPS = np.array([-4.0, -3.0, -2.0, -1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0, 3.0])
PASSES = [  # low corner, high corner, speed of the piece
    (6.0, 160.0, 0.7),
    (6.0, 160.0, 1.5),
    (6.0, 160.0, 4.0),
    (None, 160.0, 1.5),
    (10.0, 120.0, 1.2),
    (25.0, 75.0, 1.0),
    (50.0, 80.0, 2.5),
]
DRAWS = 3000


@cache
def trace_of_a_pass(low: float | None, high: float, speed: float) -> tuple[np.ndarray, float]:
    """A pass's output, its peak 1, sampled to 1/40 of the corner's period over its own length."""
    corners = {"low_cut": None if low is None else f"{low} Hz", "high_cut": f"{high} Hz"}
    machine = made(detector=corners)
    one = simulate_pass(machine, Piece.ball(0.02), x=0.15, height=0.03, speed=speed)
    seen = np.flatnonzero(np.abs(one.output) > 0.02 * one.peak)
    dt = min(1 / (high * 40), float(one.t[1] - one.t[0]))
    t = np.arange(one.t[seen[0]], one.t[seen[-1]], dt)
    return np.interp(t, one.t, one.output) / one.peak, dt


@pytest.mark.parametrize(("low", "high", "speed"), PASSES)
def test_the_chance_of_catching_is_that_of_brute_force_noise(
    low: float | None, high: float, speed: float
) -> None:
    shape, dt = trace_of_a_pass(low, high, speed)
    filter_ = Filter(900.0, low, high)
    size = 1 << int(np.ceil(np.log2(len(shape) + 1 / (6 * dt))))
    each = max(size // (2 * len(shape)), 1)  # stretches of one record, half a trace apart or more
    record = noise(filter_, size, dt, int(np.ceil(DRAWS / each)), seed=int(10 * speed))
    starts = (np.arange(each) * (size // each))[:, None] + np.arange(len(shape))
    stretches = record[:, starts % size].reshape(-1, len(shape))
    rate, narrowness = filter_.noise_crossing_rate(), filter_.narrowness
    for relative in RELATIVE_NOISE:
        tops = 1.0 + GAPS * relative  # threshold 1
        counted = [
            float((np.abs(top * shape + relative * stretches) >= 1.0).any(axis=1).mean())
            for top in tops
        ]
        ours = crossing_chance(
            tops[:, None] * shape,
            dt,
            threshold=1.0,
            noise=relative,
            rate=rate,
            narrowness=narrowness,
        )
        error = np.abs(ours - counted)
        assert error.max() < 0.035, (relative, error)  # 0.03, and the draws' own error
