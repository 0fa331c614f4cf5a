"""What sets a pawl's gap, in the machine file: read, refused with its place, or left out."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest

from tests.machine.files import SMALL, written
from tripmargin.ground.errors import MachineFileError
from tripmargin.machine import (
    copy_of,
    demo_machines,
    differences,
    json_schema,
    load_machine,
    machine_from_copy,
)

CLEVIS = """\
[chain.pawls.adjuster]
kind = "clevis"
thread_pitch = "1.25 mm"
leverage = "0.9 +- 10 %"
turned_out = "closes"
smallest_turn = "180 deg"
tightening_shift = "-0.1 mm +- 0.1 mm"
coupling = "-5 % .. 15 %"
season_drift = "0.3 mm +- 0.1 mm (sd)"
setting_range = "9 mm"
"""


def with_lower(text: str) -> str:
    return SMALL.replace('name = "lower"\nclearance = "3.5 mm"\n', f'name = "lower"\n{text}')


def refused(tmp_path: Path, text: str) -> MachineFileError:
    with pytest.raises(MachineFileError) as error:
        load_machine(written(tmp_path, with_lower(text)))
    return error.value


def test_every_field_is_read_in_si(tmp_path: Path) -> None:
    machine = load_machine(written(tmp_path, with_lower(CLEVIS)))
    lower, upper = machine.chain.pawls
    assert upper.adjuster is None
    adjuster = lower.adjuster
    assert (adjuster.kind, adjuster.turned_out) == ("clevis", "closes")
    assert adjuster.thread_pitch.nominal == pytest.approx(1.25e-3)
    assert (adjuster.leverage.low, adjuster.leverage.high) == pytest.approx((0.81, 0.99))
    assert adjuster.coupling.low == pytest.approx(-0.05)
    assert adjuster.season_drift.shape == "normal"


def test_a_file_without_adjusters_is_not_said_to_assume_any(tmp_path: Path) -> None:
    machine = load_machine(written(tmp_path, SMALL))
    assert not any("adjuster" in path or "feeler" in path for path in machine.assumed)


BAD = [
    ('kind = "screw"', "adjuster.kind", "not allowed here", "clevis | clamp"),
    ('thread_pitch = "1.5 mm"', "adjuster.kind", "missing", "clevis | clamp"),
    ('kind = "clevis"\nthread_pitch = "15 mm"', "adjuster.thread_pitch", "too large", "length"),
    ('kind = "clevis"\nthread_pitch = "1.5"', "adjuster.thread_pitch", "no unit", "length"),
    ('kind = "clevis"\nleverage = 0', "adjuster.leverage", "too small", "bare number"),
    ('kind = "clevis"\nturned_out = "out"', "adjuster.turned_out", "not allowed", "opens | closes"),
    ('kind = "clevis"\nsmallest_turn = "0 deg"', "adjuster.smallest_turn", "too small", "angle"),
    ('kind = "clevis"\nplaced_within = "0.1 mm"', "adjuster.placed_within", "has no", "leverage"),
    ('kind = "clamp"\nthread_pitch = "1.5 mm"', "adjuster.thread_pitch", "has no", "placed_within"),
    ('kind = "clamp"\nturned_out = "opens"', "adjuster.turned_out", "has no", "placed_within"),
    ('kind = "clamp"\ncoupling = "95 %"', "adjuster.coupling", "too large", "fraction"),
    ('kind = "clamp"\ntightening_shift = "4 mm"', "adjuster.tightening_shift", "too large", "mm"),
    ('kind = "clamp"\nsetting_range = "0 mm"', "adjuster.setting_range", "too small", "length"),
    ('kind = "clevis"\npitch = "1.5 mm"', "adjuster.pitch", "unknown key", "thread_pitch"),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "field", "problem", "allowed"), BAD)
def test_what_cannot_be_is_refused_with_its_line(
    tmp_path: Path, lines: str, field: str, problem: str, allowed: str
) -> None:
    error = refused(tmp_path, f"[chain.pawls.adjuster]\n{lines}\n")
    assert error.field == f"chain.pawls.lower.{field}"
    assert error.line is not None
    said = str(error)
    assert problem in said
    assert allowed in said


def test_a_feelers_step_that_cannot_be_is_refused(tmp_path: Path) -> None:
    for step in ("0 mm", "5 mm", "0.05"):
        text = SMALL.replace(
            "[chain.hold_winding]", f'[chain]\nfeeler_step = "{step}"\n[chain.hold_winding]'
        )
        with pytest.raises(MachineFileError) as error:
            load_machine(written(tmp_path, text))
        assert error.value.field == "chain.feeler_step"


@pytest.mark.parametrize("name", demo_machines())
def test_every_demo_machine_has_adjusters_of_its_own(name: str) -> None:
    machine = load_machine(name)
    adjusters = [pawl.adjuster for pawl in machine.chain.pawls]
    assert all(adjusters)
    assert adjusters[0].kind == "clevis"
    assert all(each.kind == "clamp" for each in adjusters[1:])
    assert machine.chain.feeler_step is not None
    others = [load_machine(n) for n in demo_machines() if n != name]
    assert all(o.chain.pawls[0].adjuster.leverage != adjusters[0].leverage for o in others)


def test_a_copy_keeps_them_and_a_what_if_sets_them() -> None:
    curlew = load_machine("curlew")
    assert machine_from_copy(copy_of(curlew)) == curlew
    other = curlew.with_settings({"chain.pawls.lower.adjuster.leverage": 0.8})
    assert other.chain.pawls[0].adjuster.leverage.nominal == 0.8
    assert machine_from_copy(copy_of(other)) == other
    (difference,) = differences(curlew, other)
    assert str(difference) == "chain.pawls.lower.adjuster.leverage: 1.1 +- 0.12 -> 0.8"


def test_the_schema_knows_them(tmp_path: Path) -> None:
    import tomllib

    schema = json_schema()
    good = tomllib.loads(with_lower(CLEVIS)) | {"format": 1}
    jsonschema.validate(good, schema)
    good["chain"]["pawls"][0]["adjuster"]["kind"] = "screw"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(good, schema)
