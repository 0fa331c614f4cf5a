"""What is said of stamps that do not rise, and of gaps between them."""

from __future__ import annotations

from tripmargin.ground.languages import say, say_many


def repeated_words(lost: int, kept: bool, line: int, time: float) -> str:
    """A time that comes again; `kept` where the rows count all the same. `time` in s."""
    if kept:
        return say_many(
            "1 row counted by its number all the same: a time comes again or goes back, first in"
            " line {line} at {time:.9g} s.",
            "{count} rows counted by their rows all the same: a time comes again or goes back,"
            " first in line {line} at {time:.9g} s.",
            lost,
            line=line,
            time=time,
        )
    return say_many(
        "1 row left out: a time comes again or goes back, first in line {line} at {time:.9g} s.",
        "{count} rows left out: a time comes again or goes back, first in line {line} at"
        " {time:.9g} s.",
        lost,
        line=line,
        time=time,
    )


def backward_words(lost: int, kept: bool, line: int, high: float, time: float) -> str:
    """Time that goes back, from `high` to `time`, s."""
    if kept:
        return say_many(
            "1 row counted by its number all the same: time goes back, first in line {line}, from"
            " {high:.9g} s to {time:.9g} s.",
            "{count} rows counted by their rows all the same: time goes back, first in line"
            " {line}, from {high:.9g} s to {time:.9g} s.",
            lost,
            line=line,
            high=high,
            time=time,
        )
    return say_many(
        "1 row left out: time goes back, first in line {line}, from {high:.9g} s to {time:.9g} s.",
        "{count} rows left out: time goes back, first in line {line}, from {high:.9g} s to"
        " {time:.9g} s.",
        lost,
        line=line,
        high=high,
        time=time,
    )


def gap_words(count: int, missing: float, share: str, first: int, length: float, at: float) -> str:
    """Gaps: how many, what is missing in all (s, and its share), the longest (s) and where (s)."""
    if count == 1:
        return say(
            "A gap of {length:.4g} s from {at:.6g} s: samples are missing.", length=length, at=at
        )
    return say(
        "{count} gaps, {missing:.4g} s missing in all ({share}); the longest of the first {first}"
        " is {length:.4g} s, from {at:.6g} s.",
        count=count,
        missing=missing,
        share=share,
        first=first,
        length=length,
        at=at,
    )
