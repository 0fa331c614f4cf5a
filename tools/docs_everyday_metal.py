"""docs/reference/everyday-metal.md: pieces and materials, each row with its source."""

from __future__ import annotations

PAGE = "reference/everyday-metal.md"


def text() -> str:
    from tripmargin.ground.tables.page import everyday_metal_page

    return everyday_metal_page()
