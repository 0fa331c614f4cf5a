"""Reading recordings: a CSV of 1 GB and an hour of stereo sound, in little memory.

Ours goes through a file once for what it is (hash, rate, gaps, cut tops, words for nothing), then
reads it in blocks; each runs in a child process whose peak memory is asked of the system. Peers:

- CSV: pandas in chunks, numbers only, no checks, in its own child on the same file; and numpy's
  loadtxt on the first part of it, scaled up, for it would need hours and all the memory;
- sound: the sound library itself, reading the same file in blocks of the same size.

Correctness first: sums of every column by ours and by the peer must agree, or no ratio is given.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from common.turns import say, spoken, where

CSV_BYTES = 1_000_000_000
SOUND_SECONDS, SOUND_RATE = 3600, 48_000
PART = 20_000_000  # bytes for the slow peer
MEMORY = 300e6

OURS = """
import json, resource, sys, time
import tripmargin.recordings.reading as reading
start = time.perf_counter()
made = reading.read(sys.argv[1])
opened = time.perf_counter()
sums, count = 0.0, 0
for block in made.blocks():
    sums, count = sums + block.values.sum(axis=0), count + len(block.times)
done = time.perf_counter()
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
print(json.dumps({"first": opened - start, "blocks": done - opened, "peak": peak,
                  "sums": list(sums), "count": count, "rate": made.rate}))
"""
PANDAS = """
import json, resource, sys, time
import pandas as pd
start = time.perf_counter()
sums, count = 0.0, 0
for chunk in pd.read_csv(sys.argv[1], chunksize=1 << 16, float_precision="round_trip"):
    sums, count = sums + chunk.to_numpy()[:, 1:].sum(axis=0), count + len(chunk)
done = time.perf_counter()
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
print(json.dumps({"blocks": done - start, "peak": peak, "sums": list(sums), "count": count}))
"""
SOUNDFILE = """
import json, resource, sys, time
import soundfile
start = time.perf_counter()
sums, count = 0.0, 0
for block in soundfile.blocks(sys.argv[1], 1 << 18, dtype="float64", always_2d=True):
    sums, count = sums + block.sum(axis=0), count + len(block)
done = time.perf_counter()
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
print(json.dumps({"blocks": done - start, "peak": peak, "sums": list(sums), "count": count}))
"""


def child(code: str, file: Path) -> dict:
    """What a fresh process says of a file."""
    done = subprocess.run(
        [sys.executable, "-c", code, str(file)], capture_output=True, text=True, check=True
    )
    return json.loads(done.stdout)


def agree(ours: dict, theirs: dict) -> None:
    same = ours["count"] == theirs["count"] and np.allclose(ours["sums"], theirs["sums"], rtol=1e-9)
    if not same:
        raise SystemExit("Ours and the peer read different numbers: no ratio.")


def write_csv(file: Path) -> None:
    """Five columns as loggers write them: time and four channels of six decimals."""
    random = np.random.default_rng(0)
    rows = 100_000
    bodies = [
        ",".join(f"{value:.6f}" for value in row) + "\n" for row in random.normal(size=(rows, 4))
    ]
    size = row = 0
    with file.open("w", encoding="utf-8") as out:
        out.write("time [s],a [V],b [V],c [V],d [V]\n")
        while size < CSV_BYTES:
            text = "".join(f"{(row + k) * 1e-4:.4f},{body}" for k, body in enumerate(bodies))
            out.write(text)
            size, row = size + len(text), row + rows


def write_sound(file: Path) -> None:
    """An hour of stereo noise, 16 bits."""
    import soundfile

    random = np.random.default_rng(0)
    with soundfile.SoundFile(file, "w", SOUND_RATE, 2, "PCM_16") as out:
        second = random.uniform(-0.5, 0.5, (10 * SOUND_RATE, 2))
        for _ in range(SOUND_SECONDS // 10):
            out.write(second)


def csv(folder: Path) -> None:
    file = folder / "large.csv"
    write_csv(file)
    theirs, ours = child(PANDAS, file), child(OURS, file)
    agree(ours, theirs)
    head = folder / "head.csv"
    with file.open("rb") as source:
        head.write_bytes(source.read(PART).rpartition(b"\n")[0] + b"\n")
    start = time.perf_counter()
    np.loadtxt(head, delimiter=",", skiprows=1)
    loadtxt = (time.perf_counter() - start) * file.stat().st_size / head.stat().st_size
    peer, blocks, first = theirs["blocks"], ours["blocks"], ours["first"]
    details = f"{spoken(blocks)} against {spoken(peer)}"
    say("CSV of 1 GB in blocks, pandas in chunks over ours", peer / blocks, "none", details)
    details = f"{spoken(loadtxt)}, scaled up from {PART / 1e6:.0f} MB, against {spoken(blocks)}"
    say("The same, numpy.loadtxt over ours", loadtxt / blocks, "none", details)
    say(
        "First look, hash and checks, over pandas' one reading", first / peer, "none", spoken(first)
    )
    details = f"{ours['peak'] / 1e6:.0f} MB; pandas {theirs['peak'] / 1e6:.0f} MB"
    say("Peak memory over 300 MB", ours["peak"] / MEMORY, "under 1 x", details)


def sound(folder: Path) -> None:
    file = folder / "hour.wav"
    write_sound(file)
    theirs, ours = child(SOUNDFILE, file), child(OURS, file)
    agree(ours, theirs)
    peer, blocks, first = theirs["blocks"], ours["blocks"], ours["first"]
    details = f"{spoken(blocks)} against {spoken(peer)}"
    say("An hour of stereo 48 kHz in blocks, ours over the library", blocks / peer, "none", details)
    say("First look, hash and checks, over the library's one reading", first / peer, "none",
        spoken(first))  # fmt: skip
    say("Both together over 20 s", (first + blocks) / 20, "under 1 x", spoken(first + blocks))
    details = f"{ours['peak'] / 1e6:.0f} MB; the library alone {theirs['peak'] / 1e6:.0f} MB"
    say("Peak memory over 300 MB", ours["peak"] / MEMORY, "under 1 x", details)


def main() -> None:
    print(f"Reading recordings; {where()}")
    with tempfile.TemporaryDirectory() as folder:
        sound(Path(folder))
        (Path(folder) / "hour.wav").unlink()
        csv(Path(folder))


if __name__ == "__main__":
    main()
