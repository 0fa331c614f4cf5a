"""The fault chart as a page for paper: contents first, then a section for each complaint and table.

One HTML file without script and without anything from elsewhere. Sections have numbers, as paper
has no links: the contents name them, and they stand at the head of each printed page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tripmargin.faultfinding.charts.chart_steps import Chart, ComplaintChart
from tripmargin.ground.languages import language, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.pictures.chart_cautions import caution_sets
from tripmargin.pictures.chart_page_steps import complaint_section, step_id
from tripmargin.pictures.chart_page_style import Sheets, chart_style
from tripmargin.pictures.fault_chart_rows import share
from tripmargin.pictures.page import STYLE, Section, table_html
from tripmargin.pictures.svg import clean
from tripmargin.pictures.trade_words import complaint_words, source_words
from tripmargin.pictures.words import SAFETY, said


@dataclass(frozen=True, slots=True)
class Group:
    """Tables that belong together under one number in the contents."""

    title: str
    sections: tuple[Section, ...]


@dataclass(frozen=True, slots=True)
class Missing:
    """A complaint that no listed fault of the machine leads to."""

    complaint: str
    says: str


def chart_page(
    title: str,
    *,
    foot: str,
    cautions: Sequence[str],
    chart: Chart | None = None,
    groups: Sequence[Group] = (),
    missing: Sequence[Missing] = (),
    sun: bool = False,
) -> str:
    """The page as text.

    Parameters
    ----------
    title : str
        Heading of the page.
    foot : str
        Printed at the foot of each page: which machine, by which file.
    cautions : sequence of str
        Shown first.
    chart : Chart, optional
        Its complaints come first; left out where only tables were asked for.
    groups : sequence of Group
        With a chart the first of them is the daily test.
    missing : sequence of Missing
        Complaints that there is no section for.
    sun : bool
        Greatest contrast.
    """
    complaints = () if chart is None else chart.complaints
    first_group = len(complaints) + 1
    numbered = list(enumerate(groups, start=first_group))
    parts = [_opening(title, cautions, chart), _contents(complaints, numbered, missing)]
    sheets: list[Sheets] = []
    if chart is not None:
        sets = caution_sets(step for each in complaints for step in each.steps)
        for k, each in enumerate(complaints, start=1):
            made = complaint_section(chart, each, k, sets=sets, daily=first_group)
            parts.append(made.replace('class="paper', f'class="on-s{k} paper', 1))
            sheets.append(Sheets(f"s{k}", f"{k}  {complaint_words(each.complaint)}"))
    for k, group in numbered:
        parts.append(_group(k, group))
        head = f"{k}  {group.title}"
        sheets += [Sheets(f"s{k}", head), Sheets(f"s{k}-across", head, across=True)]
    style = f"{STYLE}\n{chart_style(foot, sheets, sun)}"
    return (
        f'<!DOCTYPE html>\n<html lang="{language()}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{clean(title)}</title>\n<style>\n{style}\n</style>\n</head>\n<body>\n<main>\n"
        f"{''.join(parts)}<footer><p>{clean(foot)}</p></footer>\n</main>\n</body>\n</html>\n"
    )


def _opening(title: str, cautions: Sequence[str], chart: Chart | None) -> str:
    items = "".join(f"<li>{clean(caution)}</li>" for caution in cautions)
    read = "" if chart is None else f"<p>{clean(_read_it(chart))}</p>\n"
    heed = f'<div class="safety">{clean(say(SAFETY))}<ul>{items}</ul></div>\n'
    return f"<h1>{clean(title)}</h1>\n{heed}{read}"


def _read_it(chart: Chart) -> str:
    """How to read the steps, once for all of them."""
    return say(
        "Find the complaint, go to its section, begin at step 1, and go to the number that your"
        " answer leads to. An open number is a look, a filled one a repair; below it stands the"
        " share of this complaint's cases that come there. Any other answer, or none that is sure,"
        " leads to the tool (tripmargin find-fault): use it, or hand over. After every repair"
        ' make the daily test, "{daily}"; done: proved means that it passed. Right repair: share'
        " of its cases that the steps lead there with {wrong} of looks misread and"
        " {cannot_tell} left open. Rates: {rates}.",
        daily=as_written(chart.daily),
        wrong=share(chart.wrong),
        cannot_tell=share(chart.cannot_tell),
        rates="; ".join(map(source_words, chart.rates)),
    )


def _contents(
    complaints: Sequence[ComplaintChart],
    groups: Sequence[tuple[int, Group]],
    missing: Sequence[Missing],
) -> str:
    rows = "".join(_complaint_row(k, each) for k, each in enumerate(complaints, start=1))
    heads = (
        "",
        say("what the operator says"),
        say("begins at"),
        say("of all cases"),
        say("steps"),
        say("right repair"),
    )
    head = "".join(f"<th>{clean(name)}</th>" for name in heads)
    table = (
        f'<div class="table"><table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n'
        "</table></div>\n"
    )
    listed = "".join(_group_row(k, group) for k, group in groups)
    tables = f"<ul>\n{listed}</ul>\n" if listed else ""
    head_words = say("Contents")
    no_page = say("no listed fault of this machine leads to it, so there is no page for it.")
    none = "".join(_missing_row(each, no_page) for each in missing)
    return (
        f'<nav class="contents">\n<h2>{clean(head_words)}</h2>\n'
        f"{table if complaints else ''}{tables}{none}</nav>\n"
    )


def _missing_row(each: Missing, no_page: str) -> str:
    says = said(each.says).rstrip(".")
    name = clean(complaint_words(each.complaint))
    return f"<p><b>{name}</b> ({clean(says)}): {clean(no_page)}</p>\n"


def _complaint_row(k: int, each: ComplaintChart) -> str:
    tool = say("the tool")
    begins = f'<a href="#s{k}">{clean(tool)}</a>'
    if each.steps:
        first = each.steps[0].id
        words = say("section {section}, step {step}", section=k, step=first)
        begins = f'<a href="#{step_id(k, first)}">{clean(words)}</a>'
    cells = (
        f"{k}",
        f'<a href="#s{k}">{clean(complaint_words(each.complaint))}</a>: {clean(said(each.says))}',
        begins,
        share(each.share),
        f"{len(each.steps)}",
        share(each.leads),
    )
    return f"<tr>{''.join(_cell(j, cell) for j, cell in enumerate(cells))}</tr>\n"


def _cell(column: int, html: str) -> str:
    """A cell of the contents; all but the complaint's words are short, so that a phone has room."""
    return f"<td>{html}</td>" if column == 1 else f'<td class="short">{html}</td>'


