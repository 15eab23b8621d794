"""A file of the weather looked at: the station is asked for, and once where it stands."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.columns import Answer, Question
from store.exchange.looking.values import Asked, Looked, PlanLine, Way, facts, nothing
from store.exchange.plain.moments import Order
from store.exchange.plain.planned import Done
from store.text import day_said, plain

_ANSWERS = {
    "dmy": "day before month", "mdy": "month before day", "F": "°F", "C": "°C",
    "local": "it followed local time",
}  # fmt: skip
_NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d+)?) *°? *([NSEW]?)", re.IGNORECASE)
NOT_KNOWN = "not known"


def _air(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.logger.air_file import StationSaid, read_air, save_air
    from store.exchange.logger.asks import Unclear
    from store.water.air import stations

    with book.reading() as connection:
        known = [one.name for one in stations(connection)]
    name = asked.said.get("station")
    if not name:
        here = f" In the book: {', '.join(known[:5])}." if known else ""
        text = f"What is the station called at which the air was measured?{here}"
        return Looked((Question("station", text),), None, (), nothing)
    place = asked.said.get("place")
    if not place and plain(name).casefold() not in [one.casefold() for one in known]:
        text = (
            f"Where does {plain(name):.40} stand? Latitude and longitude, and metres above the sea "
            f"if known, such as 52.12 N, 1.30 W, 90; or: {NOT_KNOWN}."
        )
        return Looked((Question("place", text),), None, (), nothing)
    said = StationSaid(name, *_place(place))
    try:
        found = read_air(
            path, book, now, said, unit=asked.said.get("unit"), clock=asked.said.get("clock"),
            order=_order(asked.said.get("order")),
        )  # fmt: skip
    except Unclear as unclear:
        if unclear.field != "dates":
            raise
        return Looked((_question("order", unclear.message, unclear.choices),), None, (), nothing)
    if found.asks:
        asks = tuple(_question(one.field, one.sentence, one.choices) for one in found.asks)
        return Looked(asks, None, (), nothing, told=found.plan.told)
    lines = tuple(
        PlanLine(
            one.line, day_said(one.day), plain(name), f"{one.mean_c:.1f} °C",
            facts({
                "lowest": None if one.low_c is None else f"{one.low_c:.1f} °C",
                "highest": None if one.high_c is None else f"{one.high_c:.1f} °C",
                "values": one.n,
            }),
        )
        for one in found.plan.items
    )  # fmt: skip

    def save(book: Book, act: Act) -> Done:
        return save_air(book, act, found)

    return Looked((), found.plan, lines, save)


def _question(field: str, sentence: str, choices: tuple[str, ...]) -> Question:
    # What is to be typed on the command line is a choice here.
    text = re.sub(r"; nothing was (?:saved|brought in)\..*", ".", sentence)
    return Question(field, text, tuple(Answer(one, _ANSWERS.get(one, one)) for one in choices))


def _order(said: str) -> Order | None:
    match said:
        case "dmy" | "mdy" | "ymd":
            return said
        case _:
            return None


def _place(said: str) -> tuple[float | None, float | None, float | None]:
    if not said or said.strip().casefold() == NOT_KNOWN:
        return None, None, None
    found = _NUMBER.findall(said)
    rest = _NUMBER.sub("", said).strip(" ,;m")
    if len(found) not in (2, 3) or rest:
        raise BadInput(
            f"“{plain(said):.40}” is no place; write latitude and longitude in degrees, such as "
            f"52.12 N, 1.30 W, or: {NOT_KNOWN}. Nothing was brought in.",
            field="place",
        )
    numbers = [
        -abs(float(number.replace(",", "."))) if side.upper() in ("S", "W")
        else float(number.replace(",", "."))
        for number, side in found
    ]  # fmt: skip
    return numbers[0], numbers[1], numbers[2] if len(numbers) > 2 else None


AIR = {"air": Way("day of the air", "days of the air", _air)}
"""The kind by the name that the command line gives it too."""
