"""Small recordings of every kind, and ways in which a copy, a logger or a stranger spoils them."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import soundfile
from asammdf import MDF, Signal

ROWS = 1500
ENDINGS = (".csv", ".wav", ".flac", ".parquet", ".mf4", ".txt", ".m4a", ".ogg", "")
WORDS = (
    b"nan", b"inf", b"-inf", b"1e400", b"1e-400", b"-", b";", b",", b'"', b"\n", b"\r", b"\0",
    b"1,5", b"1.5", b"1.234,5", b"1'234", b"\xef\xbb\xbf", b"\xff\xfe", b"12-Mar-2026 14:03:05.2",
    b"12.5 V", b"#", b"9" * 30, b"24:61:61", b"\x85", b"\x1c", b"2026-02-30 10:00:00", b"1e5e5",
)  # fmt: skip
CLAIMS = (
    b"\xff\xff\xff\xff", b"\xff\xff\xff\x7f", b"\0\0\0\0", b"\xff" * 8, b"\xff" * 7 + b"\x7f",
    b"\0" * 8, b"\0\0\0\x40", b"\1\0\0\0\0\0\0\0",
)  # fmt: skip


def whole_files(folder: Path) -> dict[str, bytes]:
    """One of each kind, by name."""
    random_ = np.random.default_rng(0)
    t = np.arange(ROWS) / 1000
    trip = np.where(t < 0.8, 12.0, 0.2)
    speed = np.clip((0.851 - t) / 0.02, 0, 1) + 0.01 * random_.standard_normal(ROWS)
    rows = [f"{a:.3f},{b:.2f},{c:.4f}" for a, b, c in zip(t, trip, speed, strict=True)]
    (folder / "a.csv").write_text("t [s],trip line [V],roll speed [m/s]\n" + "\n".join(rows) + "\n")
    commas = "\r\n".join(row.replace(",", ";").replace(".", ",") for row in rows)
    (folder / "b.csv").write_text("\ufeffZeit [s];Trip [V];Rolle [V]\r\n" + commas, "utf-8")
    stamps = "\n".join(
        f"03.05.2026 10:00:{k // 1000:02d},{k % 1000:03d}\t{k % 7}.5" for k in range(ROWS)
    )
    (folder / "c.csv").write_text("Zeit\tU\n" + stamps + "\n", "utf-16")
    named = "\n".join(f"12-Mar-2026 14:03:{5 + k / 1000:06.3f},{k % 9}.5 V" for k in range(ROWS))
    (folder / "d.csv").write_text("time,U\n" + named + "\n")
    sound = random_.uniform(-0.5, 0.5, (3000, 2))
    for name, coding in (("a.wav", "PCM_16"), ("b.wav", "FLOAT"), ("c.wav", "IMA_ADPCM")):
        soundfile.write(folder / name, sound, 8000, subtype=coding)
    for name in ("a.flac", "a.ogg", "a.aiff"):
        soundfile.write(folder / name, sound, 16000)
    table = {"t": t, "trip": trip, "speed": speed}
    pq.write_table(pa.table(table), folder / "a.parquet", row_group_size=600)
    nanoseconds = pa.array((t * 1e9).astype("int64") + 10**18, pa.timestamp("ns"))
    pq.write_table(pa.table({"t": nanoseconds, "u": trip, "s": ["x"] * ROWS}), folder / "b.parquet")
    for name, compression in (("a.mf4", 0), ("b.mf4", 2)):
        made = MDF(version="4.10")
        made.append([Signal(trip, t, name="trip line", unit="V"), Signal(speed, t, name="speed")])
        made.append([Signal(np.arange(90, dtype="u1"), np.arange(90) / 10, name="other")])
        made.save(folder / name, compression=compression, overwrite=True)
        made.close()
    return {each.name: each.read_bytes() for each in sorted(folder.iterdir())}


def spoilt(chance: random.Random, content: bytes, name: str) -> tuple[bytes, str]:
    """The file with up to twenty things done to it, and at times with another ending."""
    data = bytearray(content)
    if chance.random() < 0.03:
        return b"", name
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6, 20))):
        if not data:
            break
        place = chance.randrange(len(data))
        if chance.random() < 0.5:  # most of what a reader leans on stands at the beginning
            place = min(place, chance.choice((20, 100, 300, 1500)))
        elif chance.random() < 0.2:
            place = max(0, len(data) - 1 - chance.randrange(600))
        data = _one(chance, data, place, name.endswith(".csv"))
    if name.endswith(".csv") and chance.random() < 0.15:
        sign = chance.choice((b"12.00", b"0.20", b",", b"1", b".", b"0", b";"))
        data = bytearray(bytes(data).replace(sign, chance.choice(WORDS)))
    if chance.random() < 0.12:
        name = Path(name).stem + chance.choice(ENDINGS)
    return bytes(data), name


def _one(chance: random.Random, data: bytearray, place: int, text: bool) -> bytearray:
    match chance.randrange(11):
        case 0:
            return data[:place]
        case 1 | 2:
            data[place] = chance.randrange(256)
        case 3:
            data[place] ^= 1 << chance.randrange(8)
        case 4:  # a length or a number of things that cannot be
            claim, place = chance.choice(CLAIMS), place // 4 * 4
            data[place : place + len(claim)] = claim
        case 5:
            data[place:place] = chance.choice(WORDS)
        case 6:
            del data[place : place + chance.choice((1, 2, 7, 40, 400))]
        case 7:
            end = place + chance.choice((4, 16, 64, 512))
            data[place:end] = bytes(len(data[place:end]))
        case 8:
            data[place:place] = data[place : place + chance.choice((20, 200, 2000))]
        case 9 if text:
            return _rows(chance, data)
        case _:
            end = place + chance.choice((3, 9, 30))
            data[place:end] = bytes([chance.randrange(256)]) * len(data[place:end])
    return data


def _rows(chance: random.Random, data: bytearray) -> bytearray:
    """Rows lost, repeated, put in the wrong order, or with the other decimal sign."""
    rows = bytes(data).split(b"\n")
    begin = chance.randrange(len(rows))
    end = begin + chance.randrange(40)
    match chance.randrange(4):
        case 0:
            del rows[begin:end]
        case 1:
            rows[begin:begin] = rows[begin : begin + 1] * chance.randrange(1, 9)
        case 2:
            rows[begin:end] = rows[begin:end][::-1]
        case _:
            rows[begin:end] = [row.replace(b".", b",") for row in rows[begin:end]]
    return bytearray(b"\n".join(rows))
