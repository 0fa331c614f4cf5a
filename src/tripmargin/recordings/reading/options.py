"""What a user may say about a file; each stands against one guess."""

from __future__ import annotations

import codecs
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from math import isfinite
from pathlib import Path

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.refusing import refusal

DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t", "space": " ", "bar": "|"}
DECIMALS = {"point": ".", "comma": ","}
THOUSANDS = {"comma": ",", "point": ".", "space": " ", "apostrophe": "'", "none": ""}
_TEXT_ONLY = ("delimiter", "decimal", "thousands", "encoding", "header")
_NO_NAMED_TIME = ("WAV", "FLAC")


@dataclass(frozen=True)
class Options:
    """The keywords of `read`; None where the file shall speak for itself."""

    kind: str | None = None
    delimiter: str | None = None
    decimal: str | None = None
    thousands: str | None = None
    encoding: str | None = None
    header: int | None = None
    time: str | int | None = None
    rate: float | None = None
    units: Mapping[str, str] = field(default_factory=dict)
    group: int | None = None

    def checked(self, path: Path) -> Options:
        """The same with words made signs: "comma" is ",".

        Raises
        ------
        RecordingError
            Where a value is not one of those allowed.
        """
        from dataclasses import replace

        _among(path, "delimiter", self.delimiter, DELIMITERS)
        _among(path, "decimal", self.decimal, DECIMALS)
        _among(path, "thousands", self.thousands, THOUSANDS)
        if self.header is not None and self.header < 0:
            raise refusal(
                path,
                say("a header cannot have that many lines"),
                where="header",
                value=str(self.header),
                allowed=say("0 or more: the lines above the first numbers"),
            )
        if self.rate is not None and not (isfinite(self.rate) and self.rate > 0):
            raise refusal(
                path,
                say("no rate of samples"),
                where="rate",
                value=f"{self.rate:g}",
                allowed=say("samples a second, above 0"),
            )
        if self.encoding is not None:
            _encoding(path, self.encoding)
        return replace(
            self,
            delimiter=DELIMITERS.get(self.delimiter or "", self.delimiter),
            decimal=DECIMALS.get(self.decimal or "", self.decimal),
            thousands=THOUSANDS.get(self.thousands or "", self.thousands),
        )

    def only_for(self, path: Path, kind: str, *usable: str) -> None:
        """Refuse a keyword that does nothing for this kind of file, instead of passing it over.

        Raises
        ------
        RecordingError
            Where one was given that is neither `usable` nor about every kind.
        """
        for each in fields(self):
            given = getattr(self, each.name)
            if each.name == "kind" or each.name in usable or given is None or given == {}:
                continue
            named = ", ".join(usable) or say("none")
            raise refusal(
                path,
                say("this says nothing about a {kind} file", kind=kind),
                where=each.name,
                value=str(given),
                allowed=say("for {kind}: {named}", kind=kind, named=named),
            )


def word_for(sign: str, words: Mapping[str, str]) -> str:
    """The word for a sign, as `read` takes it back.

    >>> word_for(";", DELIMITERS)
    'semicolon'
    """
    return next((word for word, meant in words.items() if meant == sign), sign)


def _among(path: Path, keyword: str, value: str | None, words: Mapping[str, str]) -> None:
    if value is not None and value not in words and value not in words.values():
        named = ", ".join(f"{word} ({sign!r})" if sign else word for word, sign in words.items())
        raise refusal(path, say("not known"), where=keyword, value=value, allowed=named)


def _encoding(path: Path, name: str) -> None:
    try:
        known = codecs.lookup(name)
    except LookupError:
        known = None
    numbers = "0123456789+-.,;eE\n"
    plain = known is not None and (
        "utf-16" in known.name
        or (getattr(known, "_is_text_encoding", True) and _as_ascii(known.name, numbers))
    )
    if not plain:
        raise refusal(
            path,
            say("no encoding in which numbers can be read here"),
            where="encoding",
            value=name,
            allowed=say("utf-8, utf-16, latin-1, cp1252 and the like"),
        )


def _as_ascii(encoding: str, text: str) -> bool:
    try:
        return text.encode(encoding) in (text.encode(), codecs.BOM_UTF8 + text.encode())
    except UnicodeError:
        return False
