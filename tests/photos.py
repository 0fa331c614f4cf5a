"""Photos for tests, and files that only call themselves photos."""

from __future__ import annotations

import struct
import zipfile
import zlib
from io import BytesIO
from typing import Any

from PIL import Image


def photo(
    width: int = 640, height: int = 480, kind: str = "JPEG", colour: Any = "#803020", **more: Any
) -> bytes:
    """A photo of one colour."""
    made = BytesIO()
    Image.new(more.pop("mode", "RGB"), (width, height), colour).save(made, kind, **more)
    return made.getvalue()


def turned_photo(orientation: int = 6) -> bytes:
    """A photo that lies on its side, with the place where it was taken and a remark in it."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010E] = "secret remark"
    exif.get_ifd(0x8825)[1] = "N"
    image = Image.new("RGB", (640, 480), "white")
    image.paste("black", (0, 0, 320, 480))  # the left half
    made = BytesIO()
    image.save(made, "JPEG", exif=exif, comment=b"secret comment", quality=95)
    return made.getvalue()


def huge_png(width: int, height: int) -> bytes:
    """A PNG of a few bytes whose header asks for a huge picture (PNG specification, chunks)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + name + data
            + struct.pack(">I", zlib.crc32(name + data))
        )  # fmt: skip

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000)))
        + chunk(b"IEND", b"")
    )  # fmt: skip


def zip_bomb() -> bytes:
    """An archive of zeros, a thousand times smaller than what is in it."""
    made = BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("photo.jpg", bytes(20_000_000))
    return made.getvalue()


NOT_PHOTOS: dict[str, bytes] = {
    "script": b"<script>alert(1)</script>",
    "drawing": b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
    "page": b"<!doctype html><html><body onload=alert(1)>",
    "shell": b"#!/bin/sh\nrm -rf /\n",
    "archive": zip_bomb(),
    "noise": bytes(range(256)) * 40,
    "empty": b"",
    "only a header": b"\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01",
    "cut off": photo(400, 400)[:600],
    "drawing behind a header": b"\x89PNG\r\n\x1a\n<svg onload=alert(1)>",
    "picture of another kind": photo(20, 20, "GIF"),
    "film": b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(200),
}
