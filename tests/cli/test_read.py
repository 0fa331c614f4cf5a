"""`tripmargin read` as a person uses it: options that reach the library, refusals in words."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner, Result

from tests.recordings.quiet_runs import quiet_run
from tripmargin.cli.main import main
from tripmargin.cli.reading_options import frames_in_options, in_options


def run(*arguments: str | Path) -> Result:
    result = CliRunner().invoke(main, ["read", *map(str, arguments)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def read(*arguments: str | Path) -> dict:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A made-up stop, 72 ms from the click to rest, as the how-to page makes it."""
    file = tmp_path_factory.mktemp("sound") / "stop.wav"
    random = np.random.default_rng(1)
    t = np.arange(0, 2.0, 1 / 24000)
    rolls = 0.05 * random.standard_normal(len(t)) * np.clip((1.072 - t) / 0.014, 0, 1)
    for at, loud, tone in ((1.0, 0.2, 4100), (1.058, 0.4, 1900)):
        since = np.maximum(t - at, 0)
        rolls += (t > at) * loud * np.exp(-since / 0.002) * np.sin(2 * np.pi * tone * since)
    soundfile.write(file, rolls + 0.006 * random.standard_normal(len(t)), 24000)
    return file


@pytest.fixture(scope="module")
def logged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A trip line and a roll's speed: at rest 51 ms after the trip."""
    file = tmp_path_factory.mktemp("logger") / "stop.csv"
    t = np.arange(0, 2.0, 1e-3)
    trip = np.where(t < 1.0, 12.0, 0.1)
    speed = np.clip((1.051 - t) / 0.012, 0, 1) + 0.002 * np.sin(9e3 * t)
    rows = [f"{a:.3f},{b:g},{c:.5f}" for a, b, c in zip(t, trip, speed, strict=True)]
    file.write_text("t [s],a [V],b [V]\n" + "\n".join(rows) + "\n")
    return file


@pytest.fixture(scope="module")
def quiet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("quiet") / "quiet.csv"
    block = quiet_run(20.0).read()
    both = np.column_stack([block.times, block.values])
    np.savetxt(file, both, fmt="%.6f", delimiter=";", header="t [s];x [V];y [V]", comments="")
    return file


def test_a_pause_is_taken_off_and_widens_the_interval(sound: Path) -> None:
    plain = read(sound, "--stop-time", "--farther", "0 m")
    exact = read(sound, "--stop-time", "--farther", "0 m", "--pause", "20ms")
    loose = read(sound, "--stop-time", "--farther", "0 m", "--pause", "10 ms .. 30 ms")
    assert exact["value_s"] == pytest.approx(plain["value_s"] - 0.020, abs=2e-3)
    assert loose["high_s"] - loose["low_s"] > exact["high_s"] - exact["low_s"] + 5e-3


def test_distance_and_temperature_are_the_sounds_way(sound: Path) -> None:
    # 2.914 ms a metre at 20 degC, from 331.3 m/s at 0 degC by the root of the absolute temperature
    near = read(sound, "--stop-time", "--farther", "0 m")["value_s"]
    far = read(sound, "--stop-time", "--farther", "6 m")["value_s"]
    cold = read(sound, "--stop-time", "--farther", "6 m", "--temperature", "-10degC")["value_s"]
    assert near - far == pytest.approx(6 * 2.914e-3, abs=5e-4)
    assert near - cold == pytest.approx(6 * 2.914e-3 * (293.15 / 263.15) ** 0.5, abs=6e-4)


def test_a_machine_is_expected_only_where_it_is_asked_for(sound: Path) -> None:
    found = read(sound, "--stop-time", "--expect", "curlew", "--cut", "9mm")
    assert any("curlew" in line.lower() for line in found["assumed"]), found["assumed"]
    alone = run(sound, "--stop-time", "--expect", "curlew")
    assert alone.exit_code != 0
    assert "--expect and --cut go together" in alone.output


def test_the_channels_of_a_logger_are_named(logged: Path) -> None:
    given = ("--trip", "a", "--roll", "b", "--roll-is", "speed")
    found = read(logged, "--stop-time", *given)
    assert found["low_s"] < 0.051 < found["high_s"]
    late = read(logged, "--stop-time", *given, "--trip-delay", "5ms")
    assert late["value_s"] == pytest.approx(found["value_s"] + 0.005, abs=1e-4)
    wrong = run(logged, "--stop-time", "--trip", "c")
    assert wrong.exit_code == 2
    assert "no single channel 'c'; it has 1 'a', 2 'b'" in wrong.output
    asked = run(logged, "--stop-time", "--pause", "20ms")
    assert asked.exit_code == 2
    assert "--pause is nothing that a stop time from a logger takes" in asked.output
    assert "--trip-delay" in asked.output
    assert "_" not in asked.output.partition("It takes:")[2]


