"""A machine file as a browser sends it: its form, and what is wrong with it beside its field."""

from __future__ import annotations

from django import forms

from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine.files import LARGEST
from tripmargin.records.keeping.machines import read_machine_file
from tripmargin.web.said_later import NEEDED, said_later

MOST_SHOWN = 12  # problems; a person mends the first few and sends the file again


class MachineFileForm(forms.Form):
    """A machine file, chosen or pasted, and why."""

    file = forms.FileField(
        label=said_later(later("Machine file")),
        required=False,
        help_text=said_later(later("A text file that ends in .toml, at most 1 MB.")),
        widget=forms.ClearableFileInput(attrs={"accept": ".toml,text/plain"}),
    )
    text = forms.CharField(
        label=said_later(later("Or its text")),
        required=False,
        strip=False,
        max_length=LARGEST,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
    )
    note = forms.CharField(label=said_later(later("What is new?")), required=False, max_length=500)

    file_name = ""
    read: tuple[str, LoadedMachine] | None = None

    def clean(self) -> dict[str, object]:
        """Read the machine; every problem with its line stands beside the field."""
        data: dict[str, object] = super().clean() or {}
        upload, text = data.get("file"), str(data.get("text") or "")
        if upload is None and not text.strip():
            if not self.errors:
                self.add_error("file", say("Choose a file, or paste its text below."))
            return data
        field, content = "text", text.encode()
        self.file_name = "machine.toml"
        if upload is not None:
            field, self.file_name = "file", str(upload.name)  # type: ignore[attr-defined]
            if upload.size > LARGEST:  # type: ignore[attr-defined]
                self.add_error(field, say("Too large: a machine file has at most 1 MB."))
                return data
            content = upload.read()  # type: ignore[attr-defined]
        try:
            self.read = read_machine_file(content, self.file_name)
        except MachineFileError as error:
            for problem in error.problems[:MOST_SHOWN]:
                self.add_error(field, str(problem))
            left = len(error.problems) - MOST_SHOWN
            if left > 0:
                self.add_error(field, say("And {left} more.", left=left))
        return data


class SheetForm(forms.Form):
    """A type sheet."""

    file = forms.FileField(
        label=said_later(later("Type sheet")),
        error_messages={"required": said_later(NEEDED)},
        help_text=said_later(
            later("What machines of one type share; their files name it by extends.")
        ),
        widget=forms.ClearableFileInput(attrs={"accept": ".toml,text/plain"}),
    )

    def clean_file(self) -> object:
        """Refuse what is too large before it is read."""
        upload = self.cleaned_data["file"]
        if upload.size > LARGEST:
            raise forms.ValidationError(say("Too large: a type sheet has at most 1 MB."))
        return upload
