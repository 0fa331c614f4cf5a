"""What a circuit remembers from one moment to the next: that makes it more than its wires."""

from __future__ import annotations

from typing import NamedTuple


class Memory(NamedTuple):
    """Discrete states, in the order in which they are worked out.

    `relays` pulled, module `alive`, supply `in_range`, latch `tripped`, `reset` input active when
    last seen, `plunger_in`, `pull_over` (the timed pull output has ended), fuses `blown`.
    """

    relays: tuple[bool, ...]
    alive: bool
    in_range: bool
    tripped: bool
    reset: bool
    plunger_in: bool
    pull_over: bool
    blown: tuple[bool, ...]


def at_rest(relays: int, fuses: int) -> Memory:
    """A machine that has stood without power: everything let go, the latch tripped.

    >>> at_rest(1, 0).tripped
    True
    """
    return Memory((False,) * relays, False, False, True, False, False, False, (False,) * fuses)


class Before(NamedTuple):
    """What a step must know of the one before it."""

    rolls: str = "stopped"
    pawls: str = "in"
    alive: bool = False
    tripped: bool = True
    check_current: float = 0.0


def differing(states: list[Memory], relay_names: tuple[str, ...]) -> tuple[str, ...]:
    """Which of the discrete states are not the same in all of a cycle's moments.

    >>> a = at_rest(1, 0)
    >>> differing([a, a._replace(relays=(True,), plunger_in=True)], ("K1",))
    ('relay:K1', 'plunger')
    """
    found = [
        f"relay:{name}"
        for k, name in enumerate(relay_names)
        if len({state.relays[k] for state in states}) > 1
    ]
    for field, word in _WORDS.items():
        if len({getattr(state, field) for state in states}) > 1:
            found.append(word)
    return tuple(found)


_WORDS = {
    "tripped": "latch",
    "in_range": "in_range",
    "alive": "alive",
    "plunger_in": "plunger",
    "pull_over": "pull_timer",
}


def safe_side(states: list[Memory]) -> Memory:
    """A cycle's last moment with everything that alternates on its safe side.

    Relays dropped, supply out of range, latch tripped, plunger let go.
    """
    last = states[-1]
    if len(states) == 1:
        return last
    return last._replace(
        relays=tuple(all(column) for column in zip(*(s.relays for s in states), strict=True)),
        alive=all(state.alive for state in states),
        in_range=all(state.in_range for state in states),
        tripped=any(state.tripped for state in states),
        plunger_in=all(state.plunger_in for state in states),
        pull_over=all(state.pull_over for state in states),
    )
