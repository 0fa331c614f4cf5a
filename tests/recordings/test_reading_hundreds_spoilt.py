"""Hundreds of spoilt files of every kind: each is read, or refused in words that name it."""

from __future__ import annotations

import random
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest

from tests.recordings.spoiling import spoilt, whole_files
from tripmargin.ground.errors import TripmarginError
from tripmargin.machine import load_machine
from tripmargin.recordings.noise import noise_of
from tripmargin.recordings.reading import read
from tripmargin.recordings.recording import Recording, RecordingError
from tripmargin.recordings.stop_time import stop_time

FILES = 400
DEEP = 4  # each so manieth file that is read is measured too


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return whole_files(tmp_path_factory.mktemp("whole"))


def answered(file: Path) -> Recording | str:
    """The recording, or the words in which it was refused."""
    try:
        made = read(file)
    except RecordingError as refused:
        return str(refused)
    before = -np.inf
    for block in made.blocks():
        assert block.values.shape == (len(block.times), len(made.channels))
        assert (np.diff(block.times) > 0).all()
        assert block.times[0] > before
        before = block.times[-1]
    made.to_dict()
    return made


@pytest.mark.parametrize("seed", range(8))
def test_each_spoilt_file_is_read_or_refused_in_words(whole, tmp_path, seed, capfd):
    machine = load_machine("whimbrel")
    measures = (stop_time, lambda one: noise_of(one, machine, scale=1.0))
    chance = random.Random(seed)
    kept = 0
    for k in range(FILES // 8):
        name = chance.choice(list(whole))
        content, called = spoilt(chance, whole[name], name)
        file = tmp_path / called
        file.write_bytes(content)
        made = answered(file)
        if isinstance(made, str):
            assert made.startswith(called), made
        else:
            kept += 1
            for measure in measures if k % DEEP == 0 else ():
                with suppress(TripmarginError):  # whose words other tests look at
                    measure(made).to_dict()
        assert file.read_bytes() == content
        file.unlink()
    assert kept > 5  # a reader that refuses everything would pass too
    shown = capfd.readouterr()
    assert "Traceback" not in shown.out + shown.err
