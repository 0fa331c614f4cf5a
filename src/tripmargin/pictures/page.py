"""One self-contained HTML page around pictures and the table behind them: no script, no network."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tripmargin.ground.languages import language, numeral, say, say_many
from tripmargin.pictures.look import DAY, FONTS
from tripmargin.pictures.svg import clean
from tripmargin.pictures.trade_words import cell_words
from tripmargin.pictures.words import SAFETY, said

Cell = str | int | float | None
Table = tuple[Sequence[str], Sequence[Sequence[Cell]]]


@dataclass(frozen=True, slots=True)
class Section:
    """A heading on a page, with sentences below it, and a table; a `wide` one prints across."""

    title: str
    lines: Sequence[str] = ()
    table: Table | None = None
    wide: bool = False


SHORT = 18  # letters; "runs on to 1234"
LONG = 60  # rows; a longer table is folded

STYLE = f"""
:root {{ color-scheme: light; }}
* {{ box-sizing: border-box; }}
body {{ margin: 0; background: {DAY.paper}; color: {DAY.ink}; font: 16px/1.5 {FONTS}; }}
main {{ max-width: 60rem; margin: 0 auto; padding: 1rem 1rem 3rem; }}
h1 {{ font-size: 1.5rem; line-height: 1.25; margin: .5rem 0; overflow-wrap: anywhere; }}
h2 {{ font-size: 1.1rem; margin: 2rem 0 .5rem; }}
.safety {{ border: 2px solid {DAY.ink}; padding: .6rem .8rem; font-weight: bold; }}
.safety ul {{ margin: .4rem 0 0; padding-left: 1.2rem; font-weight: normal; }}
figure {{ margin: 1.5rem -1rem; }}
summary {{ padding: .7rem 0; }}
figure svg {{ display: block; max-width: 100%; height: auto; }}
figure .phone {{ display: none; }}
/* A shadow at an edge behind which there is more of the table. */
.table {{ overflow-x: auto; background:
  linear-gradient(to right, {DAY.paper} 40%, transparent) left / 2rem calc(100% + 2px)
    no-repeat local,
  linear-gradient(to left, {DAY.paper} 40%, transparent) right / 2rem calc(100% + 2px)
    no-repeat local,
  linear-gradient(to right, {DAY.soft}, transparent) left / .7rem 100% no-repeat scroll,
  linear-gradient(to left, {DAY.soft}, transparent) right / .7rem 100% no-repeat scroll; }}
