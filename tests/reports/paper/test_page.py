"""A report as one HTML file: no network, nothing that runs, open to everybody, good on a phone."""

import re

import pytest

from tests.web.browser.conftest import no_barrier, no_sideways
from tripmargin.reports.paper.document import Heading
from tripmargin.reports.paper.page import html_of

PHONE, SMALL, DESK = (360, 740), (320, 568), (1280, 900)

__all__ = ["no_barrier", "no_sideways"]


@pytest.fixture(scope="module")
def page_path(commissioning, tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "report.html"
    path.write_text(html_of(commissioning), "utf-8")
    return path


def test_it_loads_nothing_and_runs_nothing(page_path, open_file):
    page = open_file(page_path, DESK)
    assert page.asked == [page_path.as_uri()]
    assert page.aloud == []
    text = page_path.read_text("utf-8")
    assert "default-src 'none'" in text
    assert " style=" not in text
    assert not re.search(r"<script(?! type=\"application/json\")[^>]*>[^<]", text)


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_nothing_keeps_people_out(page_path, open_file, no_barrier, size):
    no_barrier(open_file(page_path, size))


@pytest.mark.parametrize("size", [SMALL, PHONE, DESK])
def test_nothing_goes_off_sideways(page_path, open_file, no_sideways, size):
    no_sideways(open_file(page_path, size))


def test_it_says_what_the_paper_says(commissioning, page_path, open_file):
    page = open_file(page_path, DESK)
    headings = [one.text for one in commissioning.blocks if isinstance(one, Heading)]
    assert page.locator("h2, h3").all_inner_texts() == headings
    assert page.locator("h1").inner_text() == commissioning.title
    assert page.locator("figure svg:visible").count() == 2


def test_a_phone_gets_the_narrow_pictures(page_path, open_file):
    page = open_file(page_path, PHONE)
    shown = page.locator("figure svg:visible")
    assert [one.get_attribute("width") for one in shown.all()] == ["360", "360"]


def test_a_name_never_becomes_markup(commissioning, tmp_path, open_file):
    from dataclasses import replace

    name = "<img src=x onerror=alert(1)></script><b>Dunlin"
    path = tmp_path / "name.html"
    path.write_text(html_of(replace(commissioning, title=name, data={"name": name})), "utf-8")
    page = open_file(path, DESK)
    assert page.locator("h1").inner_text() == name
    assert page.locator("img, b").count() == 0
    assert page.aloud == []


def test_its_chapters_are_listed_behind_what_is_read_first(page_path, open_file):
    page = open_file(page_path, PHONE)
    chapters = page.locator("main > h2")
    links = page.get_by_role("navigation", name="Contents").get_by_role("link")
    assert links.all_inner_texts() == chapters.all_inner_texts()
    for link, chapter in zip(links.all(), chapters.all(), strict=True):
        assert link.get_attribute("href") == f"#{chapter.get_attribute('id')}"
        assert link.bounding_box()["height"] >= 44
    first = page.locator(".caution").first.bounding_box()["y"]
    assert first < page.locator(".contents").bounding_box()["y"]


def test_a_phone_says_which_tables_go_on_sideways(page_path, open_file):
    page = open_file(page_path, PHONE)
    found = page.evaluate(
        """() => [...document.querySelectorAll(".table")].map(one => [
             one.scrollWidth > one.clientWidth + 1,
             one.previousElementSibling.matches("p.aside")])"""
    )
    assert any(wide for wide, _ in found)
    assert [wide for wide, _ in found] == [told for _, told in found]
    assert page.locator("p.aside:visible").count() == sum(told for _, told in found)
    assert open_file(page_path, DESK).locator("p.aside:visible").count() == 0
