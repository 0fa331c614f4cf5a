"""The codes that the card draws, read by another library as a phone would read them.

Source: zxing-cpp, an independent reader of ISO/IEC 18004; the room of each version at level M from
that standard's table 7 (from memory; the reader refuses codes whose blocks do not fit).
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

import numpy as np
import pytest

zxingcpp = pytest.importorskip("zxingcpp")


@pytest.fixture(scope="module")
def page(browser: Any) -> Iterator[Any]:
    context = browser.new_context(offline=True)
    page = context.new_page()
    folder = files("tripmargin.reports.card").joinpath("script")
    for name in ("make", "kept", "qr", "send_page"):
        page.add_script_tag(content=folder.joinpath(f"{name}.js").read_text("utf-8"))
    yield page
    context.close()


def read_off(rows: list[list[bool]]) -> list[str]:
    dark = np.array(rows, dtype=bool)
    pixels = np.kron(np.pad(~dark, 4, constant_values=True), np.ones((4, 4))).astype(np.uint8) * 255
    return [one.text for one in zxingcpp.read_barcodes(pixels)]


def letters(count: int) -> str:
    """A text of so many bytes in UTF-8, or one less, with letters of two bytes in it."""
    text = ("tripmargin Prüfkugel 20 mm ø " * 40).encode()[:count]
    return text.decode("utf-8", "ignore")


@pytest.mark.parametrize("count", [1, 14, 26, 42, 62, 84, 106, 122, 152, 180, 213, 251, 287, 331,
                                   362, 412, 450, 504, 560, 624, 666])  # fmt: skip
def test_a_code_of_every_version_is_read_as_it_was_written(page: Any, count: int) -> None:
    text = letters(count)
    assert read_off(page.evaluate("text => qrCode(text)", text)) == [text]


@pytest.mark.parametrize("count", [0, 1, 299, 300, 301, 2000])
def test_parts_of_the_records_join_to_the_same(page: Any, count: int) -> None:
    text = "é" + letters(count) + "😀"
    parts = page.evaluate("text => codeTexts(text)", text)
    said = []
    for k, part in enumerate(parts, 1):
        assert read_off(page.evaluate("text => qrCode(text)", part)) == [part]
        kind, name, which, rest = part.split(" ", 3)
        assert (kind, which) == ("TM1", f"{k}/{len(parts)}")
        assert name == f"{zlib.crc32(text.encode()):08x}"  # zlib's own sum
        said.append(rest)
    assert "".join(said) == text
