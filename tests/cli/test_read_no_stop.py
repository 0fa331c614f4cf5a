"""`tripmargin read` on a recording that holds no stop."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from click.testing import CliRunner

from tests.web.recordings import stop_wav, wav_of
from tripmargin.cli.main import main


def test_noise_is_not_given_as_a_stop_time(tmp_path: Path) -> None:
    noise, stop = tmp_path / "noise.wav", tmp_path / "stop.wav"
    noise.write_bytes(wav_of(np.random.default_rng(4).normal(0, 0.05, 3 * 48_000)))
    stop.write_bytes(stop_wav())
    said = CliRunner().invoke(main, ["read", str(noise), "--stop-time"])
    assert said.exit_code == 0, said.output
    assert "No stop time: it is not clear that this is a stop." in said.output
    assert "Stop time: " not in said.output
    said = CliRunner().invoke(main, ["read", str(stop), "--stop-time"])
    assert "Stop time: " in said.output
