"""What a gloved thumb hits."""

from __future__ import annotations

from typing import Any

SMALLEST = 44
"""px. Web Content Accessibility Guidelines 2.2, success criterion 2.5.5."""

_HEIGHTS = """() => [...document.querySelectorAll(
  "a, button, summary, select, textarea, input:not([type=hidden])")]
  .filter(one => !one.matches(".skip") && one.getBoundingClientRect().height)
  .filter(one => !one.matches("a") || one.textContent.trim() === one.parentNode.textContent.trim()
    || one.matches(".button, .choice, nav a"))
  .map(one => [one.textContent.trim() || one.name,
    (one.closest("label") || one).getBoundingClientRect().height])"""


def too_small(page: Any) -> list[str]:
    """Controls of a page that are lower than a thumb needs; links inside sentences aside."""
    found = page.evaluate(_HEIGHTS)
    assert found
    return [f"{text}: {height} px" for text, height in found if height < SMALLEST]
