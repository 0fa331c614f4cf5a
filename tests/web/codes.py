"""Codes read back by another library than the one that drew them: zxing-cpp, as phones do."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any

from PIL import Image

from tests.reference import lacking

BLOCKS = {" ": (0, 0), "\u2580": (1, 0), "\u2584": (0, 1), "\u2588": (1, 1)}
"""Upper and lower half of each sign that a terminal draws: 1 in the colour of letters."""


def read_codes(picture: Any) -> list[str]:
    """What the codes in a picture say; a PIL image, or the bytes of one."""
    try:
        import zxingcpp
    except ImportError:
        lacking("Python package zxing-cpp")
    image = Image.open(BytesIO(picture)) if isinstance(picture, bytes) else picture
    found = zxingcpp.read_barcodes(image.convert("L"), formats=zxingcpp.BarcodeFormat.QRCode)
    return [each.text for each in found]


def as_a_terminal_shows(lines: Sequence[str], *, scale: int = 6) -> Image.Image:
    """Lines of half blocks in light letters on dark ground, as a photo of the screen has them."""
    width = max(map(len, lines))
    image = Image.new("L", (width, 2 * len(lines)), 20)
    for row, line in enumerate(lines):
        for column, sign in enumerate(line):
            for half, light in enumerate(BLOCKS[sign]):
                image.putpixel((column, 2 * row + half), 235 if light else 20)
    return image.resize((scale * image.width, scale * image.height), Image.Resampling.NEAREST)
