"""Drills: faults to find, pawls to set, metal to judge; nobody is hurt, and each has a score."""

from tripmargin.drills.drilling import Drill, drill
from tripmargin.drills.lessons import lessons_of
from tripmargin.drills.moves import (
    ANSWER,
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
    STOP_MOVES,
    TEST,
    TURN,
    Move,
)
from tripmargin.drills.naming import looks_of, repairs_of
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.repeating import Practised, kinds_due, practise_next, practised, seed_for
from tripmargin.drills.replaying import replay
from tripmargin.drills.results import DrillResult, read_result, result_from
from tripmargin.drills.scoring import Part, Score, score_of
from tripmargin.drills.setting_drill import SETTING, SettingDrill, setting_drill
from tripmargin.drills.teaching import Talk, talk_about
from tripmargin.drills.would_it_stop import (
    MOST_QUESTIONS,
    NO_FAULT,
    QUESTIONS,
    WOULD_IT_STOP,
    Answered,
    WouldItStop,
    would_it_stop,
)
from tripmargin.drills.would_it_stop_answers import (
    DOUBTFUL,
    MEANINGS,
    MISSED,
    PROTECTED,
    REGION_WORDS,
    TOO_LATE,
    Answer,
    points_of,
)
from tripmargin.drills.would_it_stop_kinds import KINDS
from tripmargin.drills.would_it_stop_questions import Question
from tripmargin.drills.would_it_stop_words import asked_words, machine_words, told_words

__all__ = [
    "ANSWER",
    "DECLARE",
    "DOUBTFUL",
    "GO",
    "HAND_OVER",
    "HINT",
    "KINDS",
    "LOOK",
    "MEANINGS",
    "MEASURE",
    "MEND",
    "MISSED",
    "MOST_QUESTIONS",
    "MOVES",
    "NO_FAULT",
    "PLACE",
    "PROTECTED",
    "QUESTIONS",
    "REGION_WORDS",
    "SECURE",
    "SETTING",
    "SETTING_MOVES",
    "STOP_MOVES",
    "TEST",
    "TOO_LATE",
    "TURN",
    "WOULD_IT_STOP",
    "Answer",
    "Answered",
    "Drill",
    "DrillError",
    "DrillResult",
    "Move",
    "Part",
    "Practised",
    "Question",
    "Score",
    "SettingDrill",
    "Talk",
    "WouldItStop",
    "asked_words",
    "drill",
    "kinds_due",
    "lessons_of",
    "looks_of",
    "machine_words",
    "points_of",
    "practise_next",
    "practised",
    "read_result",
    "repairs_of",
    "replay",
    "result_from",
    "score_of",
    "seed_for",
    "setting_drill",
    "talk_about",
    "told_words",
    "would_it_stop",
]
