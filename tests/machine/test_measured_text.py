"""What was measured, put into a machine file's text: all else in it stays."""

from __future__ import annotations

import tomllib

import pytest

from tripmargin.ground.errors import MachineFileError
from tripmargin.machine.loading import demo_path
from tripmargin.machine.measured_section import MeasuredField
from tripmargin.machine.measured_text import with_measured

ONE = MeasuredField(field="chain.supply", on="2026-05-03", by='Ann "A"', how="a meter")
TWO = MeasuredField(field="detector.gain", on="2026-05-04")


def entries(text: str) -> list[dict[str, str]]:
    found: list[dict[str, str]] = tomllib.loads(text)["measured"]["fields"]
    return found


def test_the_text_before_stays_byte_for_byte() -> None:
    text = demo_path("curlew").read_text(encoding="utf-8")
    made = with_measured(text, [ONE, TWO])
    assert made.startswith(text)
    assert entries(made) == [
        {"field": "chain.supply", "on": "2026-05-03", "by": 'Ann "A"', "how": "a meter"},
        {"field": "detector.gain", "on": "2026-05-04"},
    ]


def test_a_new_measurement_takes_the_place_of_the_old_one_and_a_drift_stays() -> None:
    text = with_measured("# mine\n", [ONE, TWO]).replace(
        'how = "a meter"', 'how = "a meter"  # the yellow one\ndrift = "5 %"'
    )
    again = MeasuredField(field="chain.supply", on="2027-05-03", by="Bo", how="another")
    made = with_measured(text, [again])
    assert entries(made) == [
        {
            "field": "chain.supply", "on": "2027-05-03", "by": "Bo", "how": "another",
            "drift": "5 %",
        },
        {"field": "detector.gain", "on": "2026-05-04"},
    ]  # fmt: skip
    assert "# mine" in made
    assert "# the yellow one" in made


@pytest.mark.parametrize(
    "text",
    [
        '[measured]\nfields = [\n { field = "a", on = "x" }, # kept\n]\n[chain]\n',
        '[measured]\nfields = [ { field = "a", on = "x" } ] # kept\n',
        "[measured]\nfields = [] # kept\n",
        'measured = { fields = [{field="a",on="x"}] } # kept\n',
        "[measured] # kept\n[chain]\n",
        '[[measured.fields]]\r\nfield = "a"\r\non = "x" # kept\r\n[chain]\r\nsupply = "13 V"\r\n',
    ],
    ids=["list over lines", "list", "empty list", "in braces", "bare heading", "tables"],
)
def test_however_it_is_written(text: str) -> None:
    made = with_measured(text, [ONE])
    assert entries(made)[-1]["field"] == "chain.supply"
    assert len(entries(made)) == text.count('"a"') + 1
    assert "# kept" in made
    assert ("\r\n" in text) == ("\r\n" in made)


@pytest.mark.parametrize("text", ["[chain", "measured = 3\n", 'measured = { fields = "x" }\n'])
def test_what_cannot_be_put_in_is_refused_and_says_what_to_do(text: str) -> None:
    with pytest.raises(MachineFileError) as refused:
        with_measured(text, [ONE])
    assert "Allowed: a machine file with its [[measured.fields]]" in str(refused.value)
