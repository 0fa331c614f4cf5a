"""New values in a machine file's text: only those change, and the file reads as it should."""

from __future__ import annotations

import difflib
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.machine.files import plover_path
from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.quantities import quantity
from tripmargin.ground.restating import restated
from tripmargin.machine.loading import DEMO_MACHINES, demo_path, load_machine
from tripmargin.machine.rewriting import with_values

CURLEW = demo_path("curlew").read_text(encoding="utf-8")
SHEET = demo_path("curlew").with_name("type-trailed-electric.toml").read_text(encoding="utf-8")


def changed(before: str, after: str) -> list[str]:
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return [line for line in lines if line[:2] in ("- ", "+ ")]


def test_a_value_is_replaced_where_it_stands_and_keeps_its_tolerance() -> None:
    assert changed(CURLEW, with_values(CURLEW, {"chain.pawls.lower.clearance": 0.0042})) == [
        '- clearance = "3.4 mm +- 0.4 mm"',
        '+ clearance = "4.2 mm +- 0.4 mm"',
    ]


def test_a_comment_keeps_its_column() -> None:
    assert changed(SHEET, with_values(SHEET, {"chain.relay_release": 0.0085})) == [
        '- relay_release = "5 ms .. 9 ms"           # with the play of the linkage,'
        " which follows the relay",
        '+ relay_release = "6.5 ms .. 10.5 ms"      # with the play of the linkage,'
        " which follows the relay",
    ]


@pytest.mark.parametrize(
    ("field", "value", "lines"),
    [
        (
            "chain.supply", 13.0,
            ["+ ", "+ [chain]", '+ supply = "13 V +- 0.7 V"'],
        ),
        (
            "chain.hold_winding.suppression", {"kind": "resistor", "resistance": 82.0},
            ["+ ", "+ [chain.hold_winding]",
             '+ suppression = { kind = "resistor", resistance = "82 ohm" }'],
        ),
        (
            "feed.cutterhead_speed", 15.0,
            ['+ cutterhead_speed = "900 rpm +- 2 %"'],
        ),
    ],
)  # fmt: skip
def test_what_the_type_sheet_gives_is_overridden_with_its_tolerance(
    field: str, value: Any, lines: list[str]
) -> None:
    made = with_values(CURLEW, {field: value}, machine=load_machine("curlew"))
    assert changed(CURLEW, made) == lines


@pytest.mark.parametrize("name", [*DEMO_MACHINES, "plover"])
def test_a_machine_so_written_is_the_one_with_that_setting(name: str, tmp_path: Any) -> None:
    path = plover_path() if name == "plover" else demo_path(name)
    machine = load_machine(path)
    for sheet in path.parent.glob("type-*.toml"):
        (tmp_path / sheet.name).write_bytes(sheet.read_bytes())
    values: dict[str, Any] = {
        f"chain.pawls.{p.name}.clearance": 0.0051 for p in machine.chain.pawls
    }
    values["chain.supply"] = 12.9
    values["chain.hold_winding.suppression"] = {"kind": "zener", "voltage": 24.0}
    (tmp_path / "own.toml").write_text(
        with_values(path.read_text(encoding="utf-8"), values, machine=machine), encoding="utf-8"
    )
    made = load_machine(tmp_path / "own.toml")
    for field in values:
        got, before = made.get(field), machine.get(field)
        if field.endswith("suppression"):
            assert (got.kind, got.voltage.nominal, got.resistance) == ("zener", 24.0, None)
            continue
        assert got.nominal == pytest.approx(values[field])
        assert got.high - got.low == pytest.approx(before.high - before.low)
    told = {path for path, _ in made.quantities()} - {path for path, _ in machine.quantities()}
    assert told <= {"chain.hold_winding.suppression.voltage"}


