"""The season's review of a fleet on paper, against a browser that prints the same pages.

The peer is Chromium: it lays out the same report, as HTML with the same words, tables and pictures,
and prints it as a tagged PDF. Both are timed from the document to the file; the whole report, with
what is read from the records, is held against the ten seconds that are asked for.
"""

from __future__ import annotations

import shutil
import tempfile
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

from common.turns import median, say, seconds, spoken, where
from common.yard import made_yard

MACHINES, DAYS, TURNS, ASKED = 24, 300, 5, 10.0
LEAST_PAGES = 40


def main() -> None:
    """Measure and print."""
    from pypdf import PdfReader

    made_yard(MACHINES, DAYS)
    met_metal()
    from tripmargin.reports.paper.page import html_of
    from tripmargin.reports.paper.season import season_review
    from tripmargin.reports.paper.season_log import Season
    from tripmargin.reports.paper.typesetting import pdf_of

    made = datetime.now(UTC)
    season = Season((made - timedelta(days=DAYS)).date(), date.today())

    def whole() -> bytes:
        return pdf_of(season_review(season, made=made))

    document = season_review(season, made=made)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ours = folder / "ours.pdf"
        ours.write_bytes(pdf_of(document))
        pages = len(PdfReader(ours).pages)
        if pages < LEAST_PAGES:
            raise SystemExit(f"{pages} pages, not {LEAST_PAGES}: no figures.")
        html = folder / "report.html"
        html.write_text(html_of(document), "utf-8")
        # The browser's driver keeps an event loop running, beside which Django refuses to read.
        wholes = [seconds(whole) for _ in range(TURNS)]
        layouts, printed = [], []
        with Printer(folder) as printer:
            for _ in range(TURNS):
                layouts.append(seconds(lambda: pdf_of(document)))
                if printer.page is not None:
                    printed.append(seconds(lambda: printer.print(html)))
            theirs = printer.pages()
    say(
        "What is asked (10 s) over the whole report",
        ASKED / median(wholes),
        "over 1",
        f"median {spoken(median(wholes))}; {pages} pages, {MACHINES} machines, {DAYS} checks each",
    )
    if printed:
        say(
            "Chromium printing the same report over our typesetting of it",
            median(printed) / median(layouts),
            "none",
            f"{spoken(median(printed))} for {theirs} pages, ours {spoken(median(layouts))}",
        )
    else:
        print("No Chromium on this computer: no peer.")
    print(where())


def met_metal() -> None:
    """Trips, gaps and stop times beside the daily checks, so that there are charts and tables."""
    from tripmargin.records.standing.refreshing import refresh
    from tripmargin.records.store.models import Entry, Machine

    now = datetime.now(UTC)
    for machine in Machine.objects.all():
        made: list[Any] = []
        for day in range(1, DAYS, 12):
            gap = {"gap_before_m/lower": 0.0034 + 1e-6 * (DAYS - day)}
            made.append(_entry(machine, "adjustment", now - timedelta(days=day), gap))
            left = {"found": "wire", "size_m": 0.01, "left_m": 0.12, "cut_length_m": 0.012}
            made.append(_entry(machine, "trip", now - timedelta(days=day, hours=2), left))
        for day in range(5, DAYS, 60):
            stop = {"stop_time_s": 0.05 + 1e-5 * (DAYS - day)}
            made.append(_entry(machine, "stop time", now - timedelta(days=day), stop))
        Entry.objects.bulk_create(made)
        refresh(machine)


def _entry(machine: Any, kind: str, at: datetime, values: dict[str, Any]) -> Any:
    from tripmargin.records.store.models import Entry

    return Entry(uid=uuid4(), machine=machine, kind=kind, at=at, received_at=at, who_name="Ann",
                 source="import", values=values)  # fmt: skip


class Printer:
    """Chromium, started once: only its printing is timed."""

    def __init__(self, folder: Path) -> None:
        self.file, self.page = folder / "theirs.pdf", None

    def __enter__(self) -> Printer:
        chromium = shutil.which("chromium") or shutil.which("chromium-browser")
        if chromium is not None:
            from playwright.sync_api import sync_playwright

            self.playwright = sync_playwright().start()
            browser = self.playwright.chromium.launch(
                executable_path=chromium, args=["--no-sandbox"]
            )
            self.page: Any = browser.new_context(offline=True).new_page()
        return self

    def __exit__(self, *_: object) -> None:
        if self.page is not None:
            self.page.context.browser.close()
            self.playwright.stop()

    def print(self, html: Path) -> None:
        """Open the page and print it."""
        self.page.goto(html.as_uri())
        self.page.pdf(path=self.file, format="A4", tagged=True)

    def pages(self) -> int:
        """How many pages it printed."""
        from pypdf import PdfReader

        return len(PdfReader(self.file).pages) if self.file.exists() else 0


if __name__ == "__main__":
    main()
