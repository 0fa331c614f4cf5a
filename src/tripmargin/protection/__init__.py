"""Protection: where seeing meets stopping. The race, the protection map, the proof."""

from tripmargin.protection.costs import Cost, setting_costs, stage_costs
from tripmargin.protection.doubt import Measure
from tripmargin.protection.live import LiveProtection, Turned, live_protection
from tripmargin.protection.mapping import ProtectionMap, protection_map
from tripmargin.protection.proving import prove
from tripmargin.protection.racing import Race, race
from tripmargin.protection.setting import (
    PawlSetting,
    ThresholdCurve,
    set_pawls,
    threshold_curve,
)
from tripmargin.protection.verdicts import CutVerdict, Proof

__all__ = [
    "Cost",
    "CutVerdict",
    "LiveProtection",
    "Measure",
    "PawlSetting",
    "Proof",
    "ProtectionMap",
    "Race",
    "ThresholdCurve",
    "Turned",
    "live_protection",
    "protection_map",
    "prove",
    "race",
    "set_pawls",
    "setting_costs",
    "stage_costs",
    "threshold_curve",
]
