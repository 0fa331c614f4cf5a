"""Pictures of a "would it stop?" drill: the piece where it lies, and where it stands on the map."""

from __future__ import annotations

import re

import pytest

from tripmargin import drills
from tripmargin.machine import load_machine
from tripmargin.pictures.protection_map import protection_map_picture
from tripmargin.pictures.would_it_stop import asked_picture, told_picture
from tripmargin.protection import protection_map


@pytest.fixture(scope="module")
def drill() -> drills.WouldItStop:
    return drills.would_it_stop(load_machine("whimbrel"), seed=7, questions=2)


def rings(svg: str) -> list[tuple[float, float]]:
    """Middles of the rings that mark a piece: those of 9 px."""
    found = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="9"', svg)
    return [(float(x), float(y)) for x, y in found]


def test_the_question_is_drawn_and_tells_no_answer(drill: drills.WouldItStop) -> None:
    for question in drill.questions:
        for width, sun, us in ((280, False, False), (720, True, True)):
            svg = asked_picture(question, width=width, sun=sun, us=us)
            x = abs(question.situation.x)
            assert (f"{x / 0.0254:.4g} in" if us else f"{x * 1e3:.4g} mm") in svg
            assert "threshold" not in svg
            assert "protected" not in svg.lower()


def test_the_answer_stands_on_the_map_where_its_cut_and_its_ball_are(
    drill: drills.WouldItStop,
) -> None:
    question = drill.questions[0]
    made = drill.map_of(question)
    assert made is not None
    cut, ball = question.on_map
    svg = told_picture(question, made)
    (at,) = set(rings(svg))
    assert len(rings(svg)) == 2  # ink over paper, to be seen over any region
    # Beside a ring at a place of its own: the axes are those of the map, a cut further to the
    # right, a ball further up.
    (longer,) = set(rings(protection_map_picture(made, mark=(cut * 1.1, ball))))
    (larger,) = set(rings(protection_map_picture(made, mark=(cut, ball * 1.2))))
    assert longer[0] > at[0]
    assert longer[1] == at[1]
    assert larger[1] < at[1]
    assert larger[0] == at[0]
    assert "this piece" in svg


def test_a_piece_beyond_the_map_has_no_ring() -> None:
    made = protection_map(
        load_machine("whimbrel"), cut_lengths=[0.008, 0.012], diameters=[0.01, 0.02]
    )
    assert rings(protection_map_picture(made, mark=(0.02, 0.015))) == []
    assert rings(protection_map_picture(made, mark=(0.01, 0.5))) == []
    assert rings(protection_map_picture(made)) == []
