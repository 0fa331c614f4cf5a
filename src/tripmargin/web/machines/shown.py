"""What was drawn before, kept in memory: a machine as its file has it is asked for all day long."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock
from typing import Any

MOST = 400  # some 60 kB each


class Shown:
    """The last things drawn, by key; safe between threads."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._kept: OrderedDict[tuple[object, ...], dict[str, Any]] = OrderedDict()
        self._lock = Lock()

    def get(self, key: tuple[object, ...]) -> dict[str, Any] | None:
        """What was drawn for this key, or None."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
            return self._kept.get(key)

    def keep(self, key: tuple[object, ...], drawn: dict[str, Any]) -> dict[str, Any]:
        """Keep it; what was asked for least recently goes."""
        with self._lock:
            self._kept[key] = drawn
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return drawn
