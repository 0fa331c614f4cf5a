"""Setting the pawls: from measured gaps to the fewest wrench moves."""

from tripmargin.stopping.setting.adjusters import Adjuster, Adjusters, Belief, adjusters_of
from tripmargin.stopping.setting.aiming import Aim, Aims, aims
from tripmargin.stopping.setting.errors import SettingError
from tripmargin.stopping.setting.in_time import InTime, normal_gap, quick_densities, with_gaps
from tripmargin.stopping.setting.learning import Learned, learn
from tripmargin.stopping.setting.past import Adjustment
from tripmargin.stopping.setting.planning import Moves, moves
from tripmargin.stopping.setting.readings import readings_of
from tripmargin.stopping.setting.regression import Regression, regression
from tripmargin.stopping.setting.room import inside, rooms
from tripmargin.stopping.setting.sequence import Step
from tripmargin.stopping.setting.steps import Steps, pawl_steps

__all__ = [
    "Adjuster",
    "Adjusters",
    "Adjustment",
    "Aim",
    "Aims",
    "Belief",
    "InTime",
    "Learned",
    "Moves",
    "Regression",
    "SettingError",
    "Step",
    "Steps",
    "adjusters_of",
    "aims",
    "inside",
    "learn",
    "moves",
    "normal_gap",
    "pawl_steps",
    "quick_densities",
    "readings_of",
    "regression",
    "rooms",
    "with_gaps",
]
