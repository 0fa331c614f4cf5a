"""A report as one HTML file: the same blocks as on paper, its numbers inside, no network."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tripmargin.ground.languages import say
from tripmargin.pictures.page import inline
from tripmargin.pictures.svg import clean
from tripmargin.reports.one_file import numbers_html, one_file, style_of
from tripmargin.reports.paper.document import (
    Across,
    Block,
    Cautions,
    Cell,
    Document,
    Drawing,
    Heading,
    Listed,
    Space,
    Strong,
    Table,
    Verdict,
    Words,
    said_of,
)

NUMBERS = "report-data"
"""The id of the element that holds the numbers."""
DESK, PHONE = 840.0, 360.0  # px, of a picture
SHORT, LONG = 18, 60  # letters of a cell that are not parted; that want a wide column
_PART, _MANY = "part-", 3  # the ids of chapters; from so many on there is a list of contents
_LETTER, _PAD = 7.5, 12.0  # px, about: of a letter of a table, and between two columns
_ROOM = 330.0  # px, of a table on a phone
_HAND = {Space.TICK: 50.0, Space.WRITE: 88.0}  # px
_HERE = "tripmargin.reports.paper"


def html_of(document: Document) -> str:
    """The report as one HTML file.

    It loads nothing and runs nothing (`one_file`).
    """
    body = "".join(_parts(document))
    page = one_file(document.title, style_of(_HERE), "", body)
    return page.replace('<html lang="en">', f'<html lang="{clean(document.language)}">', 1)


def _parts(document: Document) -> Iterator[str]:
    kinds = ["across"] if document.across else []
    classes = f' class="{" ".join(kinds)}"' if kinds else ""
    yield f"<main{classes}>\n<h1>{clean(document.title)}</h1>\n"
    chapters = [one for one in document.blocks if _is_chapter(one)]
    for block in document.blocks:
        if len(chapters) >= _MANY and block is chapters[0]:
            yield _contents(chapters)
        yield _block(block, chapters)
    foot = (document.subject, document.day)
    yield f"<footer><p>{clean(', '.join(one for one in foot if one))}</p></footer>\n</main>\n"
    yield numbers_html(NUMBERS, document.to_dict())


def _is_chapter(block: Block) -> bool:
    return isinstance(block, Heading) and block.level == 1


def _contents(chapters: Sequence[Block]) -> str:
    """Links to the chapters, behind what is read first: on a phone a report is many screens."""
    named = clean(say("Contents"))
    links = "".join(
        f'<li><a href="#{_PART}{number}">{clean(one.text)}</a></li>'
        for number, one in enumerate(chapters)
        if isinstance(one, Heading)
    )
    return f'<nav class="contents" aria-label="{named}"><p>{named}</p><ul>{links}</ul></nav>\n'


def _block(block: Block, chapters: Sequence[Block] = ()) -> str:
    match block:
        case Heading():
            tag = f"h{block.level + 1}"
            fresh = ' class="fresh"' if block.new_page else ""
            place = next((k for k, one in enumerate(chapters) if one is block), None)
            mark = "" if place is None else f' id="{_PART}{place}"'
            return f"<{tag}{mark}{fresh}>{clean(block.text)}</{tag}>\n"
        case Words():
            kind = ' class="small"' if block.small else ' class="strong"' if block.strong else ""
            return "".join(f"<p{kind}>{clean(line)}</p>\n" for line in block.lines)
        case Listed():
            return _list(block.items, "ol" if block.numbered else "ul")
        case Cautions():
            title = f"<p><strong>{clean(block.title)}</strong></p>\n"
            return f'<div class="caution">{title}{_list(block.items, "ul")}</div>\n'
        case Verdict():
            lines = "".join(f"<p>{clean(line)}</p>" for line in block.lines)
            return f'<div class="verdict"><p class="word">{clean(block.word)}</p>{lines}</div>\n'
        case Table():
            return _table(block)
        case Drawing():
            return _drawing(block)
        case Across():
            return f'<section class="wide">\n{"".join(map(_block, block.blocks))}</section>\n'


def _list(items: Sequence[str], tag: str) -> str:
    return f"<{tag}>{''.join(f'<li>{clean(one)}</li>' for one in items)}</{tag}>\n"


def _drawing(drawing: Drawing) -> str:
    """Wide and narrow, of which the style sheet shows one; the picture says what it shows."""
    desk, phone = (inline(drawing.draw(width, False)) for width in (DESK, PHONE))
    said_of(desk)  # a picture that says nothing is refused here as on paper
    return f'<figure><div class="desk">{desk}</div><div class="phone">{phone}</div></figure>\n'


def _table(table: Table) -> str:
    numbers = set(table.numbers)
    heads = "".join(
        f'<th scope="col"{_class(k in numbers, "")}>{clean(head)}</th>'
        for k, head in enumerate(table.headers)
    )
    rows = "".join(f"<tr>{''.join(_cells(row, table.named, numbers))}</tr>\n" for row in table.rows)
    named = table.title or say("A table")
    title = f"<caption>{clean(table.title)}</caption>\n" if table.title else ""
    by_hand = ' class="hand"' if table.by_hand else ""
    wide = f'<p class="aside">{clean(say("Wider than a phone: push the table sideways."))}</p>\n'
    return (
        f"{wide if _is_wide(table) else ''}"
        f'<div class="table" tabindex="0" role="region" aria-label="{clean(named)}">'
        f"<table{by_hand}>{title}<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}</tbody></table>"
        "</div>\n"
    )


def _is_wide(table: Table) -> bool:
    """Whether a phone shows less than the whole table, by about how wide its columns are."""
    widths = (
        _width(head, [row[k] for row in table.rows], number=k in table.numbers)
        for k, head in enumerate(table.headers)
    )
    return sum(widths) > _ROOM


def _width(head: str, cells: Sequence[Cell], *, number: bool) -> float:
    """About how wide a column is, px: the look's least width, or what cannot be parted."""
    width = max(map(len, head.split()), default=0) * _LETTER
    for cell in cells:
        if isinstance(cell, Space):
            width = max(width, _HAND[cell])
            continue
        letters = len(_plain(cell))
        least = letters if number or letters <= SHORT else 17 if letters <= LONG else 32
        width = max(width, least * _LETTER)
    return width + _PAD


def _cells(row: Sequence[Cell], named: bool, numbers: set[int]) -> Iterator[str]:
    for k, cell in enumerate(row):
        if isinstance(cell, Space):
            yield f"<td>{_space(cell)}</td>"
        elif k == 0 and named:
            yield f'<th scope="row"{_class(k in numbers, _plain(cell))}>{_words(cell)}</th>'
        else:
            yield f"<td{_class(k in numbers, _plain(cell))}>{_words(cell)}</td>"


def _plain(cell: str | tuple[str, ...]) -> str:
    return cell if isinstance(cell, str) else " ".join(cell)


def _words(cell: str | tuple[str, ...]) -> str:
    """Words, or lines of which some stand out."""
    if isinstance(cell, str):
        return clean(cell)
    return "<br>".join(
        f"<strong>{clean(one)}</strong>" if isinstance(one, Strong) else clean(one) for one in cell
    )


def _space(cell: Space) -> str:
    kind, words = ("tick", say("a box to tick")), ("write", say("room to write"))
    name, told = kind if cell is Space.TICK else words
    return f'<span class="{name}" role="img" aria-label="{clean(told)}"></span>'


def _class(number: bool, text: str) -> str:
    if number:
        return ' class="number"'
    return (
        ' class="short"' if 0 < len(text) <= SHORT else ' class="long"' if len(text) > LONG else ""
    )
