"""The last few things that were made, each made once whoever asks at the same time."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


class _Entry(Generic[V]):
    """One thing, perhaps still being made."""

    __slots__ = ("lock", "made")

    def __init__(self) -> None:
        self.lock = Lock()
        self.made: list[V] = []


class Remembered(Generic[K, V]):
    """The last few things made, by key; safe between threads.

    Two threads that ask for one key at once get one thing: the second waits for the first. Those
    that ask for other keys do not wait. What could not be made is not remembered.

    Parameters
    ----------
    most : int
        Things kept; the one asked for least recently goes first. 0: none is kept.

    Examples
    --------
    >>> squares = Remembered[int, int](most=2)
    >>> squares.get(3, lambda: 9), squares.get(3, lambda: 0)
    (9, 9)
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._entries: OrderedDict[K, _Entry[V]] = OrderedDict()
        self._lock = Lock()

    def get(self, key: K, make: Callable[[], V]) -> V:
        """The thing by its key, made now if it is not remembered."""
        if self._most == 0:
            return make()
        with self._lock:
            entry = self._entries.setdefault(key, _Entry())
            self._entries.move_to_end(key)
            while len(self._entries) > self._most:
                self._entries.popitem(last=False)
        with entry.lock:
            if not entry.made:
                entry.made.append(make())
            return entry.made[0]
