"""Labels and help of forms: made with the class, said with the page."""

from __future__ import annotations

from typing import Any

from django.utils.functional import lazy

from tripmargin.ground.languages import later, say

said_later: Any = lazy(say, str)
"""A message marked by `later`, said each time that it is read."""

NEEDED = later("Needed.")
"""What is wrong with a box that may not stay empty."""
