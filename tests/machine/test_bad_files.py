"""Broken machine files: a MachineFileError that says where, what, what is allowed, how to mend."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.machine.files import SMALL, plover_path, written
from tripmargin.ground.errors import MachineFileError
from tripmargin.machine import Machine, load_machine


def refused(path: Path) -> MachineFileError:
    with pytest.raises(MachineFileError) as caught:
        load_machine(path)
    error = caught.value
    assert error.file
    assert error.problems
    assert len(str(error.problems[0])) < 2000
    return error


def line_of(text: str, part: str) -> int:
    return next(n for n, line in enumerate(text.splitlines(), 1) if part in line)


# what to replace, by what, field, what the problem says, what the allowed says
BAD_VALUES = [
    ('"260 mm"', '"260"', "feed.sensor_to_shear_bar", "no unit", "330 mm"),
    ('"260 mm"', "260", "feed.sensor_to_shear_bar", "no unit", "from 50 mm to 2000 mm"),
    ('"260 mm"', '"260 V"', "feed.sensor_to_shear_bar", "unit of voltage", "length"),
    ('"260 mm"', '"-260 mm"', "feed.sensor_to_shear_bar", "too small", "from 50 mm"),
    ('"260 mm"', '"9 m"', "feed.sensor_to_shear_bar", "too large", "to 2000 mm"),
    ('"260 mm"', '"NaN mm"', "feed.sensor_to_shear_bar", "not a number", "length"),
    ('"260 mm"', "nan", "feed.sensor_to_shear_bar", "no unit", "length"),
    ('"260 mm"', '"1e400 mm"', "feed.sensor_to_shear_bar", "too large a number", "length"),
    ('"260 mm"', '"264 mm .. 256 mm"', "feed.sensor_to_shear_bar", "swapped", "length"),
    ('"260 mm"', '"60 mm +- 50 mm"', "feed.sensor_to_shear_bar", "too small", "from 50 mm"),
    ('"260 mm"', "true", "feed.sensor_to_shear_bar", "not a text", "length"),
    ('"260 mm"', "2026-11-25", "feed.sensor_to_shear_bar", "not a text", "length"),
    ('"260 mm"', '["260 mm"]', "feed.sensor_to_shear_bar", "not a text", "length"),
    ("knives = 8", "knives = 7.5", "feed.knives", "not a whole number", "from 1 to 200"),
    ("knives = 8", "knives = 0", "feed.knives", "too small", "from 1 to 200"),
    ("knives = 8", "knives = 1e400", "feed.knives", "not a finite number", "whole number"),
    ("knives = 8", "knives = nan", "feed.knives", "not a finite number", "whole number"),
    ("knives = 8", f"knives = {'9' * 400}", "feed.knives", "too large", "whole number"),
    ("knives = 8", f"knives = 0x{'f' * 5000}", "feed.knives", "too large", "whole number"),
    ('"1000 rpm +- 2 %"', '"0 rpm"', "feed.cutterhead_speed", "too small", "from 50 rpm"),
    ('["5 mm", "10 mm"]', '["5 mm", "10"]', "feed.cut_lengths.1", "no unit", "length"),
    ('["5 mm", "10 mm"]', "[]", "feed.cut_lengths", "not a list of lengths", "5 mm"),
    ('["5 mm", "10 mm"]', '["5 mm +- 1 mm"]', "feed.cut_lengths.0", "no tolerance", "length"),
    ('"1.5 V"', '"0 V"', "detector.threshold", "too small", "voltage"),
    ('"6 Hz"', '"200 Hz"', "detector.low_cut", "not below high_cut", "below high_cut"),
    ("[0, 0, 1]", "[0, 0, 0]", "sensor.assemblies.0.magnet.direction", "not a direction", "zero"),
    ("[0, 0, 1]", '["a", 0, 1]', "sensor.assemblies.0.magnet.direction", "not a direction", ""),
    (
        "[0, 0, 1]",
        f"[0, 0, 0x{'f' * 400}]",
        "sensor.assemblies.0.magnet.direction",
        "too large",
        "three",
    ),
    ('"24 mm", ', "", "sensor.assemblies.0.magnet.size", "not a list of 3", "3 lengths"),
    (
        '["0 mm", "0 mm", "50 mm"]',
        '["0 mm", "0 mm", "90 mm"]',
        "sensor.assemblies.0.centre",
        "stands out of the roll",
        "below 80 mm",
    ),
    ('"diode"', '"dioed"', "chain.hold_winding.suppression.kind", "not allowed", "diode"),
    ('"diode"', '["diode"]', "chain.hold_winding.suppression.kind", "not allowed", "diode"),
    ('"diode"', '"resistor"', "chain.hold_winding.suppression", "needs its resistance", "82 ohm"),
    (
        '"diode", voltage = "0.8 V"',
        '"none", voltage = "0.8 V"',
        "chain.hold_winding.suppression.voltage",
        "takes no voltage",
        "no such key",
    ),
    ('name = "upper"', 'name = "lower"', "chain.pawls", 'two pawls are called "lower"', "own"),
    ('name = "upper"', 'name = "2"', "chain.pawls.2", "may not be a number", "lower"),
    ("knives = 8", "knifes = 8", "feed.knifes", "unknown key", "knives"),
    ("[detector]", "[detecter]", "detecter", "unknown section", "detector"),
    ("[machine]", "[[machine]]", "machine", "not a table", "name"),
    ('name = "Knot"', 'name = "  "', "machine.name", "not allowed", "text"),
    ("[machine]", "format = 2\n[machine]", "format", "another format", "1"),
]


@pytest.mark.parametrize(
    ("old", "new", "field", "problem", "allowed"),
    BAD_VALUES,
    ids=[f"{field}: {new[:25]}" for _, new, field, _, _ in BAD_VALUES],
)
def test_a_bad_value_is_named_with_its_line_and_what_is_allowed(
    tmp_path: Path, old: str, new: str, field: str, problem: str, allowed: str
) -> None:
    assert SMALL.count(old) == 1
    text = SMALL.replace(old, new)
    error = refused(written(tmp_path, text))
    assert error.field == field
    assert problem in error.problems[0].problem
    assert allowed in error.allowed
    assert error.file == "knot.toml"
    assert error.line is not None


@pytest.mark.parametrize(
    ("old", "new", "part"),
    [
        ('"260 mm"', '"260"', "sensor_to_shear_bar"),
        ('["5 mm", "10 mm"]', '[\n"5 mm",\n"10"]', '"10"'),
        ('"0.8 V"', '"0.8"', "suppression"),
        ('name = "upper"\nclearance = "3.5 mm"', 'name = "upper"\nclearance = "4"', '"4"'),
        ('name = "Knot"', 'name = "Knot"\nowner = "x"', "owner"),
    ],
)
def test_the_line_points_at_the_value(tmp_path: Path, old: str, new: str, part: str) -> None:
    text = SMALL.replace(old, new)
    assert refused(written(tmp_path, text)).line == line_of(text, part)


def test_the_value_seen_and_a_hint_are_given(tmp_path: Path) -> None:
    error = refused(written(tmp_path, SMALL.replace('"260 mm"', '"260"')))
    assert error.value == '"260"'
    assert "along the crop's path" in error.hint
    unknown = refused(written(tmp_path, SMALL.replace("threshold", "treshold")))
    assert 'Did you mean "threshold"?' in unknown.hint


def test_every_problem_is_told_at_once(tmp_path: Path) -> None:
    text = SMALL.replace('"260 mm"', '"260"').replace("knives = 8", "knives = 0")
    assert [p.field for p in refused(written(tmp_path, text)).problems] == [
        "feed.knives",
        "feed.sensor_to_shear_bar",
    ]


def test_a_problem_in_a_type_sheet_names_the_sheet_and_its_line(tmp_path: Path) -> None:
    broken = SMALL.replace('"260 mm"', '"260"')
    written(tmp_path, broken, "type.toml")
    path = written(tmp_path, 'extends = "type.toml"\n[feed]\nknives = 9\n')
    error = refused(path)
    assert (error.file, error.line) == ("type.toml", line_of(broken, "sensor_to_shear_bar"))


def test_a_problem_in_the_file_over_a_good_sheet_names_the_file(tmp_path: Path) -> None:
    written(tmp_path, SMALL, "type.toml")
    text = 'extends = "type.toml"\n\n[[chain.pawls]]\nname = "upper"\nclearance = "6"\n'
    error = refused(written(tmp_path, text))
    assert (error.file, error.line, error.field) == ("knot.toml", 5, "chain.pawls.upper.clearance")


def test_two_pawls_of_one_name_are_refused_over_a_type_sheet_too(tmp_path: Path) -> None:
    written(tmp_path, SMALL, "type.toml")
    pawl = '[[chain.pawls]]\nname = "lower"\nclearance = "4 mm"\n'
    error = refused(written(tmp_path, f'extends = "type.toml"\n{pawl}{pawl}'))
    assert "two pawls" in error.problems[0].problem


@pytest.mark.parametrize(
    ("extends", "problem"),
    [
        ('"no-such.toml"', "no such type sheet"),
        ('"knot.toml"', "circle"),
        ("3", "not a text"),
        ('"."', "no such type sheet"),
        (f'"{"x" * 5000}.toml"', "no such type sheet"),
        (r'"a\u0000b"', "no file can have this name"),
    ],
)
def test_a_type_sheet_that_cannot_be_used_is_named(
    tmp_path: Path, extends: str, problem: str
) -> None:
    error = refused(written(tmp_path, f"# first line\nextends = {extends}\n{SMALL}"))
    assert (error.field, error.line) == ("extends", 2)
    assert problem in str(error)
    assert error.allowed
    assert error.hint


def test_type_sheets_in_a_circle_are_shown_with_the_way_round(tmp_path: Path) -> None:
    written(tmp_path, 'extends = "b.toml"\n', "a.toml")
    written(tmp_path, 'extends = "a.toml"\n', "b.toml")
    assert "a.toml -> b.toml -> a.toml" in str(refused(tmp_path / "a.toml"))


def test_more_type_sheets_in_a_row_than_anyone_needs_are_refused(tmp_path: Path) -> None:
    for number in range(12):
        written(tmp_path, f'extends = "{number + 1}.toml"\n', f"{number}.toml")
    assert "files in a row" in str(refused(tmp_path / "0.toml"))


def test_a_file_of_ten_megabytes_is_refused_before_it_is_read(tmp_path: Path) -> None:
    error = refused(written(tmp_path, b"#" * 10_000_000))
    assert "10.0 MB is too large" in str(error)


@pytest.mark.parametrize(
    ("content", "problem", "line"),
    [
        (b"[machine]\n\xff\xfe\x00\x01", "not a text file", 2),
        (bytes(range(256)) * 10, "not a text file", 2),
        (b"[feed]\nknives = 8\nknives = 9\n", "not TOML", 3),
        (b"[feed]\nknives 8\n", "not TOML", 2),
        (b'[machine]\nname = "Knot\n', "not TOML", 2),
        (b"x = " + b"[" * 5000 + b"]" * 5000, "not TOML", None),
        (b"x = " + b"9" * 5000, "not TOML", None),
        (b"a\0b", "not a text file", None),
    ],
)
def test_what_is_not_toml_is_refused(
    tmp_path: Path, content: bytes, problem: str, line: int | None
) -> None:
    error = refused(written(tmp_path, content))
    assert problem in str(error)
    if line is not None:
        assert error.line == line


def test_more_than_a_hundred_thousand_cut_lengths_are_refused(tmp_path: Path) -> None:
    many = "[" + '"5mm",' * 100_001 + "]"
    error = refused(written(tmp_path, SMALL.replace('["5 mm", "10 mm"]', many)))
    assert error.field == "feed.cut_lengths"
    assert "more than 1000 cut lengths" in str(error)


@pytest.mark.parametrize("name", ["no-such-file.toml", "x" * 5000, "a\0b", ""])
def test_a_file_that_is_not_there_is_named(name: str) -> None:
    with pytest.raises(MachineFileError, match=r"no such file|not a file|a folder"):
        load_machine(name)


def test_a_mistyped_demo_machine_is_answered_with_the_nearest() -> None:
    with pytest.raises(MachineFileError, match='Did you mean the demo machine "curlew"'):
        load_machine("Curlw")


def test_a_folder_is_refused(tmp_path: Path) -> None:
    assert "a folder, not a file" in str(refused(tmp_path))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_that_never_ends_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "not a file" in str(refused(tmp_path / "pipe"))


def machine_or_refusal(path: Path) -> None:
    """The only two things that loading may do."""
    try:
        assert isinstance(load_machine(path), Machine)
    except MachineFileError as error:
        for problem in error.problems:
            assert problem.problem
            assert str(problem)


FUZZ = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
HOSTILE = st.sampled_from(
    [
        "nan",
        "inf",
        "-1",
        "0",
        "1e400",
        "true",
        "[]",
        "{}",
        '""',
        '"-1 mm"',
        '"1 mm +- 2 mm"',
        '"5 V"',
        "[[]]",
        "[{}]",
        "1979-05-27",
        '"a.b"',
        "-9223372036854775808",
        '{ "" = 1 }',
        "''",
    ]
)


@FUZZ
@given(
    content=st.binary(max_size=300)
    | st.text(max_size=300).map(lambda text: text.encode("utf-8", "surrogatepass"))
)
def test_any_bytes_are_a_machine_or_a_refusal(tmp_path: Path, content: bytes) -> None:
    machine_or_refusal(written(tmp_path, content))


@FUZZ
@given(data=st.data())
def test_the_contracts_example_with_values_swapped_is_a_machine_or_a_refusal(
    tmp_path: Path, data: st.DataObject
) -> None:
    lines = plover_path().read_text(encoding="utf-8").splitlines()
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        if re.match(r"\w+ = ", lines[at]):
            key = lines[at].split(" = ")[0]
            lines[at] = f"{key} = {data.draw(HOSTILE)}"
    machine_or_refusal(written(tmp_path, "\n".join(lines)))


@FUZZ
@given(data=st.data())
def test_the_contracts_example_with_letters_changed_is_a_machine_or_a_refusal(
    tmp_path: Path, data: st.DataObject
) -> None:
    text = plover_path().read_text(encoding="utf-8")
    for _ in range(data.draw(st.integers(1, 5))):
        start = data.draw(st.integers(0, len(text)))
        end = start + data.draw(st.integers(0, 12))
        middle = data.draw(st.text(max_size=6) | st.sampled_from(["\n", '"', "[", "= ", "-", "."]))
        text = text[:start] + middle + text[end:]
    machine_or_refusal(written(tmp_path, text.encode("utf-8", "surrogatepass")))


@FUZZ
@given(
    keys=st.lists(
        st.sampled_from(["machine", "feed", "sensor", "assemblies", "coil", "chain", "pawls", "x"]),
        min_size=1,
        max_size=4,
    ),
    value=HOSTILE,
    double=st.booleans(),
)
def test_tables_of_any_shape_are_a_machine_or_a_refusal(
    tmp_path: Path, keys: list[str], value: str, double: bool
) -> None:
    name = ".".join(keys)
    head = f"[[{name}]]" if double else f"[{name}]"
    machine_or_refusal(written(tmp_path, f"{head}\nname = {value}\n'' = {value}\nkind = {value}\n"))
    written(tmp_path, SMALL, "type.toml")
    machine_or_refusal(
        written(tmp_path, f'extends = "type.toml"\n{head}\nname = {value}\nclearance = {value}\n')
    )
