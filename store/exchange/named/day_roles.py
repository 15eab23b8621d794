"""The order of day and month where a sheet has days in several columns, or above its headings."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from contextlib import suppress
from dataclasses import replace

from store.errors import BadInput
from store.exchange.columns.dates import day_cell, order_of
from store.exchange.columns.lines import order_said
from store.exchange.columns.named import NamedSheet


def with_days_of(
    sheet: NamedSheet, roles: Collection[str], more: Iterable[str] = ()
) -> NamedSheet:  # fmt: skip
    """A sheet whose order of day and month rests on all its days.

    Parameters
    ----------
    sheet
        As it was looked at; the days of its column `date` alone were counted.
    roles
        Columns that hold days as well.
    more
        Days that stand elsewhere, such as above the headings.
    """
    held = [
        row.raw.cell(one.place).strip()
        for row in sheet.rows
        for one in row.columns
        if one.meaning in roles or one.meaning == "date"
    ]
    days = []
    for cell in (*more, *held):
        with suppress(BadInput):
            if cell:
                days.append(day_cell(cell))
    stated = order_said(tuple(cell for row in sheet.head for cell in row.cells))
    said = sheet.said.get("order")
    found = order_of(days, said or stated)
    told = [found.told] if found.told else []
    if stated and not said:
        told.append(f"A heading says that days are written as {stated}.")
    others = tuple(one for one in sheet.questions if one.field != "order")
    asked = () if found.question is None else (found.question,)
    return replace(sheet, order=found.order, told=tuple(told), questions=(*asked, *others))
