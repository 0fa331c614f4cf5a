"""Setting: which gap is best by the race, what it brings, and where the threshold should stand."""

from tripmargin.protection.setting.pawls import Effect, PawlSetting, set_pawls
from tripmargin.protection.setting.threshold import threshold_curve
from tripmargin.protection.setting.threshold_result import ThresholdCurve, ThresholdPoint

__all__ = [
    "Effect",
    "PawlSetting",
    "ThresholdCurve",
    "ThresholdPoint",
    "set_pawls",
    "threshold_curve",
]
