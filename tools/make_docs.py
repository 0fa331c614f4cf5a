"""Write the generated pages of the documentation anew, then check every link.

Each ``tools/docs_*.py`` makes one page: it has ``PAGE``, the page's path under docs/, and
``text()``, its content. ``--check`` writes nothing and fails where a page is stale.
"""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))


def generated() -> dict[Path, str]:
    """Return path and due content of every generated page."""
    names = sorted(path.stem for path in (ROOT / "tools").glob("docs_*.py"))
    makers = [import_module(f"tools.{name}") for name in names]
    return {ROOT / "docs" / maker.PAGE: maker.text() for maker in makers}


def stale() -> list[Path]:
    """Return the generated pages that are missing or differ from what they should be."""
    return [
        page
        for page, due in generated().items()
        if not page.exists() or page.read_text(encoding="utf-8") != due
    ]


def main() -> int:
    from tools.pages import broken_links, pages

    due = generated()
    changed = stale()
    for page in changed:
        print(f"{'stale' if '--check' in sys.argv else 'wrote'}: {page.relative_to(ROOT)}")
        if "--check" not in sys.argv:
            page.parent.mkdir(parents=True, exist_ok=True)
            page.write_text(due[page], encoding="utf-8", newline="\n")
    broken = [(page, target) for page in pages() for target in broken_links(page)]
    for page, target in broken:
        print(f"broken link: {page.relative_to(ROOT)} -> {target}")
    print(f"{len(due)} generated pages, {len(pages())} pages, {len(broken)} broken links")
    return 1 if broken or ("--check" in sys.argv and changed) else 0


if __name__ == "__main__":
    sys.exit(main())
