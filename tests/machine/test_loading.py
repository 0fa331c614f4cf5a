"""Machine files that are fine: the demo machines, the contract's example, type sheets."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import tripmargin
from tests.machine.files import SMALL, plover_path, written
from tripmargin.machine import Machine, demo_machines, load_machine
from tripmargin.machine.loading import demo_path


@pytest.mark.parametrize("name", demo_machines())
def test_a_demo_machine_loads_whole_with_nothing_assumed(name: str) -> None:
    machine = load_machine(name)
    assert machine.name.lower() == name
    assert machine.assumed == ()
    for section in (machine.feed, machine.sensor, machine.detector, machine.chain):
        assert section is not None


@pytest.mark.parametrize("name", demo_machines())
def test_a_demo_machine_is_short_and_builds_on_a_type_sheet(name: str) -> None:
    text = demo_path(name).read_text(encoding="utf-8")
    assert "extends = " in text
    assert len(text.splitlines()) < 60


def test_the_demo_machines_differ_as_their_stories_say() -> None:
    dunlin, curlew, whimbrel, sanderling = map(load_machine, demo_machines())

    def senses(machine: Machine) -> list[tuple[float, int]]:
        assert machine.sensor is not None
        return [
            (a.magnet.direction[2], a.coil.sense)
            for a in machine.sensor.assemblies
            if a.magnet and a.coil
        ]

    assert senses(dunlin) == [(1, 1), (1, -1)]  # a blind line in the middle
    assert senses(curlew) == senses(whimbrel) == [(1, 1), (-1, -1)]  # none
    assert sanderling.detector is not None
    assert sanderling.detector.low_cut is sanderling.detector.high_cut is None
    assert sanderling.chain is not None
    assert len(sanderling.chain.pawls) == 1
    kinds = [m.get("chain.hold_winding.suppression.kind") for m in (dunlin, curlew, sanderling)]
    assert kinds == ["resistor", "diode", "zener"]


def test_the_contracts_example_reads_as_it_says() -> None:
    plover = load_machine(plover_path())
    assert plover.get("feed.sensor_to_shear_bar").low == pytest.approx(0.326)
    assert plover.feed is not None
    assert plover.feed.cut_lengths == pytest.approx((0.005, 0.007, 0.010, 0.014, 0.019, 0.026))
    assert plover.get("sensor.assemblies.1.coil.sense") == -1
    assert plover.get("chain.pawls.upper.swing_time.at_clearance").nominal == pytest.approx(0.0035)
    assert plover.limits.must_stop == "20 mm ball"
    assert plover.assumed == ()


def test_missing_sections_stay_missing_and_missing_fields_are_assumed_and_marked(
    tmp_path: Path,
) -> None:
    machine = load_machine(written(tmp_path, SMALL))
    assert "chain.supply" in machine.assumed
    assert machine.get("chain.supply").source == "assumed"
    assert machine.get("chain.supply").uncertain
    only_feed = load_machine(written(tmp_path, "[feed]\nknives = 8\n", "stint.toml"))
    assert only_feed.sensor is None
    assert only_feed.name == "stint"
    with pytest.raises(tripmargin.NotKnownError, match=r"feed\.roll_diameter"):
        only_feed.need("the race", "feed.roll_diameter", "feed.knives")


def test_noise_that_nobody_gave_is_assumed_from_the_threshold(tmp_path: Path) -> None:
    machine = load_machine(written(tmp_path, SMALL))
    assert machine.get("detector.noise").high == pytest.approx(0.15)
    assert "detector.noise" in machine.assumed


def test_a_type_sheet_is_overridden_key_by_key_and_pawl_by_name(tmp_path: Path) -> None:
    written(tmp_path, SMALL, "type.toml")
    path = written(
        tmp_path,
        'extends = "type.toml"\n[feed]\nknives = 10\n'
        '[[chain.pawls]]\nname = "upper"\nclearance = "6 mm"\n',
    )
    machine = load_machine(path)
    assert machine.get("feed.knives").nominal == 10
    assert machine.get("feed.roll_diameter").nominal == pytest.approx(0.16)
    assert machine.get("chain.pawls.lower.clearance").nominal == pytest.approx(0.0035)
    assert machine.get("chain.pawls.upper.clearance").nominal == pytest.approx(0.006)
    assert [pawl.name for pawl in machine.chain.pawls] == ["lower", "upper"]  # type: ignore[union-attr]


def test_type_sheets_may_build_on_each_other(tmp_path: Path) -> None:
    written(tmp_path, SMALL, "oldest.toml")
    written(tmp_path, 'extends = "oldest.toml"\n[feed]\nknives = 9\n', "newer.toml")
    path = written(tmp_path, 'extends = "newer.toml"\n[machine]\nname = "Ruff"\n')
    machine = load_machine(path)
    assert (machine.name, machine.get("feed.knives").nominal) == ("Ruff", 9)
    assert machine.get("feed.roll_diameter") is not None


def test_an_array_without_names_is_replaced_as_a_whole(tmp_path: Path) -> None:
    written(tmp_path, SMALL, "type.toml")
    path = written(
        tmp_path,
        'extends = "type.toml"\n[[sensor.assemblies]]\ncentre = ["0 mm", "0 mm", "40 mm"]\n',
    )
    (assembly,) = load_machine(path).sensor.assemblies  # type: ignore[union-attr]
    assert assembly.magnet is None


def test_parts_take_the_place_of_a_time_and_nothing_is_assumed_beside_them(
    tmp_path: Path,
) -> None:
    parts = (
        '[chain.rest.parts]\ninertia = "0.4 kg m2"\nstiffness = "18000 N m/rad"\n'
        'slip_torque = "1800 N m"\ndrag_torque = "80 N m"\n'
    )
    machine = load_machine(written(tmp_path, SMALL + parts))
    assert machine.get("chain.rest.roll_angle") is None
    assert "chain.rest.roll_angle" not in machine.assumed
    without = load_machine(written(tmp_path, SMALL))
    assert "chain.rest.roll_angle" in without.assumed


def test_a_file_with_a_byte_order_mark_and_windows_lines_reads_the_same(tmp_path: Path) -> None:
    plain = load_machine(written(tmp_path, SMALL))
    windows = "\ufeff" + SMALL.replace("\n", "\r\n")
    assert load_machine(written(tmp_path, windows)) == plain


def test_a_file_named_like_a_demo_machine_wins_over_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written(tmp_path, SMALL, "curlew")
    monkeypatch.chdir(tmp_path)
    assert load_machine("curlew").name == "Knot"


def test_a_what_if_changes_one_field_and_says_so() -> None:
    curlew = load_machine("curlew")
    worn = curlew.with_settings({"chain.pawls.lower.clearance": "6 mm"})
    assert worn.get("chain.pawls.lower.clearance").nominal == pytest.approx(0.006)
    assert worn.changed == ("chain.pawls.lower.clearance",)
    assert replace(worn, chain=curlew.chain, changed=()) == curlew


@pytest.mark.parametrize(
    "path", ["chain.pawls.lower.clearance", "chain.pawls.0.clearance", "pawls.lower.clearance"]
)
def test_an_arrays_table_is_reached_by_its_name_or_its_number(path: str) -> None:
    set_ = load_machine("curlew").with_settings({path: 0.006})
    assert set_.get("chain.pawls.lower.clearance").nominal == 0.006
    assert set_.get("chain.pawls.upper.clearance").nominal != 0.006


def test_a_name_alone_means_every_pawl_and_a_dict_each_its_own() -> None:
    both = load_machine("curlew").with_settings({"clearance": 0.005})
    assert both.get("chain.pawls.upper.clearance").nominal == 0.005
    assert both.limits == load_machine("curlew").limits
    one = load_machine("curlew").with_settings({"clearance": {"upper": 0.005}})
    assert one.get("chain.pawls.lower.clearance").nominal == pytest.approx(0.0034)


def test_a_time_set_in_a_what_if_replaces_the_parts_that_would_win_over_it() -> None:
    curlew = load_machine("curlew")
    assert curlew.get("chain.rest.parts") is not None
    assert curlew.with_settings({"roll_angle": 0.1}).get("chain.rest.parts") is None
    timed = curlew.with_settings({"chain.pawls.lower.swing_time.time": "9 ms"})
    assert timed.get("chain.pawls.lower.parts") is None
    assert timed.get("chain.plunger.parts") is not None


def test_a_machine_without_a_name_is_called_as_its_file(tmp_path: Path) -> None:
    for text in ("[feed]\nknives = 8\n", '[machine]\nserial = "1"\n'):
        path = tmp_path / "godwit.toml"
        path.write_text(text, encoding="utf-8")
        assert load_machine(path).name == "godwit"


def test_a_folder_is_refused_by_its_name() -> None:
    with pytest.raises(tripmargin.MachineFileError, match=r"^\.: a folder"):
        load_machine(".")
