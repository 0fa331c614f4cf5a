"""What the reading and measuring of recordings says in German: whole sentences, decimal commas."""

from __future__ import annotations

import pytest

from tripmargin.ground.languages import speaking
from tripmargin.recordings.reading import read
from tripmargin.recordings.reading.arrays import recording_of_arrays
from tripmargin.recordings.recording import Guess, RecordingError
from tripmargin.recordings.stop_time import stop_time_from_frames


def test_frames_assumptions_and_a_move_by_hand():
    with speaking("de"):
        found = stop_time_from_frames(first=112, last=125, rate=240, rate_uncertainty=0.001)
        moved = found.moved(trip=0.4625)
    assert "240 Bilder je Sekunde, auf 0,1 % genau." in found.assumed
    assert moved.instant("trip").how == "Von Hand verschoben, vorher 0,4646 s."
    assert moved.assumed[-1].startswith("Von Hand verschoben: Auslösung.")


def test_moving_again_says_it_once():
    with speaking("de"):
        found = stop_time_from_frames(first=112, last=125, rate=240)
        moved = found.moved(trip=0.46).moved(rest=0.53)
    assert sum(line.startswith("Von Hand verschoben") for line in moved.assumed) == 1


def test_a_refusal(tmp_path):
    path = tmp_path / "leer.csv"
    path.write_bytes(b"")
    with speaking("de"), pytest.raises(RecordingError, match="0 Byte, in der Datei steht nichts"):
        read(path)


def test_numbers_have_a_comma_and_keys_stay_keys():
    with speaking("de"):
        guess = Guess("decimal sign", "comma", "", "decimal")
        assert (guess.what_said, guess.value_said) == ("Dezimalzeichen", "Komma")
        assert guess.what == "decimal sign"
        flat = recording_of_arrays([2.5, 2.5, 2.5], rate=10.0)
    (trouble,) = flat.troubles
    assert trouble.words == "Kanal 'channel 1' ist durchgehend 2,5: Er trägt nichts."
    assert trouble.what == "silent"
