"""The reference page is made from the fields, and is current."""

from __future__ import annotations

from tests.reference import ROOT
from tripmargin.machine import all_fields, reference_page


def test_the_published_page_is_current() -> None:
    published = ROOT / "docs" / "reference" / "machine-file.md"
    assert published.read_text(encoding="utf-8") == reference_page(), "run `make docs`"


def test_every_field_is_on_the_page_with_what_is_allowed_there() -> None:
    page = reference_page()
    for found in all_fields():
        if "." in found.path:
            assert f"| `{found.path}` |" in page
        if found.spec.measure:
            assert found.spec.measure in page
