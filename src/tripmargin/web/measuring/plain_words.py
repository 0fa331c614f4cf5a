"""The library's words as a page says them: boxes' labels instead of keywords, no program's signs.

Errors and notes name keywords, such as ``header = "9"`` or ``Say rate=1000``, as a program's author
needs them; whoever reads a page knows the labels of its boxes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.catalogue import decimal_sign

LABELS: Mapping[str, str] = {
    "channel": later("Channel of the noise"),
    "at": later("Where it was recorded"),
    "roll_pickup": later("Channel that follows the roll"),
    "scale": later("Volts for one unit of the channel"),
    "roll_speed": later("Speed of the roll's surface"),
    "pulses_per_turn": later("Pulses of the pickup for one turn"),
    "trip": later("Trip line's channel"),
    "roll": later("Roll's channel"),
    "roll_is": later("What the roll's channel shows"),
    "trip_delay": later("From the trip to the trip line's change"),
    "channels": later("Channel of the sound"),
    "click_delay": later("From the click to the trip"),
    "distance_difference": later("The rolls are farther from the phone than the button"),
    "temperature": later("The air's temperature"),
    "which": later("Which stop?"),
    "kind": later("What kind of file it is"),
    "delimiter": later("What parts the columns"),
    "decimal": later("Decimal sign"),
    "thousands": later("Sign between thousands"),
    "encoding": later("Encoding of the text"),
    "header": later("Lines above the first numbers"),
    "time": later("Column of the time"),
    "rate": later("Samples a second"),
    "group": later("Channel group"),
}
"""The library's keywords, and the labels of the boxes that say the same: `say(LABELS[key])`."""
_LINE = re.compile(r"^\S+\.\w+:(\d+): ")
_FILE = re.compile(r"^\S+\.\w+: ")
_GIVEN = re.compile(r'\b(?P<key>[a-z_]+)="(?P<value>[^"\n]*)"')
_SEEN = re.compile(r'(?P<begin>^|: )(?P<key>[a-z][^=:"\n]*) = "(?P<value>[^"\n]*)"')
_NUMBER = re.compile(r"\b(?P<key>[a-z_]+) = (?=[-\d])")
_ASKED = re.compile(r"\b(?P<key>[a-z_]+)=(?P<next>[A-Z]{3,}\b|.|$)")
_QUOTED = re.compile(r"(?<!\w)'([^'\n]{1,80})'(?!\w)")
_NUMBERED = re.compile(r"[“„]channel (\d+)[”“]")
_TWICE = re.compile(r"channel (?:(\d+) )?channel (\d+)")
_ROUND = re.compile(r"\b(\d(?:\.\d+)?)e\+?(\d{1,2})\b")


def plainly(text: str, labels: Mapping[str, str] = LABELS) -> str:
    r"""A text of the library for a page: no keywords, no file's name before it, no signs of code.

    >>> plainly("Say rate=1000, or scale=, the volts.")
    'Say “Samples a second”, such as 1000, or “Volts for one unit of the channel”, the volts.'
    >>> plainly('a.csv:3: time = "0 s": the time 0 s comes again.')
    'Line 3: “Column of the time” “0 s”: the time 0 s comes again.'
    >>> plainly("a.csv: channel 2 'channel 2', the roll's speed, is no speed.")
    "Channel 2, the roll's speed, is no speed."
    >>> plainly('Say decimal="comma"; temperature = 99 degC. Up to 1e+06 is taken.')
    "Say “Decimal sign” “comma”; “The air's temperature” 99 °C. Up to 1 000 000 is taken."
    """
    bare = _FILE.sub("", _LINE.sub(lambda found: f"{say('Line {line}:', line=found[1])} ", text))
    begun, text = bare != text, bare
    text = _GIVEN.sub(lambda found: _seen(found, labels), text)
    text = _SEEN.sub(lambda found: f"{found['begin']}{_seen(found, labels)}", text)
    text = _NUMBER.sub(lambda found: f"{_label(found['key'], labels)} ", text)
    text = _ASKED.sub(lambda found: _asked(found, labels), text)
    text = _QUOTED.sub(lambda found: quoted(found[1]), text)
    text = _NUMBERED.sub(r"channel \1", text)
    text = _TWICE.sub(_once, text)
    text = _ROUND.sub(_written_out, text)
    text = text.replace("degC", "°C").replace(" uV", " µV")
    return text[:1].upper() + text[1:] if begun else text


def quoted(text: str) -> str:
    """Somebody's words, or a box's label, in the language's quotation marks.

    >>> quoted("Threshold")
    '“Threshold”'
    """
    return say("“{text}”", text=text)


def grouped(value: float) -> str:
    """A limit as people write it: no exponent, its thousands apart.

    >>> grouped(1e7), grouped(0.0001), grouped(99999.5), grouped(-40.0)
    ('10 000 000', '0.0001', '99 999.5', '-40')
    """
    text = f"{value:,.4f}".rstrip("0").rstrip(".")
    return text.replace(",", " ").replace(".", decimal_sign())


def _label(key: str, labels: Mapping[str, str]) -> str:
    label = labels.get(key)
    return key if label is None else quoted(say(label))


def _seen(found: re.Match[str], labels: Mapping[str, str]) -> str:
    """A box and what stood in it."""
    return f"{_label(found['key'], labels)} {quoted(found['value'])}"


def _asked(found: re.Match[str], labels: Mapping[str, str]) -> str:
    label = labels.get(found["key"])
    if label is None:
        return found[0]
    follows = found["next"]
    if follows.isdecimal():
        return say("{box}, such as {value}", box=quoted(say(label)), value=follows)
    return quoted(say(label)) + (follows if len(follows) < 2 else "")


def _once(found: re.Match[str]) -> str:
    """A channel that goes by its number alone, said once."""
    same = found[1] is None or found[1] == found[2]
    return f"channel {found[2]}" if same else found[0]


def _written_out(found: re.Match[str]) -> str:
    value = float(found[0])
    return grouped(value) if value < 1e16 else found[0]
