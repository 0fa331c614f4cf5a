"""The best route: how the cards themselves would work the same hidden fault with the same answers.

The cards know nothing of the fault. Somebody who knows it would be quicker, and so is a lucky
guess; neither is what a drill teaches. So the best route is the cards' own play, made through the
same moves as a learner's and counted by the same clock.
"""

from __future__ import annotations

from tripmargin.drills import moves as m
from tripmargin.drills.playing import Play
from tripmargin.faultfinding import HAND_OVER, PROVE_AGAIN

MOST_MOVES = 60
"""Moves after which a route counts as lost: nobody practises on anything so long."""


def play_best(play: Play) -> Play:
    """Play to the end as the cards would, and return the play.

    Every card is followed: the way into its state, the look or the repair, and behind a repair the
    daily test.
    """
    while not play.ended and len(play.moves) < MOST_MOVES:
        if play.believer.proved():
            play.make(m.DECLARE)
            break
        kind, _, name = play.believer.best().partition(":")
        if kind == "check":
            _into(play, play.of.questions[name].state)
            play.make(m.LOOK, name)
        elif name == HAND_OVER:
            play.make(m.HAND_OVER)
        else:
            if name != PROVE_AGAIN:
                _into(play, play.of.problem.states[play.of.problem.start_state])
                play.make(m.MEND, name)
            play.make(m.TEST)
    return play


def _into(play: Play, state: str) -> None:
    if play.of.problem.states[play.at] != state:
        play.make(m.GO, state)
