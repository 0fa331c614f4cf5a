"""Forms in which somebody chooses a password."""

from __future__ import annotations

from typing import Any

from django import forms

from tripmargin.records.keeping.people import LONGEST_PASSWORD


def password_field(label: str, *, new: bool = False, help_text: str = "") -> forms.CharField:
    """A field for a password; what was typed is never sent back in a page."""
    kind = "new-password" if new else "current-password"
    return forms.CharField(
        label=label, help_text=help_text, strip=False, max_length=LONGEST_PASSWORD,
        widget=forms.PasswordInput(attrs={"autocomplete": kind}),
        error_messages={"required": "Needed."},
    )  # fmt: skip


class NewPassword(forms.Form):
    """A new password, twice: a slip of the thumb would shut its owner out."""

    password = password_field(
        "New password", new=True, help_text="At least 10 letters; three or four words do well."
    )
    again = password_field("The same again", new=True)

    def clean(self) -> dict[str, Any]:
        """Compare the two."""
        said: dict[str, Any] = super().clean() or {}
        if said.get("password") and said.get("again") and said["password"] != said["again"]:
            self.add_error("again", "The two are not the same. Type both anew.")
        return said


class Join(NewPassword):
    """Who comes in by a link: a name and a password."""

    name = forms.CharField(
        label="Your name", strip=True, max_length=200,
        help_text="As the others call you: it stands beside what you enter in the log.",
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "words"}),
        error_messages={"required": "A name is needed, such as your first name."},
    )  # fmt: skip
    field_order = ("name", "password", "again")


class OwnPassword(NewPassword):
    """One's own new password: the old one first."""

    old = password_field("Your password until now")
    field_order = ("old", "password", "again")
