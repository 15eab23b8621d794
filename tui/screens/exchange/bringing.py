"""The kinds of files that can be brought in by keys, and the screen that each opens."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, Literal, cast
from uuid import UUID

from textual.screen import Screen

_HERE = "tui.screens.exchange"


@dataclass(frozen=True, slots=True)
class BringKind:
    """A kind of file.

    `name` is the one of `store.exchange.looking.recognised`, `word` what a person chooses by,
    `about` what such a file holds. `opens` is the screen as `module:Class`, imported when it is
    wanted and made with the file and the pond of the whole file. `pond` tells whether one pond
    is of use: it `may` have one where the file names none, or has `no` use for it. What is
    `pasted` needs no file.
    """

    name: str
    word: str
    about: str
    opens: str
    pond: Literal["may", "no"] = "no"
    pasted: bool = False

    def screen(self, path: Path | None, pond: UUID | None) -> Screen[Any]:
        """The screen that shows what the file would bring.

        Parameters
        ----------
        path
            The file; None where a text is pasted.
        pond
            The pond of the whole file, where a person named one.
        """
        module, _, name = self.opens.partition(":")
        made = getattr(import_module(module), name)(path, pond)
        return cast("Screen[Any]", made)


KINDS = (
    BringKind(
        "water", "water tests, any sheet",
        "Any owner's sheet: a row a test or a row a reading, in whatever units and words.",
        f"{_HERE}.water_in:WaterInScreen", "may",
    ),
    BringKind(
        "logger", "a logger's file",
        "The series of one logger in one pond, as the logger or a weather station wrote it.",
        f"{_HERE}.logger_in:LoggerInScreen", "may",
    ),
    BringKind(
        "air", "the air's temperature, a file of the weather",
        "A row a day, or by the hour, of one station: estimates of ponds nearby lean on it.",
        f"{_HERE}.plan_kinds:AirIn",
    ),
    BringKind(
        "clients", "clients and ponds, a list",
        "Any list of clients, as an accounts program or a spreadsheet has it: doubles are asked "
        "about.",
        f"{_HERE}.clients_file:ClientsFileScreen",
    ),
    BringKind(
        "ponds", "ponds, in our own shape",
        "A row a pond with client and site, in the columns of our own files.",
        f"{_HERE}.plan_kinds:PondsIn",
    ),
    BringKind(
        "lab", "results of a laboratory",
        "A row a result: case, sample, test, result. It answers samples that are awaited, and "
        "amends reports.",
        f"{_HERE}.plan_kinds:LabIn", "may",
    ),
    BringKind(
        "fish", "parasite sheets, what was found on fish",
        "A row a fish, or a row a finding: from where the scrape is, what was seen, how much.",
        f"{_HERE}.plan_kinds:FishIn", "may",
    ),
    BringKind(
        "deaths", "a mortality book",
        "Dead fish by the day, as keepers and sites write them down, with what is thought of the "
        "cause.",
        f"{_HERE}.plan_kinds:DeathsIn", "may",
    ),
    BringKind(
        "medicines", "a medicine book",
        "A row a line: product, batch, what went out, to whom. What came in is told and not kept.",
        f"{_HERE}.plan_kinds:MedicinesIn", "may",
    ),
    BringKind(
        "messages", "what an owner told: messages, a diary",
        "Running text. The words are kept whole; values are taken only where you tick them. "
        "Without a file it is pasted.",
        f"{_HERE}.paste_in:PasteScreen", "may", pasted=True,
    ),
    BringKind(
        "visits", "visits, planned and done",
        "A row a visit: pond, day, state (planned, done, cancelled), who.",
        f"{_HERE}.plan_kinds:VisitsIn",
    ),
    BringKind(
        "events", "what happened at ponds",
        "A row an event: pond, kind, day, amount.",
        f"{_HERE}.plan_kinds:EventsIn",
    ),
    BringKind(
        "staff", "people of the practice",
        "A row a person: name, role, initials.",
        f"{_HERE}.plan_kinds:StaffIn",
    ),
    BringKind(
        "kits", "test kits",
        "A row a kit: name, what its ammonia, nitrite and nitrate are given as, batch, expiry.",
        f"{_HERE}.plan_kinds:KitsIn",
    ),
    BringKind(
        "drives", "drive times",
        "A row a way: from, to, minutes, km.",
        f"{_HERE}.plan_kinds:DrivesIn",
    ),
    BringKind(
        "bag", "a bag that was packed here",
        "The file of a round without signal, with what was entered there. A copy of this book is "
        "taken as well.",
        "tui.screens.bag.unpack:UnpackScreen",
    ),
)  # fmt: skip
"""From the likeliest to the rarest."""

LOOKS_LIKE = {
    "water": "water tests", "logger": "a logger's file", "clients": "a list of clients",
    "air": "a file of the weather",
    "ponds": "ponds in our own shape", "staff": "people of the practice", "kits": "test kits",
    "visits": "visits", "events": "events", "drives": "drive times",
    "fish": "a parasite sheet", "deaths": "a mortality book",
    "lab": "results of a laboratory", "medicines": "a medicine book", "messages": "messages",
    "bag": "a bag or a copy of a book",
}  # fmt: skip
"""What a file of each kind is called in a sentence."""


def kind_of(name: str) -> BringKind | None:
    """A kind by its name; None where it cannot be brought in by keys."""
    return next((one for one in KINDS if one.name == name), None)
