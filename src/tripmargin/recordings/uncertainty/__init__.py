"""How sure a measured number is: the law of propagation, drawing, lines through readings."""

from tripmargin.recordings.uncertainty.inputs import (
    Input,
    arcsine,
    combined,
    normal,
    readings,
    rectangular,
    trapezoid,
    triangular,
    welch_satterthwaite,
)
from tripmargin.recordings.uncertainty.law import Measured, propagate, propagate_several
from tripmargin.recordings.uncertainty.lines import Line, straight_line
from tripmargin.recordings.uncertainty.monte_carlo import Drawn, draw_result

__all__ = [
    "Drawn",
    "Input",
    "Line",
    "Measured",
    "arcsine",
    "combined",
    "draw_result",
    "normal",
    "propagate",
    "propagate_several",
    "readings",
    "rectangular",
    "straight_line",
    "trapezoid",
    "triangular",
    "welch_satterthwaite",
]
