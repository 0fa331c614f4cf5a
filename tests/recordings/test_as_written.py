"""The calibrated file, read again: it says what was learned, no surer and hardly less sure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

import tripmargin
from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.ground.results import Spread
from tripmargin.machine import Machine
from tripmargin.machine.copies import copy_of
from tripmargin.machine.measured_text import with_measured
from tripmargin.machine.rewriting import with_values
from tripmargin.recordings import RecordingError
from tripmargin.recordings.calibrating import (
    CalibratedField,
    Calibration,
    StopMeasured,
    TestPass,
    calibrate,
    drifts,
    measured_entries,
)
from tripmargin.recordings.calibrating.before import before
from tripmargin.recordings.calibrating.seeing import UNKNOWN_SIGNAL
from tripmargin.recordings.calibrating.seen import Seen
from tripmargin.recordings.calibrating.stops import StopDoubt
from tripmargin.recordings.calibrating.widths import settled, shares_of_variance
from tripmargin.sensing import Piece, simulate_pass
from tripmargin.stopping import metal_speed, stop_chain
from tripmargin.stopping.feed import tooth_pitch

X = 0.1  # m, over an assembly of Curlew
NARROW, WIDE = 0.9, 1.3  # of the width that was learned
ASKED = [
    TestPass(Piece.ball(size), X, height, 0.65, caught=False)
    for size, height in (
        (0.0055, 0.02), (0.009, 0.04), (0.013, 0.06), (0.0065, 0.02), (0.010, 0.04), (0.0145, 0.06),
        (0.0075, 0.02), (0.0115, 0.04), (0.016, 0.06),
    )
]  # fmt: skip


@pytest.fixture(scope="module")
def curlew() -> Machine:
    return tripmargin.load_machine("curlew")


def _planted(machine: Machine, signal: float) -> Machine:
    assert machine.detector is not None
    assert machine.detector.gain is not None
    return machine.with_settings({"detector.gain": machine.detector.gain.nominal * signal})


def _passed(true: Machine, up: float, random: np.random.Generator) -> list[TestPass]:
    """The passes on a machine whose sensor stands that much too high, held unsteadily."""
    made = []
    for asked in ASKED:
        one = simulate_pass(
            true,
            asked.piece,
            x=asked.x + random.normal(0, asked.place_doubt),
            height=max(asked.height - up + random.normal(0, asked.place_doubt), 0.0),
            speed=asked.speed * (1 + random.normal(0, asked.speed_doubt)),
        )
        assert one.probability is not None
        made.append(replace(asked, caught=bool(random.random() < one.probability)))
    return made


def _timed(
    true: Machine, cut: float, count: int, random: np.random.Generator
) -> list[StopMeasured]:
    """Stops of a machine as it stands, each pawl waiting for its tooth, read to 1 ms."""
    chain = stop_chain(true, cut_length=cut)
    time = {stage.name: stage.nominal for stage in chain.stages}
    pawls = [name.removeprefix("swing ") for name in time if name.startswith("swing ")]
    serial = sum(t for name, t in time.items() if not name.startswith(("swing ", "tooth ")))
    made = []
    for _ in range(count):
        waits = [random.random() * tooth_pitch(true, pawl) / chain.feed_speed for pawl in pawls]
        last = max(time[f"swing {pawl}"] + wait for pawl, wait in zip(pawls, waits, strict=True))
        value = float(serial + last + random.normal(0, 0.001))
        made.append(StopMeasured(cut, value, value - 0.00196, value + 0.00196))
    return made


def _drawn(machine: Machine, random: np.random.Generator) -> Machine:
    """The machine with its chain drawn from its tolerances."""
    return machine.with_settings(
        {
            path: Quantity.exact(float(q.ppf(random.random())), q.dimension)
            for path, q in StopDoubt.of(machine).inputs
            if path.startswith(("chain.", "detector."))
        }
    )


def _width(one: Spread | None) -> float:
    assert one is not None
    return float(np.log(one.high / one.low))


def _written(machine: Machine, found: Calibration, folder: Path) -> Machine:
    """The machine as it is read from the file that a person keeps."""
    own, *sheets = copy_of(machine)["sheets"]
    text = with_values(own["text"], {one.path: one.after for one in found.fields}, machine=machine)
    text = with_measured(text, measured_entries(found.fields, on=date(2026, 7, 1)))
    for sheet in sheets:
        (folder / sheet["name"]).write_text(sheet["text"], encoding="utf-8")
    (folder / "kept.toml").write_text(text, encoding="utf-8")
    return tripmargin.load_machine(folder / "kept.toml")


def test_the_file_says_what_was_learned(curlew: Machine, tmp_path: Path) -> None:
    """A planted machine's passes and stops, through the file's text and back."""
    random = np.random.default_rng(8)
    true = _drawn(_planted(curlew, 0.7), random)
    seen, cut = _passed(true, 0.003, random), 0.012
    stops = _timed(true, cut, 6, random)
    found = calibrate(curlew, [*seen, *stops], suggest=False)
    kept = _written(curlew, found, tmp_path)
    reads = before(kept, cut)
    assert found.smallest_seen is not None
    assert reads.smallest_seen == pytest.approx(float(found.smallest_seen), rel=0.02)
    assert NARROW < _width(reads.smallest_seen) / _width(found.smallest_seen) < WIDE
    assert found.stop_time_any_day is not None
    assert reads.stop_time == pytest.approx(float(found.stop_time_any_day), abs=0.0005)
    assert NARROW < _width(reads.stop_time) / _width(found.stop_time_any_day) < WIDE
    # What the result foretold is what the file says.
    foretold = found.as_written
    assert _width(reads.smallest_seen) == pytest.approx(_width(foretold.smallest_seen), rel=0.05)
    assert _width(reads.stop_time) == pytest.approx(_width(foretold.stop_time), rel=0.05)
    # The pieces that were passed: as likely to trip, and that known as well.
    told = 0
    learned, again = Seen.of(curlew, seen, 0.005), Seen.of(kept, (), 0.005)
    for (asked, one), other in zip(learned.given, map(again.doubt.signal, seen), strict=True):
        was = learned.doubt.catching(asked, one, learned.doubt.draws(learned.learned.points))
        now = again.doubt.catching(asked, other, again.doubt.draws(again.learned.points))
        share = learned.learned.mean(was)
        assert again.learned.mean(now) == pytest.approx(share, abs=0.12), asked
        if 0.05 < share < 0.75:  # near none and all the width of a share hangs on its tails
            told += 1
            ratio = again.learned.sd(now) / learned.learned.sd(was)
            assert NARROW < ratio < WIDE, (asked, ratio)
    assert told >= 3


@pytest.mark.parametrize("name", ["dunlin", "whimbrel"])
def test_stops_at_two_cuts_are_both_as_sure_as_learned(name: str) -> None:
    filed = tripmargin.load_machine(name)
    assert filed.feed is not None
    random = np.random.default_rng(3)
    true = _drawn(filed, random)
    first, other = filed.feed.cut_lengths[1], filed.feed.cut_lengths[-2]
    stops = [*_timed(true, first, 4, random), *_timed(true, other, 2, random)]
    found = calibrate(filed, stops, suggest=False)
    swapped = calibrate(filed, stops[::-1], suggest=False)
    for cut, one in ((first, found), (other, swapped)):
        reads = before(found.machine, cut).stop_time
        assert NARROW < _width(reads) / _width(one.stop_time_any_day) < WIDE
    # Each stage by itself is less sure than it is written, and that is said.
    alone = [one for one in found.fields if one.alone is not None]
    assert alone
    assert all(one.after.sd < one.alone < 1.05 * one.before.sd for one in alone if one.alone)
    assert any("written surer than each is known by itself" in line for line in found.simplified)


def test_planted_machines_are_held_after_reading_again(curlew: Machine) -> None:
    """40 sensors drawn from what is believed before: 99.9 % limits of 40 of 95 %: 33 to 40."""
    random = np.random.default_rng(21)
    assert curlew.sensor is not None
    assert curlew.feed is not None
    slow = metal_speed(curlew, curlew.feed.cut_lengths[0])
    centre = curlew.sensor.assemblies[0].centre[0].nominal
    held, ratios = 0, []
    for _ in range(40):
        true = _planted(curlew, float(np.exp(UNKNOWN_SIGNAL * random.normal())))
        up = float(random.uniform(-0.005, 0.005))
        found = calibrate(curlew, _passed(true, up, random), suggest=False)
        reads = before(found.machine, None).smallest_seen
        assert reads is not None
        one = simulate_pass(true, Piece.ball(0.01), x=centre, height=0.05 - up, speed=slow)
        held += reads.low <= 0.01 * (one.threshold / one.peak) ** (1 / 3) <= reads.high
        ratios.append(_width(reads) / _width(found.smallest_seen))
    assert 33 <= held <= 40, held
    assert min(ratios) > NARROW, ratios
    assert max(ratios) < WIDE, ratios


def test_limits_that_the_file_keeps_are_not_counted_twice(curlew: Machine) -> None:
    """Magnets, threshold and rotation have limits of their own: the gain takes only the rest."""
    loose = curlew.with_settings(
        {
            "sensor.assemblies.0.magnet.remanence": quantity("0.38 T +- 8 %", "flux density"),
            "sensor.assemblies.1.magnet.remanence": quantity("0.38 T +- 8 %", "flux density"),
            "detector.threshold": quantity("1.5 V +- 5 %", "voltage"),
            "detector.gain": quantity("950 +- 40 %", "number"),
        }
    )
    random = np.random.default_rng(5)
    found = calibrate(loose, _passed(_planted(curlew, 1.1), 0.0, random), suggest=False)
    reads = before(found.machine, None).smallest_seen
    assert NARROW < _width(reads) / _width(found.smallest_seen) < WIDE
    assert found.machine.get("sensor.assemblies.0.magnet.remanence").uncertain
    wide = loose.with_settings(
        {"sensor.assemblies.0.magnet.remanence": quantity("0.38 T +- 60 %", "flux density")}
    )
    found = calibrate(wide, _passed(_planted(curlew, 1.1), 0.0, random), suggest=False)
    reads = before(found.machine, None).smallest_seen
    assert _width(reads) > WIDE * _width(found.smallest_seen)
    assert any("times as wide as was learned" in line for line in found.simplified)


def test_shares_meet_results_that_they_can_meet() -> None:
    """Two fields, two sums: 4 a + b = 2 and a + 4 b = 1.25, so a = 0.45 and b = 0.2 by hand."""
    one = np.array([[4.0, 1.0], [1.0, 4.0]])
    made = shares_of_variance(one, np.zeros(2), np.array([2.0, 1.25]), np.ones(2))
    assert made == pytest.approx([0.45, 0.2], abs=0.01)
    # What is kept already is more than is wanted: nothing is left for the fields.
    assert shares_of_variance(one, np.full(2, 3.0), np.array([2.0, 1.25]), np.ones(2)).max() < 0.01


def test_the_factor_meets_the_mean_and_holds_the_narrowest() -> None:
    wanted = np.array([1.0, 1.0])
    even = settled(lambda f: np.array([f, f]), wanted, np.ones(2), most=3.0)
    assert even == pytest.approx(1.0, abs=0.02)
    uneven = settled(lambda f: np.array([2 * f, f / 2]), wanted, np.ones(2), most=3.0)
    assert uneven / 2 == pytest.approx(0.95, abs=0.02)
    assert settled(lambda f: np.array([2.0 + f, 2.0]), wanted, np.ones(2), most=3.0) == 0.0


def test_a_drift_is_taken_for_all_or_for_one() -> None:
    gain, turn = quantity("950 +- 60 (sd)", "number"), quantity("0 deg +- 1 deg (sd)", "angle")
    fields = [
        CalibratedField("detector.gain", gain, gain),
        CalibratedField("sensor.rotation", turn, turn, alone=0.0349),
    ]
    assert drifts(fields, None) == {}
    # A share of nothing is nothing: the rotation is left out.
    assert drifts(fields, "3 %") == {"detector.gain": "3 %"}
    both = {"": "3 %", "sensor.rotation": "0.5 deg"}
    assert drifts(fields, both) == {"detector.gain": "3 %", "sensor.rotation": "0.5 deg"}
    for given, said in (
        ("0.5 deg", r'Drift of detector\.gain = "0\.5 deg".*its own: detector\.gain='),
        ({"chain.supply": "1 V"}, "chain.supply: no field that was learned"),
        ({"sensor.rotation": "3 %"}, "that is nothing"),
        ("much", "Drift of detector.gain"),
    ):
        with pytest.raises(RecordingError, match=said):
            drifts(fields, given)  # type: ignore[arg-type]
    one, other = measured_entries(
        fields, on=date(2026, 7, 1), by="A. Reed", how="passes", drift=both
    )
    assert (one.on, one.by, one.how, one.drift) == ("2026-07-01", "A. Reed", "passes", "3 %")
    assert other.how == "passes; by itself known to 2.0 deg (sd)"
