"""The one look: ink on warm white, one accent, patterns besides colour; a sun mode."""

from __future__ import annotations

from dataclasses import dataclass

# Liberation Sans is first because the PNG writer carries it along; the others have its widths.
FONTS = "'Liberation Sans', Arimo, Arial, Helvetica, sans-serif"


@dataclass(frozen=True, slots=True)
class Look:
    """Colours of a picture as #rrggbb.

    `accent` stands for what is protected or known and nothing else; `wash` is a pale accent under
    stripes and fans, never the only sign of anything.
    """

    paper: str
    ink: str
    soft: str
    accent: str
    wash: str

    @property
    def texts(self) -> tuple[tuple[str, str], ...]:
        """Every pair of text colour and ground that the pictures use."""
        return (
            (self.ink, self.paper),
            (self.soft, self.paper),
            (self.accent, self.paper),
            (self.paper, self.accent),
            (self.ink, self.wash),
        )

    @property
    def graphics(self) -> tuple[tuple[str, str], ...]:
        """Every pair of line or region colour and ground that carries a meaning."""
        return (
            (self.ink, self.paper),
            (self.soft, self.paper),
            (self.accent, self.paper),
            (self.accent, self.wash),
            (self.paper, self.accent),
        )


DAY = Look("#fbf6ec", "#23262c", "#565a61", "#672d5b", "#e9d9e2")
SUN = Look("#ffffff", "#000000", "#000000", "#3a0033", "#ffffff")


@dataclass(frozen=True, slots=True)
class Type:
    """Sizes of letters and the edge of the page, px, for one width of picture."""

    title: float
    body: float
    small: float
    edge: float


def type_for(width: float) -> Type:
    """Letter sizes for a picture's width; nothing under 11 px.

    >>> type_for(360).small
    11.0
    """
    return Type(16.0, 12.5, 11.0, 12.0) if width < 520 else Type(20.0, 14.0, 12.0, 20.0)


def look_for(sun: bool) -> Look:
    """The look by day, or in full sun."""
    return SUN if sun else DAY


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb, WCAG 2.2."""
    channels = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, WCAG 2.2: (L1 + 0.05) / (L2 + 0.05), lighter over darker.

    >>> contrast("#000000", "#ffffff"), round(contrast("#767676", "#ffffff"), 4)
    (21.0, 4.5422)
    """
    bright, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)
