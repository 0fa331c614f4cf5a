"""`tripmargin report read`: the numbers that travel inside a report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from tripmargin.cli.output import json_text
from tripmargin.cli.tables import folded
from tripmargin.ground.languages import later, say


@click.command()
@click.argument(
    "file", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False, exists=True)
)
@click.option("--json", "as_json", is_flag=True, help="All of it as JSON, in SI.")
def read(file: Path, as_json: bool) -> None:
    """Read a report's numbers back, from its PDF or its HTML FILE.

    Prints what the report says of itself and what its numbers are; --json prints them all.
    """
    from tripmargin.reports.paper.reading import read_report

    found = read_report(file)
    if as_json:
        click.echo(json_text(found))
        return
    click.secho(found["title"], bold=True)
    lines = [
        say("Report: {kind}.", kind=_name(found["report"])),
        say("Made: {at}.", at=found["made_at"]),
        say("By: {who}.", who=found["made_by"] or say("nobody named")),
        say("Written by: {program}.", program=found["program"]),
    ]
    verdict = found["data"].get("proof", {}).get("verdict")
    if verdict:
        lines.append(say("Verdict: {verdict}.", verdict=say(verdict)))
    by_log = found["data"].get("by_log")
    if by_log:
        lines += [say("By its log: {reason}", reason=reason) for reason in by_log["reasons"]]
    for line in lines:
        click.echo(folded(line))
    click.echo(say("Numbers inside, in SI; --json prints them:"))
    for name, value in found["data"].items():
        click.echo(folded(f"{name}: {_kind(value)}", "  - "))


_NAMES = {
    "commissioning": later("commissioning"),
    "daily-check": later("daily check"),
    "fault-chart": later("fault chart"),
    "season": later("season's review"),
    "training": later("training record"),
    "class": later("records of a class"),
}


def _name(kind: str) -> str:
    """A kind of report in words; one of another program's version as it stands."""
    return say(_NAMES[kind]) if kind in _NAMES else kind


def _kind(value: Any) -> str:
    """What a part of the numbers is, in a word or two."""
    if isinstance(value, dict):
        return say("{count} fields", count=len(value))
    if isinstance(value, list):
        return say("{count} rows", count=len(value))
    return say("nothing") if value is None else str(value)
