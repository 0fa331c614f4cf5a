"""The command line's frame: help, refusals, interruption."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from tests.machine.files import SMALL, written
from tripmargin import __version__
from tripmargin.cli.main import COMMANDS, main


def run(*args: str) -> Result:
    result = CliRunner().invoke(main, args)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result


def test_help_lists_every_command_without_importing_what_they_use() -> None:
    code = (
        "import sys\n"
        "from tripmargin.cli.main import main\n"
        "main(['--help'], standalone_mode=False)\n"
        "heavy = {'numpy', 'scipy', 'rich', 'tripmargin.machine', 'tripmargin.ground.units'}\n"
        "print(sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    for name, place in COMMANDS.items():
        assert name in done.stdout
        assert place.line in " ".join(done.stdout.split())


@pytest.mark.parametrize(("given", "kept"), [({}, "1"), ({"OPENBLAS_NUM_THREADS": "3"}, "3")])
def test_small_matrices_get_one_thread_unless_a_person_says_otherwise(
    given: dict[str, str], kept: str
) -> None:
    code = "import os, tripmargin.cli.main; print(os.environ['OPENBLAS_NUM_THREADS'])"
    clean = {k: v for k, v in os.environ.items() if k != "OPENBLAS_NUM_THREADS"}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=clean | given
    )
    assert done.stdout.strip() == kept


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_has_help_of_its_own(name: str) -> None:
    result = run(name, "--help")
    assert result.exit_code == 0
    assert result.output.startswith("Usage: ")


def test_every_option_says_what_it_does() -> None:
    context = click.Context(main)
    for name in COMMANDS:
        command = main.get_command(context, name)
        assert command is not None
        below = command.commands.values() if isinstance(command, click.Group) else [command]
        for one in below:
            assert one.help or one.short_help
            for option in one.params:
                if isinstance(option, click.Option):
                    assert option.help, f"{name} {option.name}"


def test_the_version_is_told() -> None:
    assert run("--version").output.strip().endswith(__version__)


def test_an_unknown_command_is_answered_with_the_nearest() -> None:
    result = run("porve", "curlew")
    assert result.exit_code == 2
    assert 'Did you mean "prove"?' in result.output


def test_an_unknown_demo_machine_is_answered_with_the_nearest() -> None:
    result = run("reach", "curlw")
    assert result.exit_code == 2
    assert 'Did you mean the demo machine "curlew"?' in result.output
    assert "Traceback" not in result.output


def test_an_answer_that_is_not_known_names_the_fields_it_needs(tmp_path: Path) -> None:
    path = written(tmp_path, "[feed]\nknives = 8\n")
    result = run("reach", str(path), "--speed", "2 m/s")
    assert result.exit_code == 2
    assert "Not known: reach needs" in result.output


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--cut", "9"), "no unit"),
        (("--cut", "9 V"), "unit of voltage"),
        (("--speed", "-2 m/s"), "positive"),
        (("--speed", "2 m/s", "--cut", "9 mm"), "not both"),
        (("--set", "supply"), 'FIELD="VALUE"'),
        (("--set", "suply=12 V"), 'Did you mean "supply"?'),
        (("--set", "chain.supply=12 mm"), "unit of length"),
        (("--save", "map.pdf"), "must end in"),
        (("--save", "no-such-folder/map.svg"), "no folder"),
        (("--surely", "100 %"), "between 0 and 1"),
    ],
)
def test_a_bad_option_is_refused_in_plain_words(options: tuple[str, ...], said: str) -> None:
    result = run("reach", "curlew", *options)
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output


def test_ctrl_c_ends_with_one_plain_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("tripmargin.machine.load_machine", interrupted)
    result = run("machine", "show", "curlew")
    assert result.exit_code == 130
    assert result.output.strip() == "Stopped. Nothing was left half written."


def test_a_reader_that_goes_away_is_no_error() -> None:
    code = "from tripmargin.cli.main import main; main(['machine', 'schema'])"
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.read(10)
        running.stdout.close()
        said = running.stderr.read()
    assert said == b""


@pytest.fixture
def small_reach(tmp_path: Path) -> str:
    """A machine with one magnet and no keeper: quick to look at."""
    feed = '[feed]\nroll_width = "400 mm"\n'
    text = (
        SMALL.replace("[feed]\n", feed)
        .replace(
            "[chain.hold_winding]",
            'coil = { turns = 2000, inner = ["246 mm", "30 mm"], outer = ["270 mm", "54 mm"],'
            ' height = "20 mm", sense = 1 }\n[chain.hold_winding]',
        )
        .replace("[detector]\n", "[detector]\ngain = 900\n")
    )
    return str(written(tmp_path, text))


def test_reach_prints_a_table_and_saves_what_is_asked(tmp_path: Path, small_reach: str) -> None:
    for suffix in ("svg", "csv", "html"):
        path = tmp_path / f"reach.{suffix}"
        result = run("reach", small_reach, "--speed", "2 m/s", "--save", str(path))
        assert result.exit_code == 0, result.output
        assert f"Saved: {path}" in result.output
        assert path.stat().st_size > 500
    header, *lines = (tmp_path / "reach.csv").read_text(encoding="utf-8").splitlines()
    assert header == "height_mm,place_mm,smallest_ball_mm"
    assert len(lines) == 41 * 21


def test_reach_as_json_is_one_document_in_si_on_standard_output(small_reach: str) -> None:
    result = run("reach", small_reach, "--cut", "10 mm", "--json")
    answer = json.loads(result.stdout)
    # v = cut x knives x speed x (1 - slip), MODEL.md: 0.010 * 8 * 1000 / 60 * 0.95
    assert answer["speed_m_s"] == pytest.approx(0.01 * 8 * 1000 / 60 * 0.95)
    assert answer["assumed"]


def test_a_what_if_reaches_the_answer(small_reach: str) -> None:
    plain = json.loads(run("reach", small_reach, "--speed", "2 m/s", "--json").stdout)
    keener = json.loads(
        run("reach", small_reach, "--speed", "2 m/s", "--json", "--set", "gain=7200").stdout
    )
    # Signal goes with the ball's volume: 8 times the gain halves the diameter.
    assert keener["smallest_ball_m"][0][20] == pytest.approx(plain["smallest_ball_m"][0][20] / 2)
