"""Which kind of file it is: by its first bytes, then by its name."""

from __future__ import annotations

from pathlib import Path

from tripmargin.ground.languages import later, say
from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.recording import Guess

SOUND = ("WAV", "FLAC", "AIFF", "AU", "CAF", "W64", "OGG", "MP3")
PHONE = ("M4A", "3GP", "AAC", "AMR", "WebM")
KINDS = ("CSV", *SOUND, *PHONE, "Parquet", "MDF4", "MDF3")
_MARKS = (
    (0, b"RIFF", "WAV"),
    (0, b"RF64", "WAV"),
    (0, b"RIFX", "WAV"),
    (0, b"BW64", "WAV"),
    (0, b"fLaC", "FLAC"),
    (0, b"FORM", "AIFF"),
    (0, b".snd", "AU"),
    (0, b"caff", "CAF"),
    (0, b"riff\x2e\x91\xcf\x11", "W64"),
    (0, b"OggS", "OGG"),
    (0, b"ID3", "MP3"),
    (4, b"ftyp3g", "3GP"),
    (4, b"ftyp", "M4A"),
    (0, b"#!AMR", "AMR"),
    (0, b"\x1aE\xdf\xa3", "WebM"),
    (0, b"PAR1", "Parquet"),
    (0, b"UnFinMF ", "MDF4"),
)
_OTHERS = (
    (0, b"\x89PNG", later("a picture (PNG)")),
    (0, b"\xff\xd8\xff", later("a picture (JPEG)")),
    (0, b"GIF8", later("a picture (GIF)")),
    (0, b"BM", later("a picture (BMP)")),
    (0, b"%PDF", later("a PDF")),
    (8, b"WEBP", later("a picture (WebP)")),
    (0, b"\x1f\x8b", later("a compressed file (gzip)")),
    (0, b"7z\xbc\xaf", later("a compressed file (7z)")),
    (0, b"Rar!", later("a compressed file (RAR)")),
    (0, b"BZh", later("a compressed file (bzip2)")),
    (0, b"\xfd7zXZ", later("a compressed file (xz)")),
    (0, b"(\xb5/\xfd", later("a compressed file (zstd)")),
    (0, b"\xd0\xcf\x11\xe0", later("an old workbook")),
    (0, b"\x89HDF", later("an HDF5 file")),
    (0, b"MATLAB 5.0", later("a MATLAB file")),
    (0, b"SQLite format 3", later("a database")),
    (0, b"\x7fELF", later("a program")),
    (0, b"MZ", later("a program")),
    (0, b"TDSm", later("a TDMS file")),
    (0, b"ARROW1", later("an Arrow file")),
    (8, b"AVI ", later("a video (AVI)")),
)
_WORKBOOK = b"PK\x03\x04"
_ENDINGS = {
    ".csv": "CSV",
    ".txt": "CSV",
    ".tsv": "CSV",
    ".dat": "CSV",
    ".asc": "CSV",
    ".log": "CSV",
    ".wav": "WAV",
    ".wave": "WAV",
    ".flac": "FLAC",
    ".aif": "AIFF",
    ".aiff": "AIFF",
    ".au": "AU",
    ".caf": "CAF",
    ".w64": "W64",
    ".ogg": "OGG",
    ".opus": "OGG",
    ".mp3": "MP3",
    ".m4a": "M4A",
    ".mp4": "M4A",
    ".mov": "M4A",
    ".3gp": "3GP",
    ".aac": "AAC",
    ".amr": "AMR",
    ".webm": "WebM",
    ".parquet": "Parquet",
    ".mf4": "MDF4",
    ".mdf": "MDF3",
}


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
                path,
                say("not a kind that can be read"),
                where="kind",
                value=asked,
                allowed=", ".join(KINDS),
            )
        return known[asked.lower()], ()
    by_name = _ENDINGS.get(path.suffix.lower())
    found = _by_mark(head)
    if found is None:
        _refuse_others(path, head)
        found = _unmarked(path, head, by_name)
        because = say("it is text")
    else:
        because = say("its first bytes say so")
    if by_name is not None and by_name != found:
        because = say(
            "{because}, though its name ends in {suffix}", because=because, suffix=path.suffix
        )

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
    readable = say("CSV, WAV, FLAC, Parquet and MDF4, and phones' sound files")
    if head.startswith(_WORKBOOK):
        named = path.suffix.lower() in (".xlsx", ".xlsm", ".ods") or b"xl/" in head
        if named or b"[Content_Types]" in head:
            what, hint = say("this is a workbook"), say("Save the sheet as CSV and read that.")
        else:
            what, hint = say("this is a compressed file (zip)"), say("Unpack it first.")
        raise refusal(path, what, allowed=readable, hint=hint)
    for place, mark, other in _OTHERS:
        if head[place : place + len(mark)] != mark or (len(mark) == 2 and _is_text(head)):
            continue
        what = say("this is {what}", what=say(other))
        if path.suffix.lower() in _ENDINGS:
            what = say(
                "this is {what}, though its name ends in {suffix}",
                what=say(other),
                suffix=path.suffix,
            )
        hint = say("Export the recording as CSV.")
        if "compressed" in other:
            hint = say("Unpack it first.")
        if "picture" in other or "PDF" in other:
            hint = say("Choose the recording itself.")
        raise refusal(path, what, allowed=readable, hint=hint)


def _unmarked(path: Path, head: bytes, by_name: str | None) -> str:
    """A file without a mark: text, or nothing known."""
    if _is_text(head):
        if by_name not in (None, "CSV"):
            raise refusal(
                path,
                say("this is text, though its name ends in {suffix}", suffix=path.suffix),
                allowed=say("the first bytes that {kind} files have", kind=by_name),
                hint=say('If it is a table of numbers, say kind="CSV".'),
            )
        return "CSV"
    start = " ".join(f"{byte:02x}" for byte in head[:8])
    raise refusal(
        path,
        say("neither text nor any known kind of recording"),
        where=say("first bytes"),
        value=start,
        allowed=", ".join(KINDS),
        hint=say("Export the recording as CSV or WAV."),
    )


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
