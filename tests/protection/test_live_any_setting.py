"""Whatever is turned, the kept sights give what a fresh computation gives."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.protection.test_live import SIZES, agrees, doubtful
from tripmargin.protection import LiveProtection
from tripmargin.protection.live import OFF

LIVE = LiveProtection(doubtful(), cut_lengths=[0.006, 0.02, 0.06], diameters=SIZES)
SUPPRESSION = st.one_of(
    st.just({"kind": "none"}),
    st.builds(lambda v: {"kind": "zener", "voltage": v}, st.floats(1.0, 60.0)),
    st.builds(lambda r: {"kind": "resistor", "resistance": r}, st.floats(5.0, 500.0)),
    st.just({"kind": "diode", "voltage": "0.8 V +- 0.2 V"}),
)
STOP = {
    "chain.pawls.lower.clearance": st.floats(0.0, 0.02),
    "chain.pawls.upper.clearance": st.sampled_from(["2 mm +- 1 mm", "9 mm +- 2 mm (sd)"]),
    "supply": st.one_of(st.floats(6.0, 30.0), st.just("12 V +- 2 V")),
    "chain.hold_winding.suppression": SUPPRESSION,
    "chain.rest.roll_angle": st.floats(0.0, 0.8),
    "relay_release": st.sampled_from([0.001, "5 ms +- 3 ms (sd)"]),
    "decision_delay": st.floats(0.0, 0.02),
    "sensor_to_shear_bar": st.sampled_from([0.1, "200 mm +- 20 mm", "0.3 m +- 3 mm (sd)"]),
    "limits.confidence": st.floats(0.6, 0.999),
    "limits.must_stop": st.sampled_from(["12 mm ball", "M12x40 bolt"]),
}
SEEN = {
    "detector.threshold": st.floats(0.2, 1.0),
    "detector.high_cut": st.sampled_from(["100 Hz +- 15 %", 250.0]),
    "sensor.rotation": st.sampled_from(["0 deg +- 4 deg", 0.1]),
    "feed.crop_depth": st.sampled_from([0.03, "10 mm .. 60 mm"]),
    "feed.slip": st.sampled_from(["0 % .. 8 %", 0.04]),
    "feed.cutterhead_speed": st.sampled_from([15.0, "1100 rpm +- 5 %"]),
}


@st.composite
def turned(draw: st.DrawFn) -> dict[str, Any]:
    """A few settings of the stop, now and then one that the sensor knows of."""
    names = draw(st.lists(st.sampled_from(sorted(STOP)), min_size=1, max_size=4, unique=True))
    made = {name: draw(STOP[name]) for name in names}
    if draw(st.integers(0, 2)) == 0:
        name = draw(st.sampled_from(sorted(SEEN)))
        made[name] = draw(SEEN[name])
    return made


@settings(max_examples=25, deadline=None)
@given(turned(), st.floats(0.006, 0.06))
def test_any_setting_gives_what_a_fresh_computation_gives(some: dict[str, Any], cut: float) -> None:
    quick = LIVE.at(cut_length=cut, **some)
    agrees(quick, atol=OFF)
    whole = LIVE.at(cut_length=cut, whole=True, **some)
    agrees(whole, atol=1e-12)
    mine, theirs = quick.verdict, whole.verdict
    assert mine is not None
    assert theirs is not None
    assert mine.protected == pytest.approx(theirs.protected, abs=OFF)
    assert mine.margin == theirs.margin
    assert np.isclose(mine.seen, theirs.seen, rtol=1e-9)
