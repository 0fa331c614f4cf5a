"""Which of two verdicts is the better one."""

from __future__ import annotations

from tripmargin.protection.verdicts import CutVerdict

_ORDER = ("not known", "not protected", "doubtful", "protected")


def better_verdict(old: CutVerdict, new: CutVerdict) -> bool:
    """Whether the second verdict is a better one."""
    return _ORDER.index(new.verdict) > _ORDER.index(old.verdict)
