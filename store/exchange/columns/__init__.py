"""What the columns of a stranger's sheet mean: guessed, told, and corrected by a person."""

from store.exchange.columns.dates import (
    DayCell,
    Order,
    YearRun,
    clock_said,
    day_cell,
    order_of,
    resolved,
)
from store.exchange.columns.guess import Guess, guess_of
from store.exchange.columns.layout import Block, Layout, LeftOut, Section, fingerprint, lay_out
from store.exchange.columns.question import Answer, AskFirst, Question
from store.exchange.columns.shape import Shape, column_said, shape_from

__all__ = [
    "Answer",
    "AskFirst",
    "Block",
    "DayCell",
    "Guess",
    "Layout",
    "LeftOut",
    "Order",
    "Question",
    "Section",
    "Shape",
    "YearRun",
    "clock_said",
    "column_said",
    "day_cell",
    "fingerprint",
    "guess_of",
    "lay_out",
    "order_of",
    "resolved",
    "shape_from",
]
