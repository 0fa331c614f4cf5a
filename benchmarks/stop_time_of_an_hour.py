"""A stop time from an hour of stereo sound at 48 kHz: time and memory, reading included.

Asked: under 20 s and 300 MB. Peer: the sound library's own blocks of the same file, turned into
spectra of the same length by numpy and thrown away: what any search must do at least. Each runs in
a fresh child, whose peak memory is asked of the system. Correctness first: the three stops that
were put into the file must be found, their true times inside the intervals, or no ratio is given.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import soundfile
from common.turns import say, spoken, where

RATE, MINUTES = 48_000, 60
STOPS = {7: 0.060, 31: 0.105, 55: 0.140}  # minute: stop time, s
SLOWING = 0.012  # s from catch to rest
BEGINS = 20.0  # s into the minute: the click

# The system counts a parent's memory among its child's, so each child forgets it first.
PEAK = """
import pathlib, resource
def peak():
    told = pathlib.Path("/proc/self/status")
    if told.exists():
        lines = [each.split() for each in told.read_text().splitlines()]
        return 1024 * next(int(each[1]) for each in lines if each and each[0] == "VmHWM:")
    return 1024 * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
"""
OURS = (
    PEAK
    + """
import json, sys, time
start = time.perf_counter()
from tripmargin.recordings.reading import read
from tripmargin.recordings.stop_time import stop_time
found = stop_time(read(sys.argv[1]))
rows = [(each.at, each.low, each.high) for each in found.events]
print(json.dumps({"time": time.perf_counter() - start, "cpu": time.process_time(), "peak": peak(),
                  "stops": rows}))
"""
)
PEER = (
    PEAK
    + """
import json, sys, time
start = time.perf_counter()
import numpy as np, soundfile
for block in soundfile.blocks(sys.argv[1], 480 * 512, dtype="float32", always_2d=True):
    whole = block[: len(block) // 480 * 480].T.reshape(2, -1, 480)
    np.abs(np.fft.rfft(whole)) ** 2
print(json.dumps({"time": time.perf_counter() - start, "cpu": time.process_time(), "peak": peak()}))
"""
)


def knock(t: np.ndarray, at: float, loud: float, tone: float) -> np.ndarray:
    since = np.maximum(t - at, 0)
    return (t > at) * loud * np.exp(-since / 0.002) * np.sin(2 * np.pi * tone * since)


def write(path: Path) -> None:
    """An hour of a machine, and of rolls that run for 8 s before each stop."""
    rng = np.random.default_rng(0)
    t = np.arange(60 * RATE) / RATE
    with soundfile.SoundFile(path, "w", RATE, 2, "PCM_16") as file:
        for minute in range(MINUTES):
            made = 0.01 * rng.standard_normal(len(t))
            if minute in STOPS:
                rest = BEGINS + STOPS[minute]
                left = np.clip((rest - t) / SLOWING, 0, 1) * (t > BEGINS - 8)
                made += 0.04 * rng.standard_normal(len(t)) * left
                made += knock(t, BEGINS, 0.3, 3000) + knock(t, rest - SLOWING, 0.5, 2100)
            file.write(np.clip(np.column_stack([made, 0.8 * made]), -1, 1))


def child(code: str, file: Path) -> dict:
    done = subprocess.run(
        [sys.executable, "-c", code, str(file)], capture_output=True, text=True, check=True
    )
    return json.loads(done.stdout)


def right(stops: list[list[float]]) -> bool:
    """Whether each stop was found, and its true time held."""
    truths = [(60 * minute + BEGINS + time, time) for minute, time in STOPS.items()]
    return len(stops) == len(truths) and all(
        abs(at - end) < 0.02 and low <= time <= high
        for (at, low, high), (end, time) in zip(stops, truths, strict=True)
    )


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "hour.wav"
        write(file)
        ours, peer = child(OURS, file), child(PEER, file)
    if not right(ours["stops"]):
        raise SystemExit(f"The stops were not found as they are: no ratio. Found: {ours['stops']}")
    details = (
        f"ours {spoken(ours['time'])} ({spoken(ours['cpu'])} of the processor), peer"
        f" {spoken(peer['time'])} ({spoken(peer['cpu'])}); {where()}"
    )
    say("Stop times of an hour of sound, time", ours["time"] / peer["time"], "under 20 s", details)
    mega = 1e-6
    details = f"ours {ours['peak'] * mega:.0f} MB, peer {peer['peak'] * mega:.0f} MB"
    say("the same, peak memory", ours["peak"] / peer["peak"], "under 300 MB", details)


if __name__ == "__main__":
    main()
