"""The lines of a medicine book: what went out to a pond, what came in, and what is neither."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from store.errors import BadInput
from store.exchange.columns.dates import day_cell, resolved
from store.exchange.columns.named import NamedRow, NamedSheet
from store.exchange.medicines.book_columns import NOTHING, Way, direction_of
from store.text import day_said, joined, plain

_NUMBER = re.compile(r"[0-9]+(?:[.,/][0-9]+)?|[½¼¾]")
_UNIT = re.compile(r"[^\W\d_]")
_MONTH = re.compile(r"(0?[1-9]|1[0-2])[ ]?[/.-][ ]?(20[0-9]{2})")
_MONTH_SHORT = re.compile(r"(0?[1-9]|1[0-2])[ ]?[/.-][ ]?([2-4][0-9])")
_YEAR_MONTH = re.compile(r"(20[0-9]{2})[ ]?[/.-][ ]?(0?[1-9]|1[0-2])")
_LONGEST_NAME = 200
_UNTIL = re.compile(
    r"(?:until|till|up to|to|bis(?: zum)?|jusqu'au|tot)[ ]+(?=[0-9])", re.IGNORECASE
)
"""Before the day in a cell."""
_UNTIL_CERTAIN = 3660
"""A withdrawal that ends more than ten years after it was given is a slip [d]."""


@dataclass(frozen=True, slots=True)
class BookLine:
    """A line that went out or came in, in the words of the book.

    `amount` has its unit where line, heading or column of units names one. `until` is the last day
    of the withdrawal where the book writes a day, `withdrawal` its words in any case.
    """

    row: NamedRow
    way: Way
    on_day: date
    product: str
    amount: str
    unit_said: bool
    batch: str
    expiry: str
    expired: bool
    withdrawal: str
    until: date | None
    client: str
    pond: str
    code: str
    note: str

    @property
    def line(self) -> int:
        """Where it stands in the file."""
        return self.row.line

    @property
    def words(self) -> str:
        """Product and amount, such as `formalin 37 %, 250 ml`."""
        return f"{self.product}, {self.amount}" if self.amount else self.product


class BookLines:
    """Reads the rows of a medicine book.

    Parameters
    ----------
    sheet
        The book; its `order` of days is found.
    facts
        What the lines above the headings say, by role.
    """

    def __init__(self, sheet: NamedSheet, facts: Mapping[str, str]) -> None:
        self.sheet, self.facts = sheet, facts

    def of(self, row: NamedRow, today: date) -> list[BookLine]:
        """What went out and what came in by one row.

        Parameters
        ----------
        row
            The row.
        today
            The practice's calendar day.

        Raises
        ------
        BadInput
            A day or product that is missing or cannot be; neither in nor out.
        """
        ways = self._ways(row)
        day, _ = self.sheet.day(row)
        if day > today:
            raise BadInput(f"{day_said(day)} lies ahead.")
        product = self._text(row, "product") or self._titled(row)
        if not product:
            raise BadInput("The row names no product.")
        if len(product) > _LONGEST_NAME:
            raise BadInput(f"A name of {len(product):,} characters is none. Shorten it.")
        return [self._line(row, way, day, product, amount) for way, amount in ways]

    def whose(self, row: NamedRow) -> tuple[str, str, str] | None:
        """Code, pond and client of a row that went out; None for any other.

        Parameters
        ----------
        row
            The row.
        """
        try:
            ways = self._ways(row)
        except BadInput:
            return None
        named = tuple(self._text(row, role) for role in ("code", "pond", "client"))
        out = any(way == "out" for way, _ in ways)
        return (named[0], named[1], named[2]) if out and any(named) else None

    def _ways(self, row: NamedRow) -> list[tuple[Way, str]]:
        found: list[tuple[Way, str]] = []
        ways: tuple[Way, ...] = ("out", "in")
        for way in ways:
            cell = self._text(row, way)
            if cell and not NOTHING.fullmatch(cell):
                found.append((way, self._amount(row, way, cell)))
        cell = self._text(row, "amount")
        if cell and not found and not NOTHING.fullmatch(cell):
            said = direction_of(self._text(row, "direction"))
            if not said and self.sheet.has("direction"):
                raise BadInput(
                    f"“{self._text(row, 'direction'):.40}” does not say whether it came in or went "
                    "out. Write in or out."
                )
            if said:
                found.append((said, self._amount(row, "amount", cell)))
        if not found:
            raise BadInput("The row says neither what came in nor what went out.")
        return found

    def _amount(self, row: NamedRow, role: str, cell: str) -> str:
        """The amount with its unit; the words of the book stay as they are."""
        cell = cell.removeprefix("-").strip() if cell[:2] != "--" else cell
        if _UNIT.search(cell):
            return cell
        heading = next((one.unit for one in self.sheet.columns_of(role) if one.unit), "")
        unit = self._text(row, "unit") or heading
        return f"{cell} {unit}".strip() if _NUMBER.search(cell) else cell

    def _line(
        self, row: NamedRow, way: Way, day: date, product: str, amount: str
    ) -> BookLine:  # fmt: skip
        withdrawal = self._text(row, "withdrawal")
        until = self._day(row, "withdrawal")
        if until is not None and way == "out":
            if until < day:
                raise BadInput(
                    f"The withdrawal ends on {day_said(until)}, before it was given on "
                    f"{day_said(day)}."
                )
            if (until - day).days > _UNTIL_CERTAIN:
                raise BadInput(f"The withdrawal cannot last until {day_said(until)}.")
        expiry = self._text(row, "expiry")
        ends = self._expires(row, expiry)
        return BookLine(
            row, way, day, product, amount, bool(_UNIT.search(amount)), self._text(row, "batch"),
            expiry, ends is not None and ends < day,
            withdrawal if until is None else day_said(until), until,
            self._text(row, "client"), self._text(row, "pond"), self._text(row, "code"),
            self._note(row, product, amount, until),
        )  # fmt: skip

    def _note(self, row: NamedRow, product: str, amount: str, until: date | None) -> str:
        """All that the book says of it."""
        withdrawal = self._text(row, "withdrawal")
        if until is not None:
            withdrawal = f"until {day_said(until)}"
        opened = self._day(row, "opened")
        labelled = (
            ("batch", self._text(row, "batch")),
            ("expiry", self._text(row, "expiry")),
            ("opened", self._text(row, "opened") if opened is None else day_said(opened)),
            ("withdrawal", f"{withdrawal}, as written" if withdrawal else ""),
            ("for", self._text(row, "animals")),
            ("because of", self._text(row, "reason")),
            ("by way of", self._text(row, "route")),
            ("by", self._text(row, "by")),
        )
        return joined(
            (
                f"{product}: {amount}" if amount else product,
                *(f"{label} {text}" for label, text in labelled if text),
                plain(" ".join(row.text("note").split())),
            )
        )

    def _expires(self, row: NamedRow, text: str) -> date | None:
        """The last day on which it is good, where the book says it in one way alone."""
        short = _MONTH_SHORT.fullmatch(text)  # 12/26 on a label is month and year
        found = short or _MONTH.fullmatch(text) or _YEAR_MONTH.fullmatch(text)
        if found is not None:
            first, second = int(found[1]), int(found[2])
            if short is not None:
                second += 2000
            year, month = (first, second) if first > 12 else (second, first)
            following = date(year + month // 12, month % 12 + 1, 1)
            return following - timedelta(days=1)
        return self._day(row, "expiry")

    def _day(self, row: NamedRow, role: str) -> date | None:
        """The day of a cell; None where it holds none, or one that may be read in two ways."""
        cell = self._text(row, role)
        if not cell:
            return None
        try:
            return resolved(day_cell(_UNTIL.sub("", cell, count=1)), self.sheet.order)
        except BadInput:
            return None

    def _text(self, row: NamedRow, role: str) -> str:
        text = plain(" ".join(row.text(role).split()))
        return text or ("" if self.sheet.has(role) else self.facts.get(role, ""))

    def _titled(self, row: NamedRow) -> str:
        """The title line above it, as books have a page for each product."""
        if self.sheet.has("product"):
            return ""
        return plain(" ".join(row.under.rpartition(":")[2].split()))
