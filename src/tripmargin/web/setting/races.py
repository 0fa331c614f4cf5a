"""What takes seconds to work out for a version of a machine, kept for the next request."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from threading import Lock
from typing import Any


class Held:
    """The last few things that took seconds, each made once and used by one thread at a time."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, tuple[Lock, list[Any]]] = OrderedDict()
        self._lock = Lock()

    def there(self, key: Hashable) -> bool:
        """Whether it is made already."""
        with self._lock:
            return key in self._kept and bool(self._kept[key][1])

    @contextmanager
    def of(self, key: Hashable, make: Callable[[], Any]) -> Iterator[Any]:
        """The thing of a key, for as long as the block lasts."""
        with self._lock:
            lock, made = self._kept.setdefault(key, (Lock(), []))
            self._kept.move_to_end(key)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        with lock:
            if not made:
                made.append(make())
            yield made[0]


RACES = Held(most=4)
CURVES = Held(most=2)
"""Some 40 MB a race, 100 MB a curve with its tables of passes (measured on demo machines)."""
