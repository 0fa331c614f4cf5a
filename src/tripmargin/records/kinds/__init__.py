"""What can be entered in the log: kinds of entries, their fields, and how words become values."""

from tripmargin.records.kinds.fields import EntryError, Field, Wrong
from tripmargin.records.kinds.kinds import KINDS, WITHDRAWN, Kind, kind_named
from tripmargin.records.kinds.reading import read_values, values_as_words

__all__ = [
    "KINDS",
    "WITHDRAWN",
    "EntryError",
    "Field",
    "Kind",
    "Wrong",
    "kind_named",
    "read_values",
    "values_as_words",
]
