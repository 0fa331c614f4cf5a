"""What a machine file says was measured: read, refused where it cannot be, widened by its age."""

from __future__ import annotations

from datetime import date
from math import sqrt
from pathlib import Path

import pytest

import tripmargin
from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.machine import Machine
from tripmargin.machine.ageing import aged
from tripmargin.machine.loading import demo_path
from tripmargin.machine.measured_section import SEASON, drift_of

LOWER, UPPER = "chain.pawls.lower.clearance", "chain.pawls.upper.clearance"


def _entry(field: str, on: str = "2024-11-28", **more: str) -> str:
    lines = [f'field = "{field}"', f'on = "{on}"', *(f'{k} = "{v}"' for k, v in more.items())]
    return "[[measured.fields]]\n" + "\n".join(lines) + "\n"


def _dunlin(folder: Path, *entries: str) -> Machine:
    own, sheet = demo_path("dunlin"), demo_path("dunlin").parent / "type-trailed-mechanical.toml"
    (folder / sheet.name).write_text(sheet.read_text(encoding="utf-8"), encoding="utf-8")
    path = folder / "dunlin.toml"
    text = own.read_text(encoding="utf-8")
    path.write_text(text + "\n" + "".join(entries), encoding="utf-8")
    return tripmargin.load_machine(path)


def test_limits_move_out_by_the_drift_of_each_year(tmp_path: Path) -> None:
    machine = _dunlin(tmp_path, _entry(LOWER, by="A. Reed", how="feeler", drift="0.3 mm"))
    now, (seen,) = aged(machine, date(2026, 11, 28))
    years = 730 / SEASON
    assert seen.seasons == pytest.approx(years)
    gap = now.get(LOWER)
    assert (gap.low, gap.high) == pytest.approx((0.0028 - 0.0003 * years, 0.0036 + 0.0003 * years))
    assert (seen.by, seen.how) == ("A. Reed", "feeler")
    assert seen.filed.text == "3.2 mm +- 0.4 mm"
    assert now.changed == ()  # age is no what-if
    assert now.get(UPPER) == machine.get(UPPER)


def test_a_normal_doubt_adds_in_squares(tmp_path: Path) -> None:
    """JCGM 100:2008, 5.1.2 and 4.3.7: sd^2 + drift^2 / 3."""
    machine = _dunlin(tmp_path, _entry(LOWER, drift="0.3 mm")).with_settings(
        {LOWER: quantity("3.2 mm +- 0.2 mm (sd)", "length")}
    )
    filed = tripmargin.load_machine(machine.file) if Path(machine.file).exists() else machine
    assert aged(machine, date(2026, 11, 28))[1] == ()  # a what-if is not what was measured
    text = Path(tmp_path / "dunlin.toml").read_text(encoding="utf-8")
    path = tmp_path / "normal.toml"
    path.write_text(text.replace('"3.2 mm +- 0.4 mm"', '"3.2 mm +- 0.2 mm (sd)"'), "utf-8")
    now, _ = aged(tripmargin.load_machine(path), date(2026, 11, 28))
    out = 0.0003 * 730 / SEASON
    assert now.get(LOWER).sd == pytest.approx(sqrt(0.0002**2 + out**2 / 3))
    assert filed.get(UPPER) is not None


def test_without_a_drift_age_changes_nothing(tmp_path: Path) -> None:
    machine = _dunlin(tmp_path, _entry(LOWER))
    now, (seen,) = aged(machine, date(2030, 1, 1))
    assert now is machine
    assert seen.now is seen.filed
    before = _dunlin(tmp_path, _entry(LOWER, on="2029-01-01", drift="1 mm"))
    assert aged(before, date(2026, 1, 1))[1][0].seasons == 0  # a clock that runs behind


def test_limits_stay_in_what_a_field_may_be(tmp_path: Path) -> None:
    machine = _dunlin(tmp_path, _entry(LOWER, on="1990-01-01", drift="1 mm"))
    gap = aged(machine, date(2026, 11, 28))[0].get(LOWER)
    assert gap.low == -0.01  # the least that the field takes
    assert gap.low <= gap.nominal <= gap.high


def test_a_drift_may_be_a_share_or_a_difference() -> None:
    assert drift_of("5 %", Quantity.exact(0.02, "time")) == pytest.approx(0.001)
    assert drift_of("3 degC", Quantity.exact(300.0, "temperature")) == pytest.approx(3.0)
    assert drift_of("2 %", quantity("4 %", "fraction")) == pytest.approx(0.02)  # points


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (_entry("chain.pawls.middle.clearance"), "no value of this file"),
        (_entry("chain.pawls"), "no value of this file"),
        (_entry(LOWER, on="3rd of May"), "no day"),
        (_entry(LOWER, on="2026-02-30"), "no day"),
        (_entry(LOWER, drift="2 V"), "drift"),
        (_entry(LOWER) + _entry(LOWER), "a second time"),
        ('[[measured.fields]]\nfield = "feed.slip"\n', "on"),
    ],
    ids=["no such pawl", "a table", "words", "no such day", "unit", "twice", "no day"],
)
def test_what_cannot_be_is_refused_with_its_place(tmp_path: Path, entry: str, said: str) -> None:
    with pytest.raises(MachineFileError, match=said) as told:
        _dunlin(tmp_path, entry)
    assert told.value.line is not None


def test_prove_says_what_was_measured_and_ages_it(tmp_path: Path) -> None:
    machine = _dunlin(tmp_path, _entry(LOWER, by="A. Reed", drift="1 mm"))
    fresh = tripmargin.prove(machine, cut_lengths=[0.008], on=date(2024, 11, 28))
    old = tripmargin.prove(machine, cut_lengths=[0.008], on=date(2028, 11, 28))
    assert fresh.measured[0].now == fresh.measured[0].filed
    assert old.measured[0].seasons == pytest.approx(4, abs=0.01)
    new_time, old_time = fresh.cuts[0].stop_time, old.cuts[0].stop_time
    assert new_time is not None
    assert old_time is not None
    assert old_time.high > new_time.high
    assert old.to_dict()["measured"][0]["by"] == "A. Reed"
    assert old.to_dict()["on"] == "2028-11-28"
