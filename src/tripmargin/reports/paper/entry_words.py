"""An entry of a log in one line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.records.kinds import KINDS, values_as_words

EVERYWHERE = ("hours_s",)
"""Values that stand in every entry and say nothing of this one."""


def entry_words(kind: str, values: Mapping[str, Any], us: bool) -> str:
    """What was entered: each label with its value; a question is not followed by a colon."""
    told = {key: value for key, value in values.items() if key not in EVERYWHERE}
    return "; ".join(
        say("{question} {value}", question=label, value=value)
        if label.endswith("?")
        else say("{label}: {value}", label=label, value=value)
        for label, value in values_as_words(KINDS[kind], told, us=us).items()
    )
