"""Proving a machine: verdicts, what they need, what they say."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.made_machines import BOTH_OPPOSED, CHAIN, PAWL, lopsided, made, plover, two_assemblies
from tripmargin.machine import Machine
from tripmargin.protection import prove
from tripmargin.protection.judging import attitudes
from tripmargin.protection.verdicts import verdict_of
from tripmargin.sensing import Piece

CUT = [0.012]


def strong(**limits: Any) -> Machine:
    """A machine that protects against its ball at short cuts: keen, close, without a null."""
    return made(
        sensor=two_assemblies(BOTH_OPPOSED),
        feed={"roll_width": "0.4 m", "crop_depth": "10 mm .. 40 mm"},
        detector={"threshold": "0.4 V", "noise": "0.02 V"},
        limits={"must_stop": "25 mm ball"} | limits,
    )


@pytest.mark.parametrize(
    ("protected", "verdict"),
    [
        (1.0, "protected"),
        (0.99, "protected"),
        (0.98999, "doubtful"),
        (0.5, "doubtful"),
        (0.49999, "not protected"),
        (0.0, "not protected"),
    ],
)
def test_the_verdict_turns_at_the_confidence_and_at_one_half(
    protected: float, verdict: str
) -> None:
    # MODEL.md, Protected
    assert verdict_of(protected, 0.99) == verdict


def test_the_machine_s_verdict_is_that_of_its_worst_cut() -> None:
    proof = prove(strong(), cut_lengths=[0.006, 0.012, 0.1])
    verdicts = [v.verdict for v in proof.cuts]
    assert [v.cut_length for v in proof.cuts] == [0.006, 0.012, 0.1]
    assert verdicts == ["protected", "protected", "not protected"]
    assert proof.verdict == "not protected"
    slow = proof.cuts[-1]
    assert slow.seen > 0.99
    assert slow.stopped_if_seen < 0.5


def test_a_verdict_s_numbers_hang_together() -> None:
    for verdict in prove(plover(keeper=False), cut_lengths=[0.007, 0.019]).cuts:
        assert verdict.seen == pytest.approx(verdict.protected + verdict.too_late, abs=1e-12)
        assert verdict.protected == pytest.approx(verdict.seen * verdict.stopped_if_seen)
        assert 0 <= verdict.worst_place[2] <= verdict.protected <= 1
        assert 0 <= verdict.share_of_places <= 1
        assert verdict.stop_time_ok == (verdict.stop_time <= 0.060)


def test_a_machine_with_even_magnets_and_opposed_windings_has_a_null_in_the_middle() -> None:
    proof = prove(made(), cut_lengths=CUT)
    assert proof.nulls == pytest.approx((0.0,), abs=1e-5)
    assert proof.smallest_protected_ball_worst is None
    assert any("the middle of the roll" in line and "cancel" in line for line in proof.because)


@pytest.mark.parametrize("sensor", [two_assemblies(BOTH_OPPOSED), lopsided()])
def test_a_machine_with_both_opposed_or_one_assembly_has_no_null(sensor: dict[str, Any]) -> None:
    assert prove(made(sensor=sensor), cut_lengths=CUT).nulls == ()


def test_a_sensor_upside_down_protects_far_less() -> None:
    right, wrong = (
        prove(strong().with_settings({"sensor.rotation": angle}), cut_lengths=CUT)
        for angle in ("0 deg", "180 deg")
    )
    assert right.verdict == "protected"
    assert wrong.verdict == "not protected"
    assert wrong.cuts[0].seen < 0.2


@pytest.mark.parametrize(
    ("without", "needs"),
    [
        ("sensor", "sensor"),
        ("detector", "detector.gain"),
        ("chain", "chain"),
        ("feed", "feed.cutterhead_speed"),
    ],
)
def test_a_missing_section_is_not_known_and_named(without: str, needs: str) -> None:
    proof = prove(made(without=(without,)), cut_lengths=CUT)
    assert proof.verdict == "not known"
    assert needs in proof.needs
    assert any(needs in line for line in proof.because)
    json.dumps(proof.to_dict(), allow_nan=False)


def test_without_a_sensor_the_stop_alone_is_still_told() -> None:
    proof = prove(made(without=("sensor",)), cut_lengths=CUT)
    (one,) = proof.cuts
    assert (one.verdict, one.seen, one.protected) == ("not known", None, None)
    assert one.stopped_if_seen == pytest.approx(1.0, abs=1e-6)
    assert one.travel > 0


@pytest.mark.parametrize(
    ("words", "across"),
    [("M12x40 bolt", 1), ("8 mm x 120 mm rod", 1), ("12 mm x 60 mm rod along", 0)],
)
def test_the_verdict_is_about_the_piece_that_must_stop(words: str, across: int) -> None:
    machine = strong(must_stop=words)
    proof = prove(machine, cut_lengths=CUT)
    (one,) = proof.cuts
    piece = Piece.from_text(words)
    assert one.piece == piece.name
    assert proof.protection_map.must_stop_diameter is None
    assert len(attitudes(piece)) == (3 if across else 1)
    lying = [
        prove(machine, cut_lengths=CUT, pieces=[p]).cuts[0].protected for p in attitudes(piece)
    ]
    assert one.protected == pytest.approx(sum(lying) / len(lying), abs=1e-9)


def test_a_ball_by_its_words_is_that_ball() -> None:
    by_words = prove(strong(), cut_lengths=CUT, pieces=["25 mm ball"]).cuts[0]
    assert by_words == prove(strong(), cut_lengths=CUT, pieces=[Piece.ball(0.025)]).cuts[0]
    assert by_words == prove(strong(), cut_lengths=CUT).cuts[0]


def test_more_confidence_asked_never_betters_a_verdict() -> None:
    order = ["protected", "doubtful", "not protected"]
    found = [
        order.index(prove(strong(confidence=c), cut_lengths=[0.02]).verdict)
        for c in ("60 %", "99 %", "99.9999999 %")
    ]
    assert found == sorted(found)


@pytest.mark.parametrize("cut", [0.0, -0.01, float("nan"), float("inf")])
def test_a_cut_that_cannot_be_is_refused(cut: float) -> None:
    with pytest.raises(ValueError, match="cut length"):
        prove(made(), cut_lengths=[cut])


def test_too_many_cuts_are_refused() -> None:
    with pytest.raises(ValueError, match="cut lengths"):
        prove(made(), cut_lengths=[0.001 + 1e-7 * k for k in range(100_001)])


@pytest.mark.parametrize(
    "detector",
    [
        {"noise": "0 V"},
        {"noise": "0 V .. 0.1 V"},
        {"high_cut": None},
        {"low_cut": None, "high_cut": None},
        {"gain": 1e-6},
        {"noise": None},
        {"threshold": "0.05 V", "noise": "0.1 V"},
    ],
)
def test_an_odd_detector_gives_a_plain_answer(detector: dict[str, Any]) -> None:
    proof = prove(made(detector=detector), cut_lengths=CUT)
    json.dumps(proof.to_dict(), allow_nan=False)
    drowned = detector.get("noise") == "0.1 V"  # above the threshold: it trips by itself
    assert (proof.verdict == "not known") == drowned
    marked = any("trips by itself" in line for line in proof.because)
    assert marked == (detector.get("threshold") == "0.05 V")


@pytest.mark.parametrize(
    "words", ["20 mm stainless ball", "20 mm aluminium ball", "2 mm ball", "M8x30 bolt"]
)
def test_any_piece_gives_a_plain_answer(words: str) -> None:
    proof = prove(made(), cut_lengths=CUT, pieces=[words])
    json.dumps(proof.to_dict(), allow_nan=False)


def test_a_piece_larger_than_the_gap_is_marked() -> None:
    proof = prove(made(), cut_lengths=CUT, pieces=[Piece.ball(0.2)])
    assert any("cannot pass" in line for line in proof.because)


def test_an_exact_depth_and_one_pawl_are_enough() -> None:
    machine = made(feed={"crop_depth": "30 mm"}, chain={"pawls": [PAWL]})
    json.dumps(prove(machine, cut_lengths=CUT).to_dict(), allow_nan=False)


def test_what_sticks_is_not_protected() -> None:
    weak = {
        "mass": "0.2 kg",
        "travel": "8 mm",
        "spring_force": "2 N",
        "spring_rate": "10 N/m",
        "friction": "3 N",
        "magnet_gap": "0.45 mm",
    }
    proof = prove(made(chain={"plunger": {"parts": weak}}), cut_lengths=CUT)
    assert proof.verdict == "not protected"
    json.dumps(proof.to_dict(), allow_nan=False)


def test_a_release_current_never_reached_lets_go_at_once() -> None:
    # 3 V over 18 ohm is under the release current (MODEL.md: 0 s)
    chain = {"supply": "3 V", "hold_winding": CHAIN["hold_winding"]}
    proof = prove(made(chain=chain), cut_lengths=CUT)
    assert proof.verdict in ("protected", "doubtful", "not protected")
