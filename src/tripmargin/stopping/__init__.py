"""The stop: feed speed, the stages from crossing to rest, how far the metal travels meanwhile."""

from tripmargin.stopping.chain import Stage, StopChain, stop_chain
from tripmargin.stopping.feed import feed_speed, metal_speed
from tripmargin.stopping.pawl_swing import PawlParts, pawl_swing_time
from tripmargin.stopping.plunger import HoldCircuit, PlungerParts, plunger_fall
from tripmargin.stopping.release import clamp, copper_resistance, release_time
from tripmargin.stopping.setting.errors import SettingError
from tripmargin.stopping.setting.past import Adjustment
from tripmargin.stopping.setting.steps import Steps, pawl_steps
from tripmargin.stopping.travel_chances import StopDensities, TravelChances, travel_chances
from tripmargin.stopping.windup import WindupParts, windup_angle_and_time

__all__ = [
    "Adjustment",
    "HoldCircuit",
    "PawlParts",
    "PlungerParts",
    "SettingError",
    "Stage",
    "Steps",
    "StopChain",
    "StopDensities",
    "TravelChances",
    "WindupParts",
    "clamp",
    "copper_resistance",
    "feed_speed",
    "metal_speed",
    "pawl_steps",
    "pawl_swing_time",
    "plunger_fall",
    "release_time",
    "stop_chain",
    "travel_chances",
    "windup_angle_and_time",
]
