"""Which kind of file it is: by its first bytes, then by its name."""

from __future__ import annotations

from pathlib import Path

from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.recording import Guess

SOUND = ("WAV", "FLAC", "AIFF", "AU", "CAF", "W64", "OGG", "MP3")
PHONE = ("M4A", "3GP", "AAC", "AMR", "WebM")
KINDS = ("CSV", *SOUND, *PHONE, "Parquet", "MDF4", "MDF3")
_MARKS = (
    (0, b"RIFF", "WAV"), (0, b"RF64", "WAV"), (0, b"RIFX", "WAV"), (0, b"BW64", "WAV"),
    (0, b"fLaC", "FLAC"), (0, b"FORM", "AIFF"), (0, b".snd", "AU"), (0, b"caff", "CAF"),
    (0, b"riff\x2e\x91\xcf\x11", "W64"), (0, b"OggS", "OGG"), (0, b"ID3", "MP3"),
    (4, b"ftyp3g", "3GP"), (4, b"ftyp", "M4A"), (0, b"#!AMR", "AMR"),
    (0, b"\x1aE\xdf\xa3", "WebM"), (0, b"PAR1", "Parquet"), (0, b"UnFinMF ", "MDF4"),
)  # fmt: skip
_OTHERS = (
    (0, b"\x89PNG", "a picture (PNG)"), (0, b"\xff\xd8\xff", "a picture (JPEG)"),
    (0, b"GIF8", "a picture (GIF)"), (0, b"BM", "a picture (BMP)"), (0, b"%PDF", "a PDF"),
    (8, b"WEBP", "a picture (WebP)"), (0, b"\x1f\x8b", "a compressed file (gzip)"),
    (0, b"7z\xbc\xaf", "a compressed file (7z)"), (0, b"Rar!", "a compressed file (RAR)"),
    (0, b"BZh", "a compressed file (bzip2)"), (0, b"\xfd7zXZ", "a compressed file (xz)"),
    (0, b"(\xb5/\xfd", "a compressed file (zstd)"), (0, b"\xd0\xcf\x11\xe0", "an old workbook"),
    (0, b"\x89HDF", "an HDF5 file"), (0, b"MATLAB 5.0", "a MATLAB file"),
    (0, b"SQLite format 3", "a database"), (0, b"\x7fELF", "a program"), (0, b"MZ", "a program"),
    (0, b"TDSm", "a TDMS file"), (0, b"ARROW1", "an Arrow file"), (8, b"AVI ", "a video (AVI)"),
)  # fmt: skip
_WORKBOOK = b"PK\x03\x04"
_ENDINGS = {
    ".csv": "CSV", ".txt": "CSV", ".tsv": "CSV", ".dat": "CSV", ".asc": "CSV", ".log": "CSV",
    ".wav": "WAV", ".wave": "WAV", ".flac": "FLAC", ".aif": "AIFF", ".aiff": "AIFF", ".au": "AU",
    ".caf": "CAF", ".w64": "W64", ".ogg": "OGG", ".opus": "OGG", ".mp3": "MP3", ".m4a": "M4A",
    ".mp4": "M4A", ".mov": "M4A", ".3gp": "3GP", ".aac": "AAC", ".amr": "AMR", ".webm": "WebM",
    ".parquet": "Parquet", ".mf4": "MDF4", ".mdf": "MDF3",
}  # fmt: skip


def kind_of(path: Path, head: bytes, asked: str | None) -> tuple[str, tuple[Guess, ...]]:
    """The kind of a file, and why.

    Parameters
    ----------
    head
        The file's first bytes, some hundreds at least where it has them.
    asked
        A kind as the user says it; it counts.

    Raises
    ------
    RecordingError
        Where the kind asked for is not known, or the file is of one that cannot be read.
    """
    if asked is not None:
        known = {each.lower(): each for each in KINDS}
        if asked.lower() not in known:
            raise refusal(
                path, "not a kind that can be read", where="kind", value=asked,
                allowed=", ".join(KINDS),
            )  # fmt: skip
        return known[asked.lower()], ()
    by_name = _ENDINGS.get(path.suffix.lower())
    found = _by_mark(head)
    if found is None:
        _refuse_others(path, head)
        found = _unmarked(path, head, by_name)
        because = "it is text"
    else:
        because = "its first bytes say so"
    if by_name is not None and by_name != found:
        because += f", though its name ends in {path.suffix}"
    return found, (Guess("kind", found, because, "kind"),)


def _by_mark(head: bytes) -> str | None:
    for place, mark, kind in _MARKS:
        if head[place : place + len(mark)] == mark and _inside(head, kind):
            return kind
    if head[:8] == b"MDF     ":
        return "MDF3" if head[8:9] in b"23" else "MDF4"
    if len(head) > 1 and head[0] == 0xFF and head[1] & 0xE0 == 0xE0 and head[:2] != b"\xff\xfe":
        return "AAC" if head[1] & 0xF6 == 0xF0 else "MP3"
    return None


def _inside(head: bytes, kind: str) -> bool:
    """Whether a container holds sound, not pictures or video."""
    if kind == "WAV":
        return head[8:12] == b"WAVE"
    return kind != "AIFF" or head[8:12] in (b"AIFF", b"AIFC")


def _refuse_others(path: Path, head: bytes) -> None:
    readable = "CSV, WAV, FLAC, Parquet and MDF4, and phones' sound files"
    if head.startswith(_WORKBOOK):
        workbook = path.suffix.lower() in (".xlsx", ".xlsm", ".ods") or b"xl/" in head
        what = "a workbook" if workbook or b"[Content_Types]" in head else "a compressed file (zip)"
        hint = "Save the sheet as CSV and read that." if "work" in what else "Unpack it first."
        raise refusal(path, f"this is {what}", allowed=readable, hint=hint)
    for place, mark, what in _OTHERS:
        if head[place : place + len(mark)] != mark or (len(mark) == 2 and _is_text(head)):
            continue
        promised = path.suffix.lower() in _ENDINGS
        named = f", though its name ends in {path.suffix}" if promised else ""
        hint = "Unpack it first." if "compressed" in what else "Export the recording as CSV."
        hint = "Choose the recording itself." if "picture" in what or "PDF" in what else hint
        raise refusal(path, f"this is {what}{named}", allowed=readable, hint=hint)


def _unmarked(path: Path, head: bytes, by_name: str | None) -> str:
    """A file without a mark: text, or nothing known."""
    if _is_text(head):
        if by_name not in (None, "CSV"):
            raise refusal(
                path, f"this is text, though its name ends in {path.suffix}",
                allowed=f"a {by_name} file's own first bytes",
                hint='If it is a table of numbers, say kind="CSV".',
            )  # fmt: skip
        return "CSV"
    start = " ".join(f"{byte:02x}" for byte in head[:8])
    raise refusal(
        path, "neither text nor any known kind of recording", where="first bytes", value=start,
        allowed=", ".join(KINDS), hint="Export the recording as CSV or WAV.",
    )  # fmt: skip


def _is_text(head: bytes) -> bool:
    """Whether bytes are letters: hardly any control signs, zeros only as UTF-16 has them."""
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return True
    some = head[:4096]
    zeros = some.count(0)
    if zeros and max(some[0::2].count(0), some[1::2].count(0)) < 0.95 * zeros:
        return False
    if zeros and zeros < 0.3 * len(some):
        return False
    control = sum(byte < 32 and byte not in (0, 9, 10, 13, 12, 26, 27) for byte in some)
    return control <= 0.01 * len(some)
