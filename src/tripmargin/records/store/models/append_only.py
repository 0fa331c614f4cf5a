"""Rows that are only ever added: the program refuses first, the database as well (0002)."""

from __future__ import annotations

from typing import Any

from django.db import models


class AppendOnlyError(TypeError):
    """Somebody tried to change or delete a row that is only ever added: a mistake in the code."""


class AppendOnly(models.Model):
    """A row that is written once."""

    class Meta:
        """No table of its own."""

        abstract = True

    def save(self, *args: Any, **more: Any) -> None:
        """Add the row; refuse to write it a second time."""
        if not self._state.adding:
            raise AppendOnlyError(f"{type(self).__name__} {self.pk} is not changed, only added to")
        super().save(*args, **more)

    def delete(self, *args: Any, **more: Any) -> tuple[int, dict[str, int]]:
        """Refuse."""
        raise AppendOnlyError(f"{type(self).__name__} {self.pk} is not deleted; correct it instead")
