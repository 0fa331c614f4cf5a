"""Words that stand in a machine file: names of parts, of states, of checks, places, notes.

They are data, and belong to whoever wrote the file: an own machine's words are shown as they stand.
The demo machines' are in the catalogues too (`catalogues/<language>/demo.po`), each under the
context `CONTEXT`, and are shown in the reader's language. What is compared, hashed, kept or written
into a file is always the text as it stands.
"""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.ground.languages.phrases import Phrase
from tripmargin.ground.languages.written import CONTEXT, as_written


@dataclass(frozen=True, slots=True)
class OwnWords(Phrase):
    """A machine file's own text, kept for long: what a person does, where a part sits.

    >>> str(OwnWords("behind the cab"))
    'behind the cab'
    """

    def __str__(self) -> str:
        return as_written(self.message)


__all__ = ["CONTEXT", "OwnWords", "as_written"]
