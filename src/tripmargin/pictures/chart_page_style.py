"""Style of the page for paper: on a screen, and on A4 with its own head and foot on each page.

Heads and feet stand in the margin boxes of CSS paged media. A browser that does not know these
leaves them out, and nothing else changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tripmargin.ground.languages import say
from tripmargin.pictures.look import FONTS, look_for

MARGIN = "14mm 11mm 13mm"
SMALL_PRINT = "7pt"


@dataclass(frozen=True, slots=True)
class Sheets:
    """Pages of one kind: their name in CSS, what stands at their head, and which way they lie."""

    name: str
    head: str
    across: bool = False


def chart_style(foot: str, sheets: Sequence[Sheets], sun: bool = False) -> str:
    """The rules that come after those of every page.

    Parameters
    ----------
    foot : str
        What stands at the foot of each page: which machine, by which file.
    sheets : sequence of Sheets
        Each section's pages.
    sun : bool
        Greatest contrast.
    """
    look = look_for(sun)
    named = "\n".join(_named(each) for each in sheets)
    return f"""
body {{ background: {look.paper}; color: {look.ink}; }}
a {{ color: inherit; }}
.small, .note, .way, .number span {{ font-size: .85rem; }}
.note, .way, .number span {{ color: {look.soft}; }}
.few {{ border-left: 4px solid {look.ink}; padding-left: .6rem; font-weight: bold; }}
.safety .marks {{ list-style: none; padding-left: 0; }}
.paper p {{ margin: .2rem 0; }}
.paper div > ul {{ list-style: none; padding-left: 0; }}
.contents li {{ margin: .15rem 0; }}
.contents ul {{ list-style: none; padding-left: 1.2rem; }}
.step {{ display: grid; grid-template-columns: 3.4rem 11fr 9fr; column-gap: .8rem;
  border-top: 1px solid {look.soft}; padding: .5rem 0; scroll-margin-top: .5rem; }}
.step:target {{ outline: 3px solid {look.ink}; outline-offset: 2px; }}
.step p {{ margin: 0; }}
.number {{ grid-row: 1 / span 2; text-align: center; }}
.number b {{ display: block; border: 2px solid {look.ink}; }}
.mend .number b {{ background: {look.ink}; color: {look.paper}; }}
.first {{ grid-column: 2 / span 2; }}
.heed {{ font-size: .85rem; font-weight: bold; }}
.do {{ font-weight: bold; }}
.answers {{ list-style: none; margin: 0; padding: 0; }}
.answers li {{ display: flex; justify-content: space-between; gap: .6rem; }}
.answers .to {{ white-space: nowrap; }}
.answers a {{ padding: 0 .2rem; }}
@media screen and (max-width: 740px) {{
  .step {{ grid-template-columns: 2.8rem 1fr; }}
  .number {{ grid-row: 1 / span 3; }}
  .first {{ grid-column: 2; }}
  .answers {{ grid-column: 2; }}
  .answers li {{ padding: .35rem 0; }}
}}
@media print {{
  html {{ font-size: 9pt; }}
  main > footer {{ display: none; }}
  body {{ background: #ffffff; color: {look.ink}; font-size: 9pt; line-height: 1.2; }}
  h1 {{ font-size: 16pt; }}
  h2 {{ font-size: 13pt; margin: 0 0 .3rem; break-after: avoid; }}
  h3 {{ font-size: 10.5pt; margin: .8rem 0 .3rem; break-after: avoid; }}
  a {{ text-decoration: none; }}
  .paper {{ break-before: page; }}
  .step {{ grid-template-columns: 9mm 13fr 8fr; padding: .7mm 0; break-inside: avoid; }}
  .safety, .few, .contents li {{ break-inside: avoid; }}
  .safety {{ padding: .3rem .5rem; }}
  .small, .note, .way, .heed, .number span {{ font-size: 7.5pt; }}
  .safety, .safety ul {{ font-size: 8.5pt; }}
  .number b {{ border-width: 1px; print-color-adjust: exact; -webkit-print-color-adjust: exact; }}
  .paper th, .paper td {{ padding: .1rem .35rem; font-size: 7.5pt; line-height: 1.2; }}
  .paper .wide th, .paper .wide td {{ padding: .1rem .3rem; font-size: {SMALL_PRINT}; }}
  .paper ul {{ margin: .3rem 0; }}
  .paper div > ul > li {{ margin: .2rem 0; }}
  .step .answers, .safety .marks {{ margin: 0; }}
  .step .answers > li, .safety .marks > li {{ margin: 0; }}
  @page {{ size: A4; margin: {MARGIN};
    @bottom-left {{ content: "{css_text(foot)}"; font: 8pt {FONTS}; }}
    @bottom-right {{ content: {_page_number()}; font: 8pt {FONTS}; }}
  }}
{named}
}}
""".strip()


def css_text(words: str) -> str:
    r"""Words for a CSS string between double quotes, inside a `<style>` element.

    >>> css_text('a "b" </style>')
    'a \\22 b\\22  \\3c \\2f style\\3e '
    """
    plain = " .,:;()-+'"
    return "".join(c if c.isalnum() or c in plain else f"\\{ord(c):x} " for c in words)


def _page_number() -> str:
    """Which page of how many, as CSS counts them."""
    words = css_text(say("page {page} of {pages}", page="(page)", pages="(pages)"))
    for counter in ("page", "pages"):
        words = words.replace(f"({counter})", f'" counter({counter}) "')
    return f'"{words}"'.removesuffix(' ""')


def _named(each: Sheets) -> str:
    """A kind of page with its head, and what is printed on it."""
    size = "A4 landscape" if each.across else "A4"
    return (
        f"  @page {each.name} {{ size: {size}; margin: {MARGIN};\n"
        f'    @top-left {{ content: "{css_text(each.head)}"; font: bold 9pt {FONTS}; }} }}\n'
        f"  .on-{each.name} {{ page: {each.name}; }}"
    )