def _group_row(k: int, group: Group) -> str:
    inner = "".join(
        f'<li>{k}.{j}&ensp;<a href="#s{k}-{j}">{clean(each.title)}</a></li>\n'
        for j, each in enumerate(group.sections, start=1)
    )
    below = f"\n<ul>\n{inner}</ul>\n" if len(group.sections) > 1 else ""
    return f'<li>{k}&ensp;<a href="#s{k}">{clean(group.title)}</a>{below}</li>\n'


def _group(k: int, group: Group) -> str:
    several = len(group.sections) > 1
    inner = "".join(
        _table(k, j, each, headed=several) for j, each in enumerate(group.sections, start=1)
    )
    head = f"<h2>{k}&ensp;{clean(group.title)}</h2>\n"
    return f'<section id="s{k}" class="on-s{k} paper">\n{head}{inner}</section>\n'


def _table(k: int, j: int, section: Section, headed: bool) -> str:
    name = f"s{k}-across" if section.wide else f"s{k}"
    items = "".join(f"<li>{clean(line)}</li>\n" for line in section.lines)
    head = f"<h3>{k}.{j}&ensp;{clean(section.title)}</h3>\n" if headed else ""
    return (
        f'<div id="s{k}-{j}" class="on-{name}{" wide" if section.wide else ""}">\n{head}'
        f"{f'<ul>{items}</ul>' if items else ''}"
        f"{'' if section.table is None else table_html(section.table)}</div>\n"
    )
