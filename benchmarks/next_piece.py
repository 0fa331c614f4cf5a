"""The next test piece: how long learning from the passes made and choosing the next one take.

The peer asks the same question without tables: mutual information of the answer and 64 sensors of
the posterior, each pass simulated by itself. It is run for one candidate and scaled up to all.
"""

from __future__ import annotations

import numpy as np
from common.turns import in_turn, median, say, spoken, where

from tripmargin.machine import load_machine
from tripmargin.recordings.calibrating import TestPass, calibrate
from tripmargin.recordings.calibrating.lines import passing_lines
from tripmargin.recordings.calibrating.next_piece import BALLS, next_pass
from tripmargin.recordings.calibrating.seen import Seen
from tripmargin.sensing import Piece, simulate_pass

ASKED = 0.5  # s
SENSORS = 64
SIZES = (0.009, 0.012, 0.016, 0.010, 0.013, 0.018, 0.011, 0.014)


def main() -> None:
    print(f"The next piece to pass; {where()}")
    curlew = load_machine("curlew")
    passes = [
        TestPass(Piece.ball(size), 0.1, (0.03, 0.05)[k % 2], 0.65, caught=size > 0.0125)
        for k, size in enumerate(SIZES)
    ]
    calibrate(curlew, passes)  # the fields are known from here on, as after a yard's first pass
    seen = Seen.of(curlew, passes, 0.005)
    lines = passing_lines(curlew)

    def simulated() -> None:
        x, height, speed = lines[0]
        for draw in range(SENSORS):
            one = simulate_pass(curlew, BALLS[0], x=x, height=height + 1e-5 * draw, speed=speed)
            assert one.probability is not None

    candidates = len(lines) * len(BALLS)
    peer, ours = in_turn(simulated, lambda: next_pass(seen.doubt, seen.learned, lines), rounds=5)
    whole, _ = in_turn(lambda: calibrate(curlew, passes), lambda: None, rounds=5)
    scaled = median(peer) * candidates
    say(
        "the next of 104 passes against simulating each",
        scaled / median(ours),
        "at least 100",
        f"{spoken(median(ours))} against {spoken(scaled)}, scaled up from one of {candidates}",
    )
    say(
        "the 0.5 s asked, over learning from eight passes and choosing the next",
        ASKED / median(whole),
        "over 1",
        f"{spoken(median(whole))}, slowest {spoken(float(np.max(whole)))}",
    )


if __name__ == "__main__":
    main()
