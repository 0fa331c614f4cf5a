"""Failure on demand: how often the stop is out of order, unnoticed, when metal comes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import expm1, isinf
from typing import Any

import numpy as np

from tripmargin.ground.results import plain
from tripmargin.records.statistics.figures import (
    FigureError,
    not_negative,
    number,
    positive,
)
from tripmargin.records.statistics.intervals import Interval, rate_interval

MOST_CHECKS = 1_000_000
"""Checks between two proof tests, at most."""


@dataclass(frozen=True, slots=True)
class OnDemand:
    """Average probability that the stop fails when metal comes.

    Attributes
    ----------
    rate : Interval, per s
        Of dangerous failures: those after which metal goes through and nothing tells of it.
    average : Interval
        Exact for this model. A value of 0 says that no failure has been seen, not that there is
        none: go by `high`.
    approximate : Interval
        By the usual approximation, rate x half the interval; too high where failures are many.
    check_interval, proof_interval, repair_time : float, s
    coverage : float
        Share of dangerous failures that the check finds.
    """

    rate: Interval
    average: Interval
    approximate: Interval
    check_interval: float
    proof_interval: float
    coverage: float
    repair_time: float

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "rate_per_s": self.rate,
                "average_probability": self.average,
                "approximate_probability": self.approximate,
                "check_interval_s": self.check_interval,
                "proof_interval_s": self.proof_interval,
                "coverage": self.coverage,
                "repair_time_s": self.repair_time,
            }
        )
        return made


def failure_on_demand(
    failures: int,
    exposure: float,
    *,
    check_interval: float,
    proof_interval: float | None = None,
    coverage: float = 1.0,
    repair_time: float = 0.0,
    confidence: float = 0.95,
) -> OnDemand:
    """Average probability of failure on demand, from failures seen and how often one looks.

    Parameters
    ----------
    failures : int
        Dangerous failures seen, however they came to light.
    exposure : float, s
        Over which they were seen, of one machine or of many alike. The clock is the caller's:
        working hours or the calendar, but the same for all times given here. It should end with a
        full proof test, or failures that only such a test finds are missing.
    check_interval : float, s
        Between checks (the daily test).
    proof_interval : float, s, optional
        Between full proof tests, which find all; needed where the coverage is below 1.
    coverage : float
        Share of dangerous failures that the check finds, 0 to 1.
    repair_time : float, s
        For which the machine runs on unprotected once a failure is found. 0: it stands until
        mended.
    confidence : float
        Of the rate's interval, which is carried through.

    Raises
    ------
    FigureError
        If a figure is out of its range, or the proof test is more frequent than the check.

    Notes
    -----
    IEC 61508-6 Annex B (from memory but for its procedure), one channel: rate x (T/2 + repair
    time); with a check that finds the share c at T1 and a proof test at T2: rate x (c T1/2 + (1 -
    c) T2/2 + repair time).

    Exact: both kinds of failure come at constant rates a = c rate and b = (1 - c) rate. A time tau
    after the k-th check the stop is in order with exp(-(a + b) tau - b k T1); the mean over T2 of
    one minus that is the unavailability U (with c = 1: U = 1 - (1 - e^-x)/x, x = rate T1). The
    clock stands while a repair is made, so that with N repairs expected in T2 the average is (U T2
    + N repair) / (T2 + N repair). All of it grows with the rate, so limits of the rate give limits
    of the average.

    Examples
    --------
    >>> hour = 3600.0
    >>> found = failure_on_demand(1, 1e6 * hour, check_interval=8760 * hour)
    >>> round(found.average.value, 8), round(found.approximate.value, 8)
    (0.00436724, 0.00438)
    """
    rate = rate_interval(failures, exposure, confidence=confidence)
    plan = _plan(check_interval, proof_interval, coverage, repair_time)
    return OnDemand(
        rate=rate,
        average=_carried(rate, plan.average),
        approximate=_carried(rate, plan.approximate),
        check_interval=plan.check,
        proof_interval=plan.proof,
        coverage=plan.coverage,
        repair_time=plan.repair,
    )


def unavailable_now(
    rate: Interval,
    *,
    since_check: float,
    since_proof: float | None = None,
    coverage: float = 1.0,
) -> Interval:
    """Chance that the next demand fails, given when the last check was passed.

    Parameters
    ----------
    rate : Interval, per s
        Of dangerous failures, as from `rate_interval`.
    since_check, since_proof : float, s
        Since the last check that was passed, and since the last full proof test; the latter is
        needed where the coverage is below 1. By the same clock as the rate.
    coverage : float
        Share of dangerous failures that the check finds.

    Raises
    ------
    FigureError
        If a time is negative, or the proof test is said to be later than the check.

    Notes
    -----
    1 - exp(-rate [c t1 + (1 - c) t2]): after a passed check only what it cannot find is as old as
    the proof test.

    >>> rate = rate_interval(1, 1000.0)
    >>> round(unavailable_now(rate, since_check=10.0, since_proof=100.0, coverage=0.9).value, 6)
    0.018821
    """
    c = _coverage(coverage)
    t1 = not_negative(since_check, "since_check", "s")
    t2 = t1 if since_proof is None and c == 1 else _given(since_proof, "since_proof")
    t2 = not_negative(t2, "since_proof", "s")
    if t2 < t1:
        hint = "A full proof test contains the check: count the check from it."
        raise FigureError("since_proof", since_proof, "no less than since_check", hint)
    aged = c * t1 + (1 - c) * t2
    return _carried(rate, lambda each: -expm1(-each * aged) if aged else 0.0)


def mean_unavailability(x: float) -> float:
    """1 - (1 - e^-x)/x: mean over an interval of what fails in it, x times as often as once.

    >>> round(mean_unavailability(8.76e-3), 8)
    0.00436724
    """
    if x < 1e-3:  # the difference loses digits: its series
        return x / 2 - x**2 / 6 + x**3 / 24 - x**4 / 120
    return 1.0 if isinf(x) else 1 + expm1(-x) / x


@dataclass(frozen=True, slots=True)
class _Plan:
    """How often one looks, and what is found."""

    check: float
    proof: float
    coverage: float
    repair: float

    def approximate(self, rate: float) -> float:
        waits = self.coverage * self.check / 2 + (1 - self.coverage) * self.proof / 2
        return min(1.0, rate * (waits + self.repair))

    def average(self, rate: float) -> float:
        if isinf(rate * self.proof):
            return 1.0
        whole, last = self._stretches()
        hidden = -np.expm1(-(1 - self.coverage) * rate * self.check * np.arange(whole + 1))
        lengths = np.full(whole + 1, self.check)
        lengths[-1] = last
        fresh = np.full(whole + 1, mean_unavailability(rate * self.check))
        fresh[-1] = mean_unavailability(rate * last)
        down = float((lengths * (hidden + (1 - hidden) * fresh)).sum())
        mended = self.repair * self._found(rate, whole, last)
        return min(1.0, (down + mended) / (self.proof + mended))

    def _found(self, rate: float, whole: int, last: float) -> float:
        """Repairs expected between two proof tests: at each check, and at the proof test."""
        at_checks = -whole * expm1(-self.coverage * rate * self.check)
        aged = self.coverage * last + (1 - self.coverage) * self.proof
        return at_checks - expm1(-rate * aged)

    def _stretches(self) -> tuple[int, float]:
        """Stretches that end with a check, and the length of the last, which a proof test ends."""
        whole = int(self.proof / self.check * (1 + 1e-12))
        last = self.proof - whole * self.check
        return (whole, last) if last > 1e-9 * self.check else (whole - 1, self.check)


def _plan(check: float, proof: float | None, coverage: float, repair: float) -> _Plan:
    check, c = positive(check, "check_interval", "s"), _coverage(coverage)
    proof = check if proof is None and c == 1 else _given(proof, "proof_interval")
    proof = positive(proof, "proof_interval", "s")
    if not check <= proof <= MOST_CHECKS * check:
        allowed = "from the check_interval up to a million times it"
        hint = "A full proof test contains the check: it cannot be made more often."
        raise FigureError("proof_interval", f"{proof:g} s", allowed, hint)
    return _Plan(check, proof, c, not_negative(repair, "repair_time", "s"))


def _given(proof: float | None, name: str) -> float:
    if proof is None:
        allowed = "a time, s, where the coverage is below 1"
        hint = "What the check does not find stays until a full proof test: say how old that is."
        raise FigureError(name, "not given", allowed, hint)
    return proof


def _coverage(coverage: float) -> float:
    found = number(coverage, "coverage", "a share from 0 to 1")
    if not 0 <= found <= 1:
        raise FigureError("coverage", coverage, "a share from 0 to 1")
    return found


def _carried(rate: Interval, of: Callable[[float], float]) -> Interval:
    """The interval of what grows with the rate."""
    value = None if rate.value is None else of(rate.value)
    return Interval(value, of(rate.low), of(rate.high), rate.confidence)
