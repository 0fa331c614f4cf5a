"""Statistics of the records: exact intervals, drift, failure on demand, early warning."""

from tripmargin.records.statistics.baseline import Baseline
from tripmargin.records.statistics.comparing import RateChange, rate_change, share_fell
from tripmargin.records.statistics.drift import Drift, ewma
from tripmargin.records.statistics.figures import FigureError
from tripmargin.records.statistics.intervals import (
    Interval,
    rate_at_least,
    rate_at_most,
    rate_interval,
    rate_limits,
    share_at_least,
    share_at_most,
    share_interval,
    share_limits,
    trials_needed,
)
from tripmargin.records.statistics.line import Line
from tripmargin.records.statistics.on_demand import (
    OnDemand,
    failure_on_demand,
    mean_unavailability,
    unavailable_now,
)
from tripmargin.records.statistics.trend import Crossing, Trend, trend
from tripmargin.records.statistics.warning import (
    Rate,
    Series,
    Share,
    Sign,
    Thresholds,
    signs,
)

__all__ = [
    "Baseline",
    "Crossing",
    "Drift",
    "FigureError",
    "Interval",
    "Line",
    "OnDemand",
    "Rate",
    "RateChange",
    "Series",
    "Share",
    "Sign",
    "Thresholds",
    "Trend",
    "ewma",
    "failure_on_demand",
    "mean_unavailability",
    "rate_at_least",
    "rate_at_most",
    "rate_change",
    "rate_interval",
    "rate_limits",
    "share_at_least",
    "share_at_most",
    "share_fell",
    "share_interval",
    "share_limits",
    "signs",
    "trend",
    "trials_needed",
    "unavailable_now",
]
