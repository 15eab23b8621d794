"""A practice's list of clients and ponds: looked at first, saved by `save_clients` afterwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from store.book.book import Book
from store.errors import PondroundError
from store.exchange.catch_up import addresses as postcodes
from store.exchange.catch_up import telephones as numbers
from store.exchange.catch_up.addresses import written
from store.exchange.catch_up.asking import Answers, Question, answered, columns_said
from store.exchange.catch_up.clients_plan import CatchUp, PlannedClient
from store.exchange.catch_up.doubles import Pair, Somebody, doubles
from store.exchange.catch_up.grouped import Grouped, grouped, somebody
from store.exchange.catch_up.known_clients import (
    TABLES,
    KnownClient,
    known_clients,
    was_brought,
)
from store.exchange.catch_up.list_columns import ListShape, called, list_shape
from store.exchange.catch_up.listed import ListedClient, Listing, ListRow, listed_clients
from store.exchange.catch_up.planned_clients import planned_client
from store.exchange.catch_up.pond_asking import GALLONS, needs_gallons
from store.exchange.catch_up.pond_remarks import ProposedPond
from store.exchange.plain.planned import Plan, Refused
from store.exchange.sheets import Grid, SheetFile, read_file

POSTCODES, TELEPHONES = "postcodes", "telephones"
"""Keys of the questions whether a zero was lost; one each for the file."""
_SHOWN = 5
_ENOUGH = 2
"""Headings that are known from which a separator is taken for right."""


class ClientList:
    """A list that is open: read once, looked at as often as another answer is given.

    Parameters
    ----------
    path
        CSV of any kind, or a workbook.
    book
        The practice's book.
    sheet
        Which sheet of a workbook.
    """

    def __init__(self, path: Path, book: Book, *, sheet: str | None = None) -> None:
        self.path, self._book, self._sheet = path, book, sheet
        self._stamp = ""
        self._known: dict[str, KnownClient] = {}
        self._somebodies: list[Somebody] = []
        self._before = ""
        self._read: tuple[SheetFile, Grid, ListShape] | None = None
        self._listing = Listing()
        self._columns: dict[str, str] = {}
        self._pairs: tuple[tuple[ListedClient, ...], tuple[Pair, ...]] | None = None

    def look(self, answers: Answers | None = None) -> CatchUp:
        """What the list would bring with these answers; nothing is saved.

        Parameters
        ----------
        answers
            What a person said so far, by the keys of the questions.

        Returns
        -------
        CatchUp
            As for `read_clients`.

        Raises
        ------
        BadInput
            As for `read_clients`.
        """
        said = answers or {}
        file, grid, shape = self._opened(columns_said(said))
        rows = [ListRow(row.line, row.cells) for row in grid.rows]
        listing = self._listing
        entries, file_questions, held = _zeros(listing.clients, said)
        gallons = _gallons(entries, said)
        found = self._grouped(entries, said)
        clients: list[PlannedClient] = []
        questions: list[Question] = [*file_questions, *gallons, *found.questions]
        refused = [_refused(row, why) for row, why in listing.refused]
        for group in found.groups:
            try:
                one, asked = planned_client(group, self._known, said, self.path.name)
            except PondroundError as error:
                refused.extend(_refused(row, error.message) for row in group.client.rows)
                continue
            waits = [*one.waits_for, *(held[line] for line in one.lines if line in held)]
            if waits and one.state != "ask":
                one = replace(one, state="ask", waits_for=tuple(waits))
            clients.append(one)
            questions.extend(asked)
        items = tuple(one for one in clients if one.saves)
        header = _header(rows, shape)
        width = len(header)
        plan = Plan(
            "clients", self.path, file.sha256, header,
            len(rows) - (shape.header_at + 1) - sum(one != "title" for _, one in listing.passed),
            items,
            tuple(
                replace(one, cells=(*one.cells, *[""] * (width - len(one.cells))))
                for one in refused
            ),
            sum(one.state == "same" and not one.saves for one in clients),
            tuple(_told(file, grid, shape, listing, found, clients, self._before)),
            file.separator or ",",
        )  # fmt: skip
        return CatchUp(plan, tuple(clients), tuple(questions), shape, self._stamp)

    def _opened(self, columns: dict[str, str]) -> tuple[SheetFile, Grid, ListShape]:
        """The file and the book, read anew where a column means another thing or the book grew."""
        stamp = self._book.stamp(*TABLES)
        if self._read is None or columns != self._columns:
            self._read = _parted(self.path, self._sheet, columns)
            rows = [ListRow(row.line, row.cells) for row in self._read[1].rows]
            self._listing = listed_clients(rows, self._read[2])
            self._columns, self._pairs = columns, None
        if stamp != self._stamp:
            self._known = known_clients(self._book)
            self._somebodies = [one.somebody for one in self._known.values()]
            self._before = was_brought(self._book, self._read[0].sha256)
            self._stamp, self._pairs = stamp, None
        return self._read

    def _grouped(self, entries: Sequence[ListedClient], said: Answers) -> Grouped:
        known = self._somebodies
        if self._pairs is None or self._pairs[0] != tuple(entries):
            pairs = doubles([somebody(one) for one in entries], known)
            self._pairs = tuple(entries), pairs
        return grouped(
            entries, known, said, brought_before=bool(self._before), pairs=self._pairs[1]
        )


def read_clients(
    path: Path, book: Book, *, answers: Answers | None = None, sheet: str | None = None
) -> CatchUp:
    """What a list of clients and ponds would bring into the book; nothing is saved.

    Parameters
    ----------
    path
        CSV of any kind, or a workbook.
    book
        The practice's book.
    answers
        What a person said to the questions of an earlier look, by their keys.
    sheet
        Which sheet of a workbook.

    Returns
    -------
    CatchUp
        Clients, sites and ponds with what is new, the same and asked; the questions; refused rows.

    Raises
    ------
    BadInput
        When the file cannot be read or names no clients, or an answer is none.
    """
    return ClientList(path, book, sheet=sheet).look(answers)


def _parted(
    path: Path, sheet: str | None, said: Mapping[str, str]
) -> tuple[SheetFile, Grid, ListShape]:
    """The file, its sheet and what the columns mean.

    Where the separator that was found leaves hardly a heading that is known, as commas of a title
    line do, the headings of a client list show the right one.
    """
    best: tuple[SheetFile, Grid, ListShape] | None = None
    trouble: PondroundError | None = None
    for separator in (None, ";", "\t", ","):
        try:
            file = read_file(path, separator=separator)
            grid = file.grid(sheet)
            shape = list_shape([row.cells for row in grid.rows], said)
        except PondroundError as error:
            trouble = trouble or error
            continue
        if best is None or shape.known > best[2].known:
            best = file, grid, shape
        if file.workbook or best[2].known >= _ENOUGH:
            break
    if best is None:
        assert trouble is not None
        raise trouble
    return best


def _zeros(
    entries: Sequence[ListedClient], said: Answers
) -> tuple[list[ListedClient], list[Question], dict[int, str]]:
    """Zeros that a spreadsheet took from postcodes and telephones: asked once for the file.

    Gives the entries with the zeros that a person put back, the questions, and by line what an
    entry waits for.
    """
    questions: list[Question] = []
    held: dict[int, str] = {}
    found = list(entries)
    codes = postcodes.lost_zero([address.postcode for one in entries for address in one.addresses])
    if codes:
        answer = answered(said, POSTCODES, "postcodes")
        lines = [one.line for one in entries if any(a.postcode in codes for a in one.addresses)]
        questions.append(
            Question(
                POSTCODES,
                "postcodes",
                lines[0],
                f"Did {_few(codes)} lose the zero in front, as in 0{codes[0]}?",
                f"{len(lines)} of the list have four figures, the others five; spreadsheets drop "
                "a zero in front",
                answer,
            )
        )
        if answer == "zero":
            found = [_with_codes(one, codes) for one in found]
        elif answer in ("", "open"):
            held.update(dict.fromkeys(lines, POSTCODES))
    bare = numbers.lost_zero(tuple(phone for one in entries for phone in one.phones))
    if bare:
        answer = answered(said, TELEPHONES, "telephones")
        lines = [one.line for one in entries if any(phone in bare for phone in one.phones)]
        questions.append(
            Question(
                TELEPHONES,
                "telephones",
                lines[0],
                f"Did the numbers {_few(bare)} lose the zero in front, as in 0{bare[0]}?",
                f"{len(lines)} of the list begin with none, most of the others do; spreadsheets "
                "drop a zero in front",
                answer,
            )
        )
        if answer == "zero":
            found = [
                replace(
                    one,
                    phones=tuple(f"0{phone}" if phone in bare else phone for phone in one.phones),
                )
                for one in found
            ]
        elif answer in ("", "open"):
            for line in lines:
                held.setdefault(line, TELEPHONES)
    return found, questions, held


def _with_codes(one: ListedClient, codes: Sequence[str]) -> ListedClient:
    def put_back(address: postcodes.ListedAddress) -> postcodes.ListedAddress:
        code = written(address.postcode)
        return replace(address, postcode=f"0{code}") if code in codes else address

    def placed(ponds: tuple[ProposedPond, ...]) -> tuple[ProposedPond, ...]:
        return tuple(
            pond if pond.place is None else replace(pond, place=put_back(pond.place))
            for pond in ponds
        )

    return replace(
        one,
        addresses=tuple(put_back(address) for address in one.addresses),
        ponds=placed(one.ponds),
        proposed=placed(one.proposed),
    )


def _gallons(entries: Sequence[ListedClient], said: Answers) -> list[Question]:
    lines = [one.line for one in entries if needs_gallons((*one.ponds, *one.proposed))]
    if not lines:
        return []
    typed = next(
        pond.volume_typed
        for one in entries
        for pond in (*one.ponds, *one.proposed)
        if pond.gallons is not None
    )
    return [
        Question(
            GALLONS, "gallons", lines[0],
            f"Which gallons does the list mean, as in “{typed}”?",
            f"a gallon is 3.785 L (US) or 4.546 L (UK); volumes in gallons: {_lines(lines)}",
            answered(said, GALLONS, "gallons"),
        )
    ]  # fmt: skip


def _told(
    file: SheetFile,
    grid: Grid,
    shape: ListShape,
    listing: Listing,
    found: Grouped,
    clients: Sequence[PlannedClient],
    before: str,
) -> list[str]:
    told = [*file.remarks, *grid.remarks]
    if before:
        told.append(
            f"This very file was brought in on {before}; what is in the book is not doubled."
        )
    for what, many in (("total", "totals"), ("footnote", "footnotes"), ("heading", "headings")):
        lines = [row.line for row, one in listing.passed if one == what]
        if lines:
            told.append(f"Passed over as {many}: {_lines(lines)}.")
    if listing.continued:
        told.append(
            f"{listing.continued} rows name nobody and belong to the client of the row above."
        )
    if found.joined_lines:
        few = ", ".join(f"{one} with {other}" for one, other in found.joined_lines[:_SHOWN])
        more = " …" if len(found.joined_lines) > _SHOWN else ""
        told.append(
            "Rows of one client, the same by name and telephone, mail or address, with nothing "
            f"against it: line {few}{more}."
        )
    turned = [one for one in clients if one.state != "same" and one.name != one.typed]
    if turned:
        first = turned[0]
        told.append(
            f"{len(turned)} names are written another way, such as “{first.typed}” as "
            f"“{first.name}”; the notes keep what the list says."
        )
    if shape.unknown:
        few = ", ".join(f"“{called(one):.40}”" for one in shape.unknown[:_SHOWN])
        more = " …" if len(shape.unknown) > _SHOWN else ""
        told.append(f"Columns that were not understood and not read: {few}{more}.")
    left = [called(one) for one in shape.columns if one.meaning == "ignore"]
    if left:
        told.append(f"Columns that were left out: {', '.join(left)}.")
    for one in clients:
        told.extend(f"Line {one.line}: {doubt}." for doubt in one.doubts)
    return list(dict.fromkeys(told))


def _header(rows: Sequence[ListRow], shape: ListShape) -> tuple[str, ...]:
    width = max(len(row.cells) for row in rows)
    header = rows[shape.header_at].cells if shape.header_at >= 0 else ()
    meaning = {one.place: one.meaning for one in shape.columns}
    return tuple(
        (header[place].strip() if place < len(header) else "")
        or (meaning.get(place, "") if shape.header_at < 0 else "")
        for place in range(width)
    )


def _refused(row: ListRow, why: str) -> Refused:
    return Refused(row.line, why, row.cells)


def _few(texts: Sequence[str]) -> str:
    return ", ".join(texts[:3]) + (f" and {len(texts) - 3} more" if len(texts) > 3 else "")


def _lines(lines: Sequence[int]) -> str:
    return f"line{'s' * (len(lines) > 1)} " + _few([str(one) for one in lines])
