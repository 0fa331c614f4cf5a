"""The pages of the documentation, their code blocks and their links.

A fenced block of ``python`` is run; the blocks of one page share their names from top to bottom.
A block of ``toml`` whose first line is ``# name.toml`` is a file that later blocks may read. In a
block of ``console`` each line ``$ tripmargin ...`` is run, and what stands below it must be what
it prints, ``...`` standing for anything. ``console exit=1`` is for a command that ends with that
status.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
FENCE = re.compile(
    r"^(?P<indent> *)```(?P<info>[^\n`]*)\n(?P<body>.*?)^(?P=indent)```\s*?$", re.M | re.S
)
LINK = re.compile(r"!?\[[^\]]*\]\(\s*<?([^)\s>]+)>?(?:\s+\"[^\"]*\")?\s*\)")
HTML_LINK = re.compile(r"<(?:img|a|source)\b[^>]*?\b(?:src|href|srcset)=\"([^\"]+)\"", re.I)
HEADING = re.compile(r"^#{1,6} +(.+?)\s*#*$", re.M)


@dataclass(frozen=True)
class Block:
    """A fenced code block: language, settings such as ``exit``, text, place."""

    page: Path
    line: int
    language: str
    settings: dict[str, str]
    body: str

    @property
    def place(self) -> str:
        """Where the block stands, e.g. ``docs/index.md:12``."""
        return f"{self.page.relative_to(ROOT).as_posix()}:{self.line}"


@dataclass(frozen=True)
class Command:
    """A ``$ tripmargin`` line of a console block: arguments and the output shown below it."""

    arguments: tuple[str, ...]
    shown: str
    exit_status: int


def pages() -> list[Path]:
    """Every Markdown page of the project: those at its root and those under docs/."""
    return [*sorted(ROOT.glob("*.md")), *sorted((ROOT / "docs").rglob("*.md"))]


def blocks(page: Path) -> list[Block]:
    """Return the fenced code blocks of a page, in order."""
    text = page.read_text(encoding="utf-8")
    return [_block(page, text, match) for match in FENCE.finditer(text)]


def _block(page: Path, text: str, match: re.Match[str]) -> Block:
    words = match["info"].split() or [""]
    settings = dict(word.partition("=")[::2] for word in words[1:])
    indent = match["indent"]
    body = "".join(line.removeprefix(indent) for line in match["body"].splitlines(keepends=True))
    line = text.count("\n", 0, match.start()) + 1
    return Block(page, line, words[0], settings, body)


def commands(block: Block) -> list[Command]:
    """Return the ``$ tripmargin`` lines of a console block; other commands are left alone."""
    found = []
    for part in re.split(r"^\$ ", block.body, flags=re.M)[1:]:
        line, _, shown = part.replace("\\\n", " ").partition("\n")
        words = shlex.split(line, comments=True)
        if words[:1] == ["tripmargin"]:
            status = int(block.settings.get("exit", "0"))
            found.append(Command(tuple(words[1:]), shown.strip("\n"), status))
    return found


def file_name(block: Block) -> str | None:
    """Return the name of the file that a toml block stands for, or None."""
    match = re.match(r"# ([\w-]+\.toml)\b", block.body)
    return match[1] if block.language == "toml" and match else None


def links(page: Path) -> Iterator[str]:
    """Yield the targets of the links and images of a page, code left out."""
    text = re.sub(r"`[^`\n]*`", "", FENCE.sub("", page.read_text(encoding="utf-8")))
    yield from LINK.findall(text)
    yield from HTML_LINK.findall(text)


def anchors(page: Path) -> set[str]:
    """Return the anchors of a page's headings, as code hosts make them from the words."""
    text = FENCE.sub("", page.read_text(encoding="utf-8"))
    words = (re.sub(r"[^\w\- ]", "", heading.lower()) for heading in HEADING.findall(text))
    return {word.strip().replace(" ", "-") for word in words}


def broken_links(page: Path) -> list[str]:
    """Return the relative links of a page that lead nowhere."""
    return [target for target in links(page) if not _resolves(page, target)]


def _resolves(page: Path, target: str) -> bool:
    if re.match(r"[a-z][a-z0-9+.-]*:", target):  # another scheme: not ours to reach
        return True
    path, _, anchor = target.partition("#")
    goal = (page.parent / path).resolve() if path else page
    if not goal.exists() or not goal.is_relative_to(ROOT):
        return False
    return not anchor or goal.suffix != ".md" or anchor in anchors(goal)