table {{ border-collapse: collapse; font-variant-numeric: tabular-nums; }}
th, td {{ padding: .35rem .8rem; border-bottom: 1px solid {DAY.soft}; text-align: left; }}
th {{ border-bottom-width: 2px; vertical-align: bottom; }}
td {{ vertical-align: top; }}
td.short {{ white-space: nowrap; }}
td.number, th.number {{ text-align: right; }}
@media screen and (max-width: 740px) {{
  th, td {{ padding: .35rem .5rem; font-size: .875rem; }}
  td:not(.short):not(.number) {{ min-width: 9rem; }}
  figure .desk + .phone {{ display: block; }}
  figure .desk:not(:last-child) {{ display: none; }}
  figure .desk:last-child {{ overflow-x: auto; }}
  figure .desk:last-child svg {{ max-width: none; }}
}}
@media print {{
  @page {{ margin: 15mm; }}
  body {{ background: #ffffff; font-size: 11pt; }}
  main {{ max-width: none; padding: 0; }}
  figure, tr {{ break-inside: avoid; }}
  thead {{ display: table-header-group; }}
  .table {{ overflow: visible; background: none; }}
  @page across {{ size: landscape; margin: 12mm; }}
  .wide {{ page: across; }}
  .wide td.short {{ white-space: normal; }}
  .wide td, .wide th {{ padding: .15rem .3rem; font-size: 7.5pt; line-height: 1.3; }}
  body, figure svg, .safety {{ print-color-adjust: exact; -webkit-print-color-adjust: exact; }}
}}
""".strip()
"""Of every page: on a screen, on a phone, on paper."""


def html_page(
    title: str,
    pictures: Sequence[str],
    *,
    table: Table | None = None,
    cautions: Sequence[str] = (),
    phone: Sequence[str] = (),
    sections: Sequence[Section] = (),
) -> str:
    """The page as text.

    Parameters
    ----------
    title : str
        Heading of the page.
    pictures : sequence of str
        SVG documents.
    table : (headers, rows), optional
        The numbers behind the pictures.
    cautions : sequence of str
        Shown first, after the words that stand on every page.
    phone : sequence of str
        The same pictures laid out narrow, in the same order; shown on narrow screens instead.
    sections : sequence of Section
        What else the answer says, below the table.

    Raises
    ------
    ValueError
        If `phone` is given with another number of pictures.
    """
    if phone and len(phone) != len(pictures):
        raise ValueError(f"{len(pictures)} pictures, but {len(phone)} for a phone.")
    narrow: Sequence[str | None] = phone or [None] * len(pictures)
    figures = "".join(_figure(wide, slim) for wide, slim in zip(pictures, narrow, strict=True))
    items = "".join(f"<li>{clean(caution)}</li>" for caution in cautions)
    more = f"<ul>{items}</ul>" if items else ""
    return (
        f'<!DOCTYPE html>\n<html lang="{language()}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{clean(title)}</title>\n<style>\n{STYLE}\n</style>\n</head>\n<body>\n<main>\n"
        f'<h1>{clean(title)}</h1>\n<div class="safety">{clean(say(SAFETY))}{more}</div>\n'
        f"{figures}{'' if table is None else _table(table)}"
        f"{''.join(section_html(section) for section in sections)}</main>\n</body>\n</html>\n"
    )


def _figure(wide: str, slim: str | None) -> str:
    phone = "" if slim is None else f'<div class="phone">{inline(slim)}</div>'
    return f'<figure><div class="desk">{inline(wide)}</div>{phone}</figure>\n'


def inline(svg: str) -> str:
    """An SVG document as part of a page: without an XML declaration or a document type."""
    start = svg.find("<svg")
    if start < 0:
        raise ValueError("A picture is not an SVG document: it has no <svg> element.")
    return svg[start:]


def section_html(section: Section) -> str:
    """A heading, its sentences and its table as HTML."""
    items = "".join(f"<li>{clean(line)}</li>\n" for line in section.lines)
    listed = f"<ul>\n{items}</ul>\n" if items else ""
    table = "" if section.table is None else table_html(section.table)
    whole = f"<h2>{clean(section.title)}</h2>\n{listed}{table}"
    return f'<section class="wide">{whole}</section>\n' if section.wide else whole


def _table(table: Table) -> str:
    rows = table[1]
    # A long table waits folded up, so that the page stays short on a phone and on paper.
    title = say("The numbers behind it")
    count = say_many("{count} row", "{count} rows", len(rows))
    fold = "" if len(rows) > LONG else " open"
    return (
        f"<h2>{clean(title)}</h2>\n<details{fold}><summary>{clean(count)}</summary>\n"
        f"{table_html(table)}</details>\n"
    )


def table_html(table: Table) -> str:
    """A table as HTML, numbers to the right; its headers are said."""
    headers, rows = table
    headers, name = [said(header) for header in headers], say("A table")
    numeric = [
        bool(rows) and all(isinstance(row[k], (int, float)) or row[k] is None for row in rows)
        for k in range(len(headers))
    ]

    def cells(tag: str, values: Sequence[Cell]) -> str:
        parts = (
            f"<{tag}{_class_of(tag, shown(value), number)}>{clean(shown(value))}</{tag}>"
            for value, number in zip(values, numeric, strict=True)
        )
        return f"<tr>{''.join(parts)}</tr>\n"

    body = "".join(cells("td", row) for row in rows)
    return (
        '<div class="table" tabindex="0" role="region" '
        f'aria-label="{clean(name)}"><table>\n'
        f"<thead>{cells('th', headers)}</thead>\n"
        f"<tbody>\n{body}</tbody>\n</table></div>\n"
    )


def _class_of(tag: str, text: str, number: bool) -> str:
    """Numbers stand to the right; a short cell is not broken, so that units stay with numbers."""
    if number:
        return ' class="number"'
    return ' class="short"' if tag == "td" and len(text) <= SHORT else ""


def shown(value: Cell) -> str:
    """A cell of a table as a person reads it.

    >>> shown(0.123456789), shown(None), shown(12)
    ('0.123457', '', '12')
    """
    if value is None:
        return ""
    return numeral(value, ".6g") if isinstance(value, float) else cell_words(str(value))
