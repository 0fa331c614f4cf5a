"""Uncertain inputs: drawn as wide as they say, refused where they cannot be."""

from __future__ import annotations

import numpy as np
import pytest

from tripmargin.recordings.uncertainty import (
    Input,
    arcsine,
    draw_result,
    normal,
    propagate,
    readings,
    rectangular,
    straight_line,
    trapezoid,
    triangular,
)


@pytest.mark.parametrize(
    "each",
    [
        normal(3, 0.5),
        normal(3, 0.5, dof=40),
        rectangular(3, 0.5),
        triangular(3, 0.5),
        arcsine(3, 0.5),
        trapezoid(3, 0.5, 0.25),
    ],
    ids=lambda each: f"{each.shape}",
)
def test_draws_have_the_uncertainty_that_is_said(each: Input) -> None:
    """Mean and standard deviation of 400 000 draws; a t of n degrees is wider by sqrt(n/(n-2))."""
    drawn = each.draw(np.random.default_rng(5), 400_000)
    wider = np.sqrt(each.dof / (each.dof - 2)) if each.shape == "t" else 1.0
    assert drawn.mean() == pytest.approx(3, abs=0.003)
    assert drawn.std() == pytest.approx(each.u * wider, rel=0.01)


def test_what_cannot_be_known_is_refused() -> None:
    with pytest.raises(ValueError, match="1 readings tell nothing of their spread"):
        readings([3.0])
    with pytest.raises(ValueError, match="not a number"):
        normal(float("nan"), 1)
    with pytest.raises(ValueError, match="must be 0 or more"):
        rectangular(1, -1)
    with pytest.raises(ValueError, match="three readings or more, not 2"):
        straight_line([0, 1], [0, 1])
    with pytest.raises(ValueError, match="all readings stand at 4"):
        straight_line([4, 4, 4], [0, 1, 2])
    with pytest.raises(ValueError, match="no input is called 'z'"):
        propagate(lambda x: x, {"x": normal(1, 1)}, correlations={("x", "z"): 0.5})
    with pytest.raises(ValueError, match="draws give no number"):
        draw_result(lambda x: np.where(x > 0, x, np.nan), {"x": normal(0, 1)}, draws=1000)
