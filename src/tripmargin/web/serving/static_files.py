"""Static files: brought together into the records' folder before the server starts."""

from __future__ import annotations

import hashlib
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

MARK = "brought.sha256"


def bring_static_files() -> bool:
    """Bring them together where they are not what the program holds; whether anything was done.

    Files of an older version stay: a page that is open still asks for them.
    """
    from django.conf import settings
    from django.core.management import call_command

    root = Path(settings.STATIC_ROOT)
    root.mkdir(mode=0o700, parents=True, exist_ok=True)
    with _alone(root):
        digest, mark = _digest(), root / MARK
        if mark.exists() and mark.read_text(encoding="ascii") == digest:
            return False
        call_command("collectstatic", interactive=False, verbosity=0)
        mark.write_text(digest, encoding="ascii")
    return True


def _digest() -> str:
    """What all static files hold, by name."""
    from django.contrib.staticfiles.finders import get_finders

    whole = hashlib.sha256()
    for finder in get_finders():
        for path, storage in sorted(finder.list([]), key=lambda found: str(found[0])):
            with storage.open(path) as file:
                content = hashlib.sha256(file.read()).hexdigest()
            whole.update(f"{path} {content}\n".encode())
    return whole.hexdigest()


@contextmanager
def _alone(root: Path) -> Iterator[None]:
    """Two servers of one folder may start at once: the second waits for the first."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    with (root / "brought.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield
