"""The stop chain as a whole: what must hold for any machine."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.made_machines import CHAIN, PAWL, made, plover
from tripmargin.ground.errors import MachineFileError, NotKnownError
from tripmargin.stopping import stop_chain


@settings(max_examples=25)
@given(st.floats(2e-3, 60e-3))
def test_limits_enclose_the_nominal_at_any_cut(cut: float) -> None:
    chain = stop_chain(plover(), cut_length=cut)
    for spread in (chain.stop_time, chain.catch_time, chain.travel):
        assert 0 < spread.low < spread < spread.high
    for stage in chain.stages:
        assert 0 <= stage.low <= stage.nominal <= stage.high


@settings(max_examples=25)
@given(st.floats(2e-3, 60e-3), st.floats(1.01, 3.0))
def test_a_longer_cut_travels_further_and_stops_no_later(cut: float, more: float) -> None:
    # faster rolls wait less for a tooth and stop in the same angle
    one, other = (stop_chain(plover(), cut_length=c) for c in (cut, more * cut))
    assert other.travel > one.travel
    assert other.stop_time < one.stop_time


def test_the_trade_s_stop_of_about_a_twentieth_of_a_second() -> None:
    # common practice, no source: about 0.05 s
    assert 0.03 < stop_chain(plover(), cut_length=0.014).stop_time < 0.07


def test_a_chain_without_any_doubt_has_one_pitch_of_it() -> None:
    chain = stop_chain(made(), cut_length=0.01)
    (tooth,) = (s for s in chain.stages if s.name.startswith("tooth"))
    assert chain.catch_time.high - chain.catch_time.low == pytest.approx(tooth.high, rel=1e-9)


def test_the_slower_pawl_counts_and_only_it() -> None:
    slow = PAWL | {"name": "upper", "clearance": "9 mm"}
    one = stop_chain(made(chain={"pawls": [PAWL, slow]}), cut_length=0.01)
    alone = stop_chain(made(chain={"pawls": [slow]}), cut_length=0.01)
    assert one.travel == pytest.approx(alone.travel, rel=1e-12)
    assert [s.name for s in one.stages][-5:] == [
        "swing lower",
        "tooth lower",
        "swing upper",
        "tooth upper",
        "rest",
    ]


def test_a_what_if_leaves_the_machine_as_it_was() -> None:
    machine = made()
    before = stop_chain(machine, cut_length=0.01).travel
    stop_chain(machine, cut_length=0.01, clearance=0.009, supply=15.0)
    assert stop_chain(machine, cut_length=0.01).travel == before
    assert machine.changed == ()


def test_what_was_assumed_is_told_with_the_stage() -> None:
    machine = made(chain={"relay_release": None})
    chain = stop_chain(machine, cut_length=0.01)
    assert chain.assumed == ("chain.relay_release",)
    (relay,) = (s for s in chain.stages if s.name == "relay_release")
    assert relay.assumed == ("chain.relay_release",)
    assert (relay.low, relay.high) == pytest.approx((2e-3, 15e-3))


def test_the_json_form_is_plain_and_says_its_units() -> None:
    made_ = json.loads(json.dumps(stop_chain(plover(), cut_length=0.01).to_dict(), allow_nan=False))
    assert made_["stages"][0]["name"] == "decision_delay"
    assert made_["stop_time_s"]["nominal"] > 0


@pytest.mark.parametrize("cut", [0.0, -0.01, float("nan"), float("inf")])
def test_a_cut_that_cannot_be_is_refused(cut: float) -> None:
    with pytest.raises(ValueError, match="cut length"):
        stop_chain(made(), cut_length=cut)


def test_what_cannot_be_set_is_refused() -> None:
    with pytest.raises(MachineFileError, match="no such field"):
        stop_chain(made(), cut_length=0.01, no_such_thing=1.0)
    with pytest.raises(MachineFileError):
        stop_chain(made(), cut_length=0.01, suppression={"kind": "magic"})


def test_what_is_missing_is_named() -> None:
    for section in ("chain", "feed"):
        with pytest.raises(NotKnownError, match=section):
            stop_chain(made(without=(section,)), cut_length=0.01)
    hold = {k: v for k, v in CHAIN["hold_winding"].items() if k != "inductance"}
    with pytest.raises(NotKnownError, match="inductance"):
        stop_chain(made(chain={"hold_winding": hold}), cut_length=0.01)
