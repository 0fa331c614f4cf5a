"""What the operating system says of a file, in the reader's language.

The system speaks the language that it was set to when the program began, mostly English.
"""

from __future__ import annotations

from tripmargin.ground.languages import later, say

KNOWN = (
    later("No such file or directory"),
    later("Permission denied"),
    later("Is a directory"),
    later("Not a directory"),
    later("File exists"),
    later("No space left on device"),
    later("Read-only file system"),
    later("File name too long"),
    later("Input/output error"),
    later("Operation not permitted"),
    later("Too many open files"),
    later("Disk quota exceeded"),
    later("Address already in use"),
)
"""What is said most, by `os.strerror`; anything else is shown as the system says it."""


def os_words(error: OSError) -> str:
    """Why the operating system refused.

    >>> os_words(PermissionError(13, "Permission denied"))
    'Permission denied'
    """
    return say(error.strerror) if error.strerror else str(error)
