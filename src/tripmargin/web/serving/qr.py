"""An address as a code for a phone's camera: in a page, or in the terminal."""

from __future__ import annotations

import io

from tripmargin.pictures.look import DAY, SUN


def qr_picture(text: str) -> str:
    """A QR code (ISO/IEC 18004) as SVG, without size: the page gives it one.

    Dark on white with four modules of quiet zone, as the standard asks, whatever the page's look.
    """
    import segno

    code = segno.make(text, micro=False, error="m", boost_error=False)
    svg: str = code.svg_inline(
        scale=4, border=4, dark=DAY.ink, light=SUN.paper, omitsize=True, svgclass=None,
        lineclass=None,
    )  # fmt: skip
    return svg


def qr_lines(text: str) -> list[str]:
    """A QR code as lines of half blocks, for a terminal with light letters on dark ground."""
    import segno

    out = io.StringIO()
    segno.make(text, micro=False, error="l").terminal(out=out, compact=True, border=2)
    return out.getvalue().splitlines()
