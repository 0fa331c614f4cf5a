import re

import pytest

from tools.make_docs import stale
from tools.pages import ROOT, broken_links, links, pages


def name_of(path):
    return path.relative_to(ROOT).as_posix()


@pytest.mark.parametrize("page", pages(), ids=name_of)
def test_every_relative_link_leads_somewhere(page):
    assert broken_links(page) == []


def test_every_page_can_be_reached_from_the_readme_or_the_index():
    start = [ROOT / "README.md", ROOT / "docs" / "index.md"]
    reached, waiting = set(), list(start)
    while waiting:
        page = waiting.pop()
        if page in reached or not page.exists() or page.suffix != ".md":
            continue
        reached.add(page)
        local = (t.partition("#")[0] for t in links(page) if not re.match(r"[a-z][a-z0-9+.-]*:", t))
        waiting += [(page.parent / target).resolve() for target in local if target]
    assert [name_of(page) for page in pages() if page not in reached] == []


def test_generated_pages_are_current():
    assert [name_of(page) for page in stale()] == [], "run `make docs`"
