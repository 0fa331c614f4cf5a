"""The phone card of a machine: one HTML file that needs no network and no server."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.machine import Machine
from tripmargin.pictures import protection_map_picture
from tripmargin.pictures.page import inline, section_html, table_html
from tripmargin.pictures.proof_sections import page_sections, page_table
from tripmargin.pictures.svg import clean
from tripmargin.protection import Proof, prove
from tripmargin.reports.card.card_data import card_data
from tripmargin.reports.one_file import MOST, numbers_html, one_file, script_of, style_of

__all__ = ["MOST", "card_page"]

SCRIPTS = (
    "make", "kept", "stopped", "forms", "faults", "faults_page", "pawl_words", "pawl_sequence",
    "pawls", "pawl_drawing", "pawl_page", "qr", "send_page", "card",
)  # fmt: skip
PHONE = 360.0  # px, of the pictures
_HERE = "tripmargin.reports.card"


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
    The page may load nothing and run nothing but its own one script (`one_file`). What a person
    types is never read as markup.
    """
    proof = prove(machine)
    data = card_data(machine, proof, made or datetime.now().astimezone(), us=us, **more)
    needs = say("This card needs its script: open it in a browser that runs scripts.")
    body = (
        f'<main id="page"><p>{clean(needs)}</p></main>\n'
        f'<template id="protection">{_protection(proof, us)}</template>\n'
        f"{numbers_html('card-data', data)}"
    )
    title = say("{machine}: card", machine=machine.name)
    return one_file(title, style_of(_HERE), script_of(_HERE, SCRIPTS), body)


def _protection(proof: Proof, us: bool) -> str:
    """The table, the map and the reasons: as the program's own page has them."""
    drawn = ""
    if proof.protection_map is not None:
        picture = protection_map_picture(proof.protection_map, width=PHONE, us=us)
        drawn = f"<figure>{inline(picture)}</figure>"
    sections = "".join(section_html(each) for each in page_sections(proof, us))
    return f"{table_html(page_table(proof, us))}{drawn}{sections}"
