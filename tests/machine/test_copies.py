"""A machine kept as texts comes back as it was, and says what has changed since."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.machine.files import SMALL, plover_path, written
from tripmargin.ground.errors import MachineFileError, TripmarginError
from tripmargin.machine import (
    Difference,
    Machine,
    MachineCopyError,
    copy_of,
    demo_machines,
    differences,
    digest_of,
    load_machine,
    machine_from_copy,
)
from tripmargin.machine.loading import demo_path


def through_json(machine: Machine) -> dict[str, Any]:
    """A copy as a file gives it back."""
    copy = json.loads(json.dumps(copy_of(machine)))
    assert isinstance(copy, dict)
    return copy


@pytest.mark.parametrize("name", demo_machines())
def test_a_demo_machine_comes_back_from_its_copy(name: str) -> None:
    machine = load_machine(name)
    copy = through_json(machine)
    assert machine_from_copy(copy) == machine
    assert machine_from_copy(copy, file="case 7").file == "case 7"
    assert replace(machine_from_copy(copy, file="case 7"), file=machine.file) == machine
    assert copy["sheets"][0]["text"] == demo_path(name).read_text(encoding="utf-8")
    assert len(copy["sheets"]) == 2
    assert copy["digest"] == digest_of(copy) == digest_of(machine)
    assert differences(copy, machine) == ()


@pytest.mark.parametrize("name", demo_machines())
def test_a_machine_without_its_file_is_copied_from_its_own_values(name: str) -> None:
    machine = replace(load_machine(name), file="gone.toml")
    copy = through_json(machine)
    assert machine_from_copy(copy) == machine
    assert len(copy["sheets"]) == 1
    # What a file writes though it is usual cannot be told from what it leaves out.
    assert all(d.after == "" for d in differences(load_machine(name), machine))


def test_the_contracts_example_is_copied_with_and_without_its_file() -> None:
    machine = load_machine(plover_path())
    for file in (machine.file, "gone.toml"):
        one = replace(machine, file=file)
        assert replace(machine_from_copy(through_json(one)), file=file) == one


def test_a_copy_holds_no_folder(tmp_path: Path) -> None:
    (tmp_path / "types").mkdir()
    written(tmp_path / "types", SMALL, "type.toml")
    path = written(tmp_path, 'extends = "types/type.toml"\n[feed]\nknives = 10\n')
    machine = load_machine(path)
    copy = through_json(machine)
    assert str(tmp_path) not in json.dumps(copy)
    assert [sheet["name"] for sheet in copy["sheets"]] == ["knot.toml", "type.toml"]
    path.unlink()
    assert machine_from_copy(copy, file=str(path)) == machine


def test_a_machine_named_after_its_file_keeps_that_name(tmp_path: Path) -> None:
    machine = load_machine(written(tmp_path, "[feed]\nknives = 8\n", "stint.toml"))
    assert machine_from_copy(through_json(machine), file="other.toml").name == "stint"


def test_the_copy_is_the_machine_that_was_loaded_not_what_the_file_says_by_now(
    tmp_path: Path,
) -> None:
    path = written(tmp_path, SMALL)
    machine = load_machine(path)
    written(tmp_path, SMALL.replace("knives = 8", "knives = 9"))
    copy = through_json(machine)
    assert machine_from_copy(copy, file=str(path)) == machine
    assert differences(copy, load_machine(path)) == (Difference("feed.knives", "8", "9"),)


def test_comments_and_layout_do_not_count(tmp_path: Path) -> None:
    plain = load_machine(written(tmp_path, SMALL, "a.toml"))
    other = SMALL.replace("\n", "  # a word\r\n\r\n").replace("knives = 8", "knives=8.0")
    moved = load_machine(written(tmp_path, "\ufeffformat = 1\n" + other, "b.toml"))
    assert digest_of(plain) == digest_of(moved)
    assert differences(plain, moved) == ()


CHANGES = [
    ("knives = 8", "knives = 10", ("feed.knives", "8", "10")),
    ('"1000 rpm +- 2 %"', '"990 rpm"', ("feed.cutterhead_speed", "1000 rpm +- 2 %", "990 rpm")),
    ('["5 mm", "10 mm"]', '["5 mm"]', ("feed.cut_lengths", '["5 mm", "10 mm"]', '["5 mm"]')),
    ('low_cut = "6 Hz"\n', "", ("detector.low_cut", "6 Hz", "")),
    ('[detector]\n', '[detector]\ngain = 900\n', ("detector.gain", "", "900")),
    (
        'name = "upper"\nclearance = "3.5 mm"',
        'name = "upper"\nclearance = "4 mm"',
        ("chain.pawls.upper.clearance", "3.5 mm", "4 mm"),
    ),
    (
        "direction = [0, 0, 1]",
        "direction = [0, 0, -1]",
        ("sensor.assemblies.0.magnet.direction", "[0, 0, 1]", "[0, 0, -1]"),
    ),
    (
        '{ kind = "diode", voltage = "0.8 V" }',
        '{ kind = "diode", voltage = "0.9 V" }',
        ("chain.hold_winding.suppression.voltage", "0.8 V", "0.9 V"),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("before", "after", "what"), CHANGES)
def test_a_change_is_named_by_its_field_with_both_texts(
    tmp_path: Path, before: str, after: str, what: tuple[str, str, str]
) -> None:
    assert before in SMALL
    old = load_machine(written(tmp_path, SMALL, "old.toml"))
    new = load_machine(written(tmp_path, SMALL.replace(before, after), "new.toml"))
    assert differences(old, new) == differences(copy_of(old), new) == (Difference(*what),)
    field, one, other = what
    assert differences(new, old) == (Difference(field, other, one),)
    assert digest_of(old) != digest_of(new)


def test_a_difference_reads_as_a_sentence_would() -> None:
    curlew = load_machine("curlew")
    changed = curlew.with_settings({"feed.sensor_to_shear_bar": "262 mm"})
    (found,) = differences(curlew, changed)
    assert str(found) == "feed.sensor_to_shear_bar: 259 mm +- 3 mm -> 262 mm"
    assert str(Difference("a.b", "", "3 m")) == "a.b: not given -> 3 m"
    assert found.to_dict() == {
        "field": "feed.sensor_to_shear_bar", "before": "259 mm +- 3 mm", "after": "262 mm"
    }  # fmt: skip


def test_a_wire_of_another_length_is_named_by_the_wire(tmp_path: Path) -> None:
    copy = through_json(load_machine("whimbrel"))
    other = json.loads(json.dumps(copy))
    sheet = next(s for s in other["sheets"] if "length = " in s["text"])
    place = sheet["text"].index('length = "') + len('length = "')
    end = sheet["text"].index('"', place)
    before = sheet["text"][place:end]
    sheet["text"] = sheet["text"][:place] + "4.25 m" + sheet["text"][end:]
    (found,) = differences(copy, other)
    assert found.field.startswith("circuit.parts.")
    assert found.field.endswith(".length")
    assert (found.before, found.after) == (before, "4.25 m")


def test_an_added_and_a_removed_pawl_and_swapped_ones_are_told(tmp_path: Path) -> None:
    old = load_machine(written(tmp_path, SMALL, "old.toml"))
    third = '[[chain.pawls]]\nname = "third"\nclearance = "3 mm"\n'
    more = load_machine(written(tmp_path, SMALL + third, "more.toml"))
    assert differences(old, more) == (Difference("chain.pawls.third.clearance", "", "3 mm"),)
    assert differences(more, old) == (Difference("chain.pawls.third.clearance", "3 mm", ""),)
    head, lower, upper = SMALL.split("[[chain.pawls]]\n")
    swapped = "[[chain.pawls]]\n".join([head, upper, lower])
    turned = load_machine(written(tmp_path, swapped, "swapped.toml"))
    assert differences(old, turned) == (Difference("chain.pawls", "lower, upper", "upper, lower"),)


def test_machines_differ_exactly_where_their_digests_do() -> None:
    machines = [load_machine(name) for name in demo_machines()]
    for one in machines:
        for other in machines:
            assert (differences(one, other) == ()) == (digest_of(one) == digest_of(other))


WHAT_IFS: list[dict[str, Any]] = [
    {"supply": 10.5},
    {"supply": 10.500123456789},
    {"supply": "12 V +- 1 V (sd)", "knives": 12},
    {"clearance": {"lower": 0.006}},
    {"clearance": 0.0041},
    {"chain.pawls.0.clearance": "3 mm"},
    {"cut_lengths": ["5 mm", "7.123456789 mm"]},
    {"chain.hold_winding.suppression": {"kind": "zener", "voltage": 24.0}},
    {"chain.plunger.travel_time": 0.006},
    {"chain.plunger.parts.mass": 0.2, "chain.plunger.travel_time": 0.006},
]


@pytest.mark.parametrize("what_if", WHAT_IFS, ids=str)
@pytest.mark.parametrize("file", ["curlew", "gone.toml"])
def test_a_what_if_comes_back_with_every_number_in_full(what_if: dict[str, Any], file: str) -> None:
    curlew = replace(load_machine("curlew"), file=file)
    machine = curlew.with_settings(what_if)
    copy = through_json(machine)
    assert machine_from_copy(copy) == machine
    assert machine_from_copy(copy).changed == machine.changed != ()
    assert digest_of(copy) == digest_of(machine) != digest_of(curlew)
    named = {found.field for found in differences(curlew, copy)}
    assert named
    for path in machine.changed:
        place = path.replace("pawls.0", "pawls.lower")
        gone = machine.get(path) is None
        assert gone or any(field == place or field.startswith(place + ".") for field in named)
    assert differences(copy, machine) == ()


def test_a_what_if_says_its_text_and_what_it_takes_the_place_of() -> None:
    curlew = load_machine("curlew")
    gap = differences(curlew, curlew.with_settings({"chain.pawls.lower.clearance": 0.0041}))
    assert [str(d) for d in gap] == ["chain.pawls.lower.clearance: 3.4 mm +- 0.4 mm -> 4.1 mm"]
    time = differences(curlew, curlew.with_settings({"chain.plunger.travel_time": 0.006}))
    assert Difference("chain.plunger.parts.travel", "7.5 mm +- 0.6 mm", "") in time


@settings(max_examples=20)
@given(volts=st.floats(2.0, 30.0), metres=st.floats(0.001, 0.012))
def test_any_what_if_comes_back(volts: float, metres: float) -> None:
    machine = load_machine("dunlin").with_settings({"supply": volts, "clearance": metres})
    assert machine_from_copy(through_json(machine)) == machine


def test_a_machine_that_no_text_gives_is_refused() -> None:
    curlew = load_machine("curlew")
    assert curlew.chain is not None
    supply = curlew.chain.supply
    assert supply is not None
    tampered = replace(curlew, chain=replace(curlew.chain, supply=replace(supply, nominal=1.0)))
    with pytest.raises(MachineCopyError, match="Load it again") as caught:
        copy_of(tampered)
    assert isinstance(caught.value, TripmarginError)


@pytest.mark.parametrize(
    ("key", "value", "where"),
    [
        ("format", 2, "format"),
        ("sheets", [], "sheets"),
        ("sheets", [{"name": "a.toml"}], "sheets"),
        ("sheets", "text", "sheets"),
        ("settings", {"chain.supply": {"quantity": {"nominal": "x"}}}, "settings"),
        ("settings", {"chain.supply": {"what": 1}}, "settings"),
        ("settings", [1], "settings"),
        ("digest", "0" * 64, "digest"),
        ("digest", None, "digest"),
    ],
)
def test_what_is_no_copy_is_refused_with_the_place(key: str, value: Any, where: str) -> None:
    copy = through_json(load_machine("dunlin")) | {key: value}
    with pytest.raises(MachineCopyError) as caught:
        machine_from_copy(copy)
    assert caught.value.where == where
    assert caught.value.allowed


def test_a_changed_text_is_noticed_by_the_digest() -> None:
    copy = through_json(load_machine("dunlin"))
    sheet = copy["sheets"][0]
    sheet["text"] += "# a comment does not count\n"
    assert machine_from_copy(copy) == load_machine("dunlin")
    sheet["text"] = sheet["text"].replace('name = "Dunlin"', 'name = "Dunlin 2"')
    with pytest.raises(MachineCopyError, match="not those that were copied"):
        machine_from_copy(copy)


def test_a_damaged_text_is_refused_as_loading_refuses_it() -> None:
    copy = through_json(load_machine("dunlin"))
    for text, line in (("[feed\nknives = 8\n", 1), ('[feed]\nknifes = 8\nknives = "8 mm"\n', 2)):
        copy["sheets"] = [{"name": "dunlin.toml", "text": text}]
        with pytest.raises(MachineFileError) as caught:
            machine_from_copy(copy)
        assert (caught.value.file, caught.value.line) == ("dunlin.toml", line)
