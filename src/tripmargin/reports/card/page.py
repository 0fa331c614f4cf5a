"""The phone card of a machine: one HTML file that needs no network and no server."""

from __future__ import annotations

import base64
import hashlib
import json
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Any

from tripmargin.machine import Machine
from tripmargin.pictures import protection_map_picture
from tripmargin.pictures.look import DAY, FONTS, SUN, Look
from tripmargin.pictures.page import inline, section_html, table_html
from tripmargin.pictures.proof_sections import page_sections, page_table
from tripmargin.pictures.svg import clean
from tripmargin.protection import Proof, prove
from tripmargin.reports.card.card_data import card_data

SCRIPTS = (
    "make", "kept", "forms", "faults", "faults_page", "pawl_words", "pawl_sequence", "pawls",
    "pawl_drawing", "pawl_page", "qr", "send_page", "card",
)  # fmt: skip
PHONE = 360.0  # px, of the pictures
MOST = 1_000_000  # bytes of a card


def card_page(
    machine: Machine,
    *,
    made: datetime | None = None,
    us: bool = False,
    **more: Any,
) -> str:
    """The card as text.

    Parameters
    ----------
    machine : Machine
    made : datetime, optional
        With its zone; now by default.
    us : bool
        Whether the card asks and shows in US units.
    more
        History, version, problem and progress, as `card_data` takes them.

    Raises
    ------
    MachineFileError, SettingError
        If the machine's file, or a past setting, cannot be.

    Notes
    -----
    The page may load nothing and run nothing but its own one script, by its hash (Content Security
    Policy level 3, W3C). What a person types is never read as markup.
    """
    proof = prove(machine)
    data = card_data(machine, proof, made or datetime.now().astimezone(), us=us, **more)
    style, script = _style(), _script()
    policy = (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}';"
        " base-uri 'none'; form-action 'none'"
    )
    numbers = json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{clean(machine.name)}: card</title>\n<style>{style}</style>\n"
        f"<script>{script}</script>\n</head>\n<body>\n"
        '<main id="page"><p>This card needs its script: open it in a browser that runs scripts.</p>'
        f'</main>\n<template id="protection">{_protection(proof, us)}</template>\n'
        f'<script type="application/json" id="card-data">{numbers}</script>\n'
        "</body>\n</html>\n"
    )


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"


@cache
def _script() -> str:
    folder = files("tripmargin.reports.card").joinpath("script")
    parts = (folder.joinpath(f"{name}.js").read_text("utf-8") for name in SCRIPTS)
    return '"use strict";\n' + "\n".join(parts)


@cache
def _style() -> str:
    text = files("tripmargin.reports.card").joinpath("look.css").read_text("utf-8")
    return f":root {{ {_colours(DAY)} --fonts: {FONTS}; }}\n.sun {{ {_colours(SUN)} }}\n{text}"


def _colours(look: Look) -> str:
    names = ("paper", "ink", "soft", "accent", "wash")
    return " ".join(f"--{name}: {getattr(look, name)};" for name in names)


def _protection(proof: Proof, us: bool) -> str:
    """The table, the map and the reasons: as the program's own page has them."""
    drawn = ""
    if proof.protection_map is not None:
        picture = protection_map_picture(proof.protection_map, width=PHONE, us=us)
        drawn = f"<figure>{inline(picture)}</figure>"
    sections = "".join(section_html(each) for each in page_sections(proof, us))
    return f"{table_html(page_table(proof, us))}{drawn}{sections}"
