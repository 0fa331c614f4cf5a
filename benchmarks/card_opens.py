"""The phone card: how long it takes to open and to propose the next check, on a slowed browser.

Chromium with its processor slowed four times, as a cheap phone is. The peer is the second that is
asked for; beside it the same browser opens a page of the same size with one sentence in it.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from common.turns import median, say, seconds, spoken, where

from tripmargin.machine import load_machine
from tripmargin.reports.card.page import card_page

ASKED, SLOWED, TURNS = 1.0, 4, 7
FIRST = "() => document.querySelector('h1')"
ANSWER = """() => {
    const begun = performance.now();
    document.querySelector(".plates.tall button").click();
    return (performance.now() - begun) / 1e3;
}"""


def main() -> None:
    """Measure and print."""
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        print("No Chromium on this computer: nothing is measured.")
        return
    text = card_page(load_machine("curlew"))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        card, plain = Path(folder, "card.html"), Path(folder, "plain.html")
        card.write_text(text, "utf-8")
        words = "<!DOCTYPE html><h1>A page</h1><!--"
        plain.write_text(words + "x" * (len(text.encode()) - len(words) - 3) + "-->", "utf-8")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        page = browser.new_context(offline=True).new_page()
        slow = page.context.new_cdp_session(page)
        slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})

        def opens(path: Path) -> None:
            page.goto(path.as_uri())
            page.wait_for_function(FIRST)

        ours, theirs = [], []
        for _ in range(TURNS):
            ours.append(seconds(lambda: opens(card)))
            theirs.append(seconds(lambda: opens(plain)))
        opens(card)
        page.get_by_role("link", name="What is wrong?").click()
        page.get_by_role("button", name="Begin").click()
        page.get_by_role("button", name="It does not reset").wait_for()
        answers = []
        for _ in range(TURNS):
            plates = page.locator(".plates.tall button")
            if not plates.count():
                break
            answers.append(page.evaluate(ANSWER))
        browser.close()
    slow_words = f"{len(text.encode()) / 1e3:.0f} kB, browser slowed {SLOWED} times"
    say(
        "What is asked (1 s) over opening the card",
        ASKED / median(ours),
        "over 1",
        f"median {spoken(median(ours))}; a page of its size {spoken(median(theirs))}; {slow_words}",
    )
    say(
        "What is asked of the program (100 ms) over the card's next check",
        0.1 / median(answers),
        "none",
        f"median {spoken(median(answers))}, slowest {spoken(max(answers))} of {len(answers)}",
    )
    print(where())


if __name__ == "__main__":
    main()
