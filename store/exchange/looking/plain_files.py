"""Files in the practice's own plain shapes: ponds, people, kits, visits, events, drive times."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from store.book.act import Act
from store.book.book import Book
from store.book.events import EVENT_KINDS
from store.errors import BadInput
from store.exchange.columns import Question, day_cell, order_of
from store.exchange.looking.values import Asked, Looked, Names, PlanLine, Way, facts, nothing
from store.exchange.plain.planned import Columns, Done, Plan
from store.exchange.plain.table import open_sheet
from store.text import day_said

PlainOrder = Literal["ymd", "dmy", "mdy"]


def _ponds(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.ponds_csv import read_ponds, save_ponds

    plan = read_ponds(path, book, now)
    lines = []
    for one in plan.items:
        volume = "" if one.volume is None else f"{one.volume.litres:,.0f} L"
        more = {**one.pond, "telephone": one.client["phone"], "town": one.site.get("town", "")}
        lines.append(
            PlanLine(
                one.line,
                "",
                f"{one.client['name']}, {one.site['name']}",
                ", ".join(filter(None, (str(one.pond["name"]), volume))),
                facts(more, leave=("name",)),
            )
        )
    return _looked(plan, lines, lambda book, act: save_ponds(book, act, plan))


def _staff(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.staff_csv import read_staff, save_staff

    plan = read_staff(path, book)
    lines = [
        PlanLine(
            one.line, "", str(one.values["name"]), str(one.values["role"]),
            facts(one.values, leave=("name", "role")),
        )
        for one in plan.items
    ]  # fmt: skip
    return _looked(plan, lines, lambda book, act: save_staff(book, act, plan))


def _kits(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.staff_csv import read_kits, save_kits

    plan = read_kits(path, book)
    forms = ("ammonia", "nitrite", "nitrate")
    lines = [
        PlanLine(
            one.line, "", str(one.values["name"]),
            ", ".join(f"{form} as {_form(one.values[f'{form}_form'])}" for form in forms),
            facts(one.values, leave=("name", *(f"{form}_form" for form in forms))),
        )
        for one in plan.items
    ]  # fmt: skip
    return _looked(plan, lines, lambda book, act: save_kits(book, act, plan))


def _visits(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.visits_csv import read_visits, save_visits

    days = {"on_day": ("day", "date", "on")}
    order, told, question = _order(path, days, asked.said.get("order"))
    if question is not None:
        return Looked((question,), None, (), nothing)
    plan = read_visits(path, book, now, order=order)
    names = Names(book)
    lines = [
        PlanLine(
            one.line, day_said(one.values["on_day"]),
            names.pond(one.values["pond_id"]) or f"{names.site(one.values['site_id'])}, all ponds",
            " ".join(filter(None, (str(one.values["state"]), str(one.values["kind"] or "")))),
            facts({
                "time": one.values["at_time"], "by": names.person(one.values["staff_id"]),
                "note": one.values["note"],
            }),
        )
        for one in plan.items
    ]  # fmt: skip
    return _looked(plan, lines, lambda book, act: save_visits(book, act, plan), told)


def _events(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.events_csv import read_events, save_events

    days = {"on_day": ("day", "date", "on"), "until_day": ("until",)}
    order, told, question = _order(path, days, asked.said.get("order"))
    if question is not None:
        return Looked((question,), None, (), nothing)
    plan = read_events(path, book, now, order=order)
    names = Names(book)
    lines = []
    for one in plan.items:
        kind, values = EVENT_KINDS[one.values["kind"]], one.values
        amount = "" if values["amount"] is None else f"{values['amount']:g} {kind.unit}"
        at = values["at"]
        lines.append(
            PlanLine(
                one.line,
                day_said(values["on_day"]),
                names.pond(values["pond_id"]),
                ", ".join(filter(None, (kind.label, amount))),
                facts({
                    "time": None if at is None else f"{at.astimezone(book.zone):%H:%M}",
                    "until": values["until_day"], "hazard": values["hazard"],
                    "note": values["note"],
                }),
            )
        )  # fmt: skip
    return _looked(plan, lines, lambda book, act: save_events(book, act, plan), told)


def _drives(path: Path, book: Book, now: datetime, asked: Asked) -> Looked:
    from store.exchange.plain.drive_times_csv import read_drive_times, save_drive_times

    plan = read_drive_times(path, book)
    names = Names(book)
    lines = []
    for one in plan.items:
        km = "" if one.values["km"] is None else f", {one.values['km']:g} km"
        lines.append(
            PlanLine(
                one.line, "",
                f"{names.end(one.values, 'from')} → {names.end(one.values, 'to')}",
                f"{one.values['minutes']:g} min{km}",
                facts({"source": one.values["source"]}),
            )
        )  # fmt: skip
    return _looked(plan, lines, lambda book, act: save_drive_times(book, act, plan))


PLAIN = {
    "ponds": Way("pond", "ponds", _ponds),
    "staff": Way("person", "people", _staff),
    "kits": Way("kit", "kits", _kits),
    "visits": Way("visit", "visits", _visits),
    "events": Way("event", "events", _events),
    "drives": Way("drive time", "drive times", _drives),
}
"""Each kind by the name that the command line gives it too."""


def _looked(
    plan: Plan[Any],
    lines: Iterable[PlanLine],
    save: Callable[[Book, Act], Done],
    told: str = "",
) -> Looked:
    more = (told,) if told else ()
    return Looked((), replace(plan, told=(*more, *plan.told)), tuple(lines), save)


def _order(
    path: Path, names: Mapping[str, tuple[str, ...]], said: str
) -> tuple[PlainOrder, str, Question | None]:
    """In which order a plain file writes its days, how that is known, what has to be asked."""
    sheet = open_sheet(path)
    columns = Columns(sheet.header, dict(names))
    days = []
    for row in sheet.rows():
        for name in names:
            with suppress(BadInput):
                if not row.surplus and (text := columns.text(row, name)):
                    days.append(day_cell(text))
    found = order_of(days, said)
    match found.order:
        case "dmy" | "mdy" | "ymd":
            return found.order, found.told, found.question
        case _:  # nothing hangs on it; a day that would, where a person said so, is refused
            return ("ymd" if said or not days else "dmy"), found.told, found.question


def _form(value: object) -> str:
    said = str(value)
    return said if said == "unknown" else said.upper()
