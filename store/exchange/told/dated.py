"""The pieces of a text with the day and the hour at which each was written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from store.exchange.columns import Answer, Order, Question, YearRun, order_of
from store.exchange.told.days import day_of, said_in, typed_clock
from store.exchange.told.found import Message, Setting
from store.exchange.told.pieces import Piece


def dated(
    pieces: Sequence[Piece], setting: Setting, sent: date | None, order: Order, year: int | None
) -> tuple[tuple[Message, ...], Order, tuple[Question, ...]]:
    """The pieces with their days, the order of days in figures, and what is asked.

    Parameters
    ----------
    pieces
        As the text was cut.
    setting
        Where it is read.
    sent, order, year
        As for `store.exchange.told.look.look`.
    """
    questions: list[Question] = []
    cells = [one.day for one in pieces if one.day is not None]
    order_found = order_of(cells, order)
    if order_found.question is not None:
        choices = tuple(one for one in order_found.question.answers if one.value != "each")
        questions.append(replace(order_found.question, answers=choices))
    order = order_found.order
    bare = [one for one in cells if not one.year]
    if len(bare) > 1 and year is None and not any(one.year for one in cells):
        this = setting.today.year
        years = tuple(Answer(str(one), str(one)) for one in (this, this - 1, this - 2))
        questions.append(
            Question("year", f"Of which year is “{bare[0].cell:.40}”, the first day?", years)
        )
    run = YearRun(year)
    messages = []
    for piece in pieces:
        on = None
        if piece.day is not None:
            cell_year = run.of(piece.day, order)
            if piece.day.year or cell_year is None:
                latest = sent or setting.today
                on = day_of(piece.day, latest, order) if piece.day.year or len(bare) == 1 else None
            else:
                on = day_of(replace(piece.day, year=cell_year), setting.today, order)
        elif not piece.weekday:
            on = sent
        own = " ".join(piece.sender.casefold().split()) in setting.own_names
        clock = typed_clock(piece.clock) if piece.clock else None
        messages.append(Message(piece.start, piece.end, piece.sender, piece.stamp, on, clock, own))
    headings = [one.weekday.casefold()[:3] for one in pieces if one.weekday]
    without = any(one.day is None for one in pieces)
    if pieces and without and sent is None:
        what = "the text bears no day" if not cells else "a part of the text bears no day"
        questions.append(
            Question("sent", f"When was it written? {what.capitalize()}.", (), "", False)
        )
    if sent is not None and len(headings) == len(set(headings)):
        for place, piece in enumerate(pieces):
            if piece.weekday:
                said = said_in(piece.weekday.title(), sent, setting.today, order)
                messages[place] = replace(messages[place], written_on=said.day)
    return tuple(messages), order, tuple(questions)