def test_a_quiet_run_with_every_option_of_its_own(quiet: Path) -> None:
    options = ("--noise", "whimbrel", "--channel", "x", "--roll", "y", "--at", "output")
    once = read(quiet, *options)
    assert once["turn_rate_per_s"]["nominal"] == pytest.approx(5.0, rel=0.02)
    twice = read(quiet, *options, "--pulses-per-turn", "2", "--scale", "2V")
    assert twice["turn_rate_per_s"]["nominal"] == pytest.approx(2.5, rel=0.02)
    assert twice["total_V"]["nominal"] == pytest.approx(2 * once["total_V"]["nominal"], rel=0.02)
    wrong = run(quiet, "--noise", "whimbrel", "--scale", "2")
    assert wrong.exit_code == 2
    assert '--scale: "2"' in wrong.output
    assert "Allowed:" in wrong.output


def test_counted_frames_are_a_stop_time() -> None:
    # GUM, JCGM 100:2008, 4.3.9: triangular over two frames; 13 frames at 240 a second
    found = read("--frames", "112", "125", "--rate", "240")
    assert found["value_s"] == pytest.approx(13 / 240)
    assert found["high_s"] - found["value_s"] == pytest.approx((1 - 0.05**0.5) / 240, rel=0.01)
    wide = read("--frames", "112", "125", "--rate", "240", "--rate-varies")
    assert wide["high_s"] - wide["low_s"] > 1.4 * (found["high_s"] - found["low_s"])
    late = read("--frames", "112", "125", "--rate", "240", "--trip-delay", "5ms")
    assert late["value_s"] == pytest.approx(13 / 240 + 0.005)


def test_a_counted_stop_has_its_picture(tmp_path: Path) -> None:
    result = run("--frames", "112", "125", "--rate", "240", "--save", tmp_path / "stop.svg")
    assert result.exit_code == 0, result.output
    assert "<svg" in (tmp_path / "stop.svg").read_text(encoding="utf-8")
    assert "Stop time: 54.2 ms" in result.output


WRONG = [
    (("--frames", "-3", "12", "--rate", "240"), "the first = -3: a frame's number is a whole"),
    (("--frames", "12", "12", "--rate", "240"), "does not come after"),
    (("--frames", "12", "1e99", "--rate", "240"), '"1e99" is no frame'),
    (("--frames", "12", "9" * 400, "--rate", "240"), "is no frame's number"),
    (("--frames", "12", "20"), "--frames needs --rate"),
    (("--frames", "12", "20", "--rate", "0"), "Allowed: above 0"),
    (("--frames", "12", "20", "--rate", "nan"), "Allowed: above 0"),
    (("--frames", "12", "20", "--rate", "240", "--kind", "CSV"), "--kind is about a file"),
    (("a.csv", "--frames", "12", "20", "--rate", "240"), "--frames needs no FILE"),
    (("a.csv", "--noise", "curlew", "--stop-time"), "Give one of --stop-time, --noise"),
    (("a.csv", "--pause", "20ms"), "--pause goes with --stop-time"),
    (("a.csv", "--stop-time", "--at", "coil"), "--at goes with --noise"),
    (("a.csv", "--trip-delay", "1ms"), "--trip-delay goes with --stop-time or --frames"),
    (("a.csv", "--save", "a.svg"), "--save goes with"),
    (("a.csv",), "cannot be found"),
    ((".",), "this is a folder"),
    ((), "Name the FILE to read"),
]


@pytest.mark.parametrize(("arguments", "said"), WRONG)
def test_what_cannot_be_is_answered_in_words(arguments: tuple[str, ...], said: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert said in result.output, result.output


@pytest.mark.parametrize("option", ["--pause", "--farther", "--temperature", "--known-tone"])
@pytest.mark.parametrize("value", ["20", "x", "", "1e999 s", "5 V", "900 m"])
def test_a_quantity_that_cannot_be_is_refused(sound: Path, option: str, value: str) -> None:
    result = run(sound, "--stop-time", option, value)
    assert result.exit_code == 2
    assert option in result.output
    assert "Allowed:" in result.output


def test_words_of_the_library_come_as_options() -> None:
    assert in_options("Say roll_speed= or roll_pickup=.") == "Say --roll-speed or --roll."
    assert in_options('Say kind="CSV", header=LINES.') == "Say --kind CSV, --header LINES."
    assert in_options("Channel 'rate=5' is clipped.") == "Channel 'rate=5' is clipped."
    assert frames_in_options("last = 3: no").startswith("--frames, the last = 3")


def test_a_guess_names_an_option_that_there_is(logged: Path, quiet: Path) -> None:
    for file in (logged, quiet):
        result = run(file)
        named = [
            word.strip("()")
            for word in result.output.split()
            if word.startswith("(--") and word.endswith(")")
        ]
        assert named
        known = {opt for each in main.get_command(None, "read").params for opt in each.opts}
        assert set(named) <= known