LAYOUTS = [
    'chain.supply = "13 V"\n[feed]\nknives = 8\n',
    'chain = { supply = "13 V" }\n',
    '[chain]\nhold_winding = { resistance = "15 ohm" }\n',
    '[chain]\nhold_winding.resistance = "15 ohm"\n',
    '[chain.hold_winding.suppression]\nkind = "resistor"\nresistance = "82 ohm"  # by the door\n',
    '[chain.hold_winding]\nsuppression.kind = "resistor"\nsuppression.resistance = "82 ohm"\n',
    '[[chain.pawls]]\nname = "upper"\n[chain.pawls.swing_time]\ntime = "8 ms"\n',
    '[chain]\npawls = [{ name = "upper", clearance = "3 mm" }, { name = "lower" }]\n',
    "# nothing yet",
    "",
    "[feed]\r\nknives = 8\r\n",
]


@pytest.mark.parametrize("text", LAYOUTS, ids=range(len(LAYOUTS)))
@pytest.mark.parametrize(
    ("field", "value", "written"),
    [
        ("chain.pawls.lower.clearance", 0.003, "3 mm"),
        ("chain.supply", 12.5, "12.5 V"),
        ("chain.hold_winding.resistance", 17.5, "17.5 ohm"),
        ("feed.knives", 10, 10),
        ("chain.hold_winding.suppression", {"kind": "none"}, {"kind": "none"}),
        (
            "chain.hold_winding.suppression", {"kind": "zener", "voltage": 24.0},
            {"kind": "zener", "voltage": "24 V"},
        ),
    ],
    ids=["gap", "supply", "winding", "knives", "none", "zener"],
)  # fmt: skip
def test_however_the_file_is_laid_out(text: str, field: str, value: Any, written: Any) -> None:
    made = with_values(text, {field: value})
    tables: Any = tomllib.loads(made)
    for part in field.split("."):
        if isinstance(tables, list):
            tables = next(item for item in tables if item["name"] == part)
        else:
            tables = tables[part]
    assert tables == written
    comments = [line.partition("#")[2] for line in text.splitlines() if "#" in line]
    if '"resistor"' not in text:  # its line went, and with it what stood behind
        assert all(comment in made for comment in comments)
    assert ("\r\n" in made) == ("\r\n" in text)


@pytest.mark.parametrize(
    ("text", "field", "said"),
    [
        ("[chain]\n", "chain.pawls.lower.clearence", "no such field"),
        ("[chain]\n", "gearbox.oil", "no such field"),
        ("[chain]\n", "chain.pawls.lower", "no such field"),
        ("[chain\n", "chain.supply", "not TOML"),
        ('[chain]\npawls = [{ name = "upper" }]\n', "chain.pawls.lower.clearance", "by hand"),
    ],
)
def test_what_cannot_be_written_is_said(text: str, field: str, said: str) -> None:
    with pytest.raises(MachineFileError, match=said):
        with_values(text, {field: 0.003})


def test_a_measured_value_may_come_with_a_tolerance_of_its_own() -> None:
    made = with_values(CURLEW, {"chain.pawls.lower.clearance": "4.1 mm +- 0.1 mm"})
    assert changed(CURLEW, made)[1] == '+ clearance = "4.1 mm +- 0.1 mm"'


def test_limits_are_cut_off_at_what_cannot_be_passed() -> None:
    assert restated(quantity("3.4 mm +- 0.4 mm", "length"), 0.0001, least=0.0) == "0 mm .. 0.5 mm"
    assert restated(quantity("97 % +- 2 %", "fraction"), 0.995, most=1.0) == "97.5 % .. 100 %"
    assert restated(quantity("3.4 mm +- 0.4 mm (sd)", "length"), 0.001) == "1 mm +- 0.4 mm (sd)"


@given(
    st.sampled_from(["3.5 mm +- 0.4 mm", "2 mm .. 5 mm", "0.14 in +- 0.02 in", "1/8 in", "4 mm",
                     "3.5 mm +- 0.4 mm (sd)", "3 mm +- 10 %"]),
    st.floats(0.002, 0.02),
)  # fmt: skip
def test_what_is_restated_reads_as_the_new_value_with_the_old_tolerance(
    text: str, value: float
) -> None:
    before = quantity(text, "length")
    after = quantity(restated(before, value), "length")
    assert after.nominal == pytest.approx(value, rel=2e-5)
    share = value / before.nominal if "%" in text else 1.0
    assert after.high - after.low == pytest.approx(share * (before.high - before.low), rel=1e-3)
    assert (after.shape, after.low > 0) == (before.shape, True)
