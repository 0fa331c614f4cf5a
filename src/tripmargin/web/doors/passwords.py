"""Forms in which somebody chooses a password."""

from __future__ import annotations

from typing import Any

from django import forms

from tripmargin.ground.languages import later, say
from tripmargin.records.keeping.people import LONGEST_PASSWORD
from tripmargin.web.said_later import NEEDED, said_later


def password_field(label: str, *, new: bool = False, help_text: str = "") -> forms.CharField:
    """A field for a password; what was typed is never sent back in a page.

    Label and help are marked by `later`, and said with the form.
    """
    kind = "new-password" if new else "current-password"
    return forms.CharField(
        label=said_later(label), help_text=said_later(help_text), strip=False,
        max_length=LONGEST_PASSWORD,
        widget=forms.PasswordInput(attrs={"autocomplete": kind}),
        error_messages={"required": said_later(NEEDED)},
    )  # fmt: skip


class NewPassword(forms.Form):
    """A new password, twice: a slip of the thumb would shut its owner out."""

    password = password_field(
        later("New password"), new=True,
        help_text=later("At least 10 letters; three or four words do well."),
    )  # fmt: skip
    again = password_field(later("The same again"), new=True)

    def clean(self) -> dict[str, Any]:
        """Compare the two."""
        said: dict[str, Any] = super().clean() or {}
        if said.get("password") and said.get("again") and said["password"] != said["again"]:
            self.add_error("again", say("The two are not the same. Type both anew."))
        return said


class Join(NewPassword):
    """Who comes in by a link: a name and a password."""

    name = forms.CharField(
        label=said_later(later("Your name")), strip=True, max_length=200,
        help_text=said_later(
            later("As the others call you: it stands beside what you enter in the log.")
        ),
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "words"}),
        error_messages={
            "required": said_later(later("A name is needed, such as your first name."))
        },
    )  # fmt: skip
    field_order = ("name", "password", "again")


class OwnPassword(NewPassword):
    """One's own new password: the old one first."""

    old = password_field(later("Your password until now"))
    field_order = ("old", "password", "again")
