"""Pictures and their tables as files: SVG, PNG, HTML, CSV, each written whole or not at all."""

from __future__ import annotations

import csv
import io
import os
import secrets
import shutil
from collections.abc import Sequence
from pathlib import Path

from tripmargin.ground.languages import say, say_as
from tripmargin.ground.languages.lists import listed
from tripmargin.pictures.page import Section, Table, html_page

SUFFIXES = (".svg", ".png", ".html", ".csv")
PNG_SCALE = 2.0  # pixels for each px of the SVG, so that print and sharp screens get enough


def save_picture(
    path: str | os.PathLike[str],
    *,
    svg: str | Sequence[str] = (),
    table: Table | None = None,
    title: str = "",
    cautions: Sequence[str] = (),
    phone: str | Sequence[str] = (),
    sections: Sequence[Section] = (),
) -> Path:
    """Save a picture, or the table behind it, as its file name asks.

    Parameters
    ----------
    path : path
        Ends in .svg, .png, .html or .csv.
    svg : str or sequence of str
        SVG documents; .svg and .png take exactly one.
    table : (headers, rows), optional
        The numbers behind the pictures; .csv needs it.
    title, cautions, phone, sections
        For .html: its heading, what to heed first, the pictures laid out narrow (or none), and what
        else there is to say below.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    ValueError
        If the suffix is another one, or what it needs is not given.
    OSError
        If the folder cannot be written to; an older file is then left as it was.
    """
    target = Path(path)
    kind = target.suffix.lower()
    pictures, slim = _several(svg), _several(phone)
    if kind not in SUFFIXES:
        ending = f"'{target.suffix}'" if target.suffix else say_as("ending", "none")
        raise ValueError(
            say(
                "{file}: the ending is {ending}. Allowed: {allowed}.",
                file=target.name,
                ending=ending,
                allowed=listed(SUFFIXES, "or"),
            )
        )
    if kind == ".csv":
        content = csv_text(table).encode()
    elif kind == ".html":
        page = html_page(
            title or target.stem,
            pictures,
            table=table,
            cautions=cautions,
            phone=slim,
            sections=sections,
        )
        content = page.encode()
    elif len(pictures) != 1:
        raise ValueError(
            say(
                "{file}: {ending} holds one picture; {count} were given.",
                file=target.name,
                ending=kind,
                count=len(pictures),
            )
        )
    else:
        content = pictures[0].encode() if kind == ".svg" else png_bytes(pictures[0])
    write_whole(target, content)
    return target


def csv_text(table: Table | None) -> str:
    """A table as CSV (RFC 4180): a header line, full precision, empty for nothing.

    >>> csv_text((("piece", "margin_m"), [("8 mm, rod", 0.1), ("nut", None)])).splitlines()
    ['piece,margin_m', '"8 mm, rod",0.1', 'nut,']
    """
    if table is None:
        raise ValueError(say("A .csv file holds a table, and none was given."))
    headers, rows = table
    if any(len(row) != len(headers) for row in rows):
        raise ValueError(f"A row of the table does not have {len(headers)} cells.")
    text = io.StringIO()
    csv.writer(text).writerows([headers, *rows])
    return text.getvalue()


def png_bytes(svg: str, scale: float = PNG_SCALE) -> bytes:
    """An SVG document as a PNG image; its letters come from a typeface carried by the writer."""
    import vl_convert

    return vl_convert.svg_to_png(svg, scale=scale)


def write_whole(target: Path, content: bytes) -> None:
    """Write a file so that a reader, or an interrupted run, never meets half of it."""
    part = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    try:
        with part.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, part)
        os.replace(part, target)
    except BaseException as error:
        part.unlink(missing_ok=True)
        if isinstance(error, OSError):  # a person knows the file asked for, not its first half
            raise OSError(error.errno, error.strerror, str(target)) from error
        raise


def _several(given: str | Sequence[str]) -> list[str]:
    return [given] if isinstance(given, str) else list(given)
