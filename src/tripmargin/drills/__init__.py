"""Drills: a hidden fault to find on a machine that hurts nobody, and a score, part by part."""

from tripmargin.drills.drilling import Drill, drill
from tripmargin.drills.moves import (
    DECLARE,
    GO,
    HAND_OVER,
    HINT,
    LOOK,
    MEASURE,
    MEND,
    MOVES,
    PLACE,
    SECURE,
    SETTING_MOVES,
    TEST,
    TURN,
    Move,
)
from tripmargin.drills.naming import looks_of, repairs_of
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.repeating import Practised, practise_next, practised, seed_for
from tripmargin.drills.replaying import replay
from tripmargin.drills.results import DrillResult, read_result
from tripmargin.drills.scoring import Part, Score, score_of
from tripmargin.drills.setting_drill import SETTING, SettingDrill, setting_drill

__all__ = [
    "DECLARE",
    "GO",
    "HAND_OVER",
    "HINT",
    "LOOK",
    "MEASURE",
    "MEND",
    "MOVES",
    "PLACE",
    "SECURE",
    "SETTING",
    "SETTING_MOVES",
    "TEST",
    "TURN",
    "Drill",
    "DrillError",
    "DrillResult",
    "Move",
    "Part",
    "Practised",
    "Score",
    "SettingDrill",
    "drill",
    "looks_of",
    "practise_next",
    "practised",
    "read_result",
    "repairs_of",
    "replay",
    "score_of",
    "seed_for",
    "setting_drill",
]
