"""A practice's list of clients and ponds: looked at first, saved by `save_clients` afterwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from store.book.book import Book
from store.errors import PondroundError
from store.exchange.catch_up.asking import (
    HEADING,
    NAMES,
    Answers,
    Question,
    afresh,
    answered,
    columns_said,
)
from store.exchange.catch_up.clients_plan import CatchUp, PlannedClient
from store.exchange.catch_up.doubles import Pair, Somebody, doubles
from store.exchange.catch_up.grouped import Grouped, grouped, somebody
from store.exchange.catch_up.known_clients import (
    TABLES,
    KnownClient,
    known_clients,
    was_brought,
)
from store.exchange.catch_up.list_asked import gallons_asked, names_asked, zeros
from store.exchange.catch_up.list_columns import (
    ListShape,
    column_named,
    first_row,
    list_shape,
    source_of,
)
from store.exchange.catch_up.list_told import told_of
from store.exchange.catch_up.listed import ListedClient, Listing, ListRow, listed_clients
from store.exchange.catch_up.planned_clients import planned_client
from store.exchange.catch_up.said_columns import SaidBefore, said_before
from store.exchange.out.rows import Progress, Told, quiet
from store.exchange.plain.planned import Plan, Refused
from store.exchange.sheets import Grid, SheetFile, read_file

_TELL_EVERY = 100
_HEADINGS_AMONG = 15
"""Rows at the top among which headings of an earlier list are looked for."""
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
    told
        Is told how far it is.
    """

    def __init__(
        self, path: Path, book: Book, *, sheet: str | None = None, told: Told = quiet
    ) -> None:
        self.path, self._book, self._sheet, self._told = path, book, sheet, told
        self._stamp = ""
        self._known: dict[str, KnownClient] = {}
        self._somebodies: list[Somebody] = []
        self._before = ""
        self._read: tuple[SheetFile, Grid, ListShape] | None = None
        self._listing = Listing()
        self._taken: tuple[dict[str, str], str, bool] | None = None
        self._before_said: SaidBefore | None = None
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
        file, grid, shape = self._opened(said)
        rows = [ListRow(row.line, row.cells) for row in grid.rows]
        if not shape.named:
            return self._unnamed(file, grid, shape, said)
        listing = self._listing
        entries, file_questions, held = zeros(listing.clients, said)
        gallons = gallons_asked(entries, said)
        found = self._grouped(entries, said)
        clients: list[PlannedClient] = []
        questions: list[Question] = [*file_questions, *gallons, *found.questions]
        refused = [_refused(row, why) for row, why in listing.refused]
        for at, group in enumerate(found.groups):
            if at % _TELL_EVERY == 0:
                self._told(Progress("clients", at, len(found.groups)))
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
            (
                *self._remembered(),
                *told_of(file, grid, shape, listing, found, clients, self._before),
            ),
            file.separator or ",",
        )  # fmt: skip
        return CatchUp(
            plan, tuple(clients), tuple(questions), shape, self._stamp,
            "".join(self._remembered()), self._remembers(grid, shape),
        )  # fmt: skip

    def _unnamed(self, file: SheetFile, grid: Grid, shape: ListShape, said: Answers) -> CatchUp:
        """Nobody can be read before it is known where the names stand: that is asked first."""
        rows = [ListRow(row.line, row.cells) for row in grid.rows]
        plan: Plan[PlannedClient] = Plan(
            "clients", self.path, file.sha256, _header(rows, shape), len(rows), (), (), 0,
            (*self._remembered(), *file.remarks, *grid.remarks), file.separator or ",",
        )  # fmt: skip
        asked = tuple(names_asked(grid, shape, said))
        return CatchUp(plan, (), asked, shape, self._stamp, "".join(self._remembered()))

    def _remembered(self) -> tuple[str, ...]:
        before = self._before_said
        if before is None:
            return ()
        few = ", ".join(f"“{head:.40}” is {what}" for head, what in before.columns.items())
        return (f"Columns as was said {before.said}, a list with the same headings: {few}.",)

    def _remembers(self, grid: Grid, shape: ListShape) -> tuple[str, dict[str, str]] | None:
        """What is to be kept for the next list: what was said of headings, not of letters."""
        source = source_of(grid.rows[shape.header_at].cells) if shape.header_at >= 0 else ""
        if not source:
            return None
        mine: dict[str, str] = {
            one.heading: one.meaning
            for one in shape.columns
            if one.why == "as a person said" and column_named(shape, one) == one.heading
        }
        kept = said_before(self._book).get(source)  # anew: saving may have written it
        return None if mine == (dict(kept.columns) if kept else {}) else (source, mine)

    def _opened(self, said: Answers) -> tuple[SheetFile, Grid, ListShape]:
        """The file and the book, read anew where a column means another thing or the book grew."""
        stamp = self._book.stamp(*TABLES)
        columns = columns_said(said)
        names = said.get(NAMES, "").strip()
        if names and names.casefold() != "open":
            columns.setdefault(names, "name")
        taken = columns, answered(said, HEADING, "heading"), afresh(said)
        if self._read is None or taken != self._taken:
            before = {} if taken[2] else said_before(self._book)
            self._read, self._before_said = _parted(
                self.path, self._sheet, columns, taken[1], before
            )
            if self._read[2].named:
                rows = [ListRow(row.line, row.cells) for row in self._read[1].rows]
                self._listing = listed_clients(rows, self._read[2])
            self._taken, self._pairs = taken, None
        if stamp != self._stamp:
            self._known = known_clients(self._book)
            self._somebodies = [one.somebody for one in self._known.values()]
            self._before = was_brought(self._book, self._read[0].sha256)
            self._stamp, self._pairs = stamp, None
        return self._read

    def _compared(self, done: int, whole: int) -> None:
        self._told(Progress("comparing", done, whole))

    def _grouped(self, entries: Sequence[ListedClient], said: Answers) -> Grouped:
        known = self._somebodies
        if self._pairs is None or self._pairs[0] != tuple(entries):
            pairs = doubles([somebody(one) for one in entries], known, self._compared)
            self._pairs = tuple(entries), pairs
        return grouped(
            entries, known, said, brought_before=bool(self._before), pairs=self._pairs[1]
        )


def read_clients(
    path: Path,
    book: Book,
    *,
    answers: Answers | None = None,
    sheet: str | None = None,
    told: Told = quiet,
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
    told
        Is told how far it is.

    Returns
    -------
    CatchUp
        Clients, sites and ponds with what is new, the same and asked; the questions; refused rows.

    Raises
    ------
    BadInput
        When the file cannot be read or names no clients, or an answer is none.
    """
    return ClientList(path, book, sheet=sheet, told=told).look(answers)


_Parted = tuple[SheetFile, Grid, ListShape]


def _parted(
    path: Path,
    sheet: str | None,
    said: Mapping[str, str],
    heading: str,
    before: Mapping[str, SaidBefore],
) -> tuple[_Parted, SaidBefore | None]:
    """The file, its sheet and what the columns mean; and what was said before and taken.

    Where the separator that was found leaves hardly a heading that is known, as commas of a title
    line do, the headings of a client list show the right one.
    """
    best: tuple[_Parted, SaidBefore | None] | None = None
    trouble: PondroundError | None = None
    for separator in (None, ";", "\t", ","):
        try:
            file = read_file(path, separator=separator)
            grid = file.grid(sheet)
            shape, taken = _shaped([row.cells for row in grid.rows], said, heading, before)
        except PondroundError as error:
            trouble = trouble or error
            continue
        known = shape.known + (len(taken.columns) if taken is not None else 0)
        if best is None or known > best[0][2].known:
            best = (file, grid, shape), taken
        if file.workbook or taken is not None or best[0][2].known >= _ENOUGH:
            break
    if best is None:
        assert trouble is not None
        raise trouble
    return best


def _shaped(
    rows: Sequence[Sequence[str]],
    said: Mapping[str, str],
    heading: str,
    before: Mapping[str, SaidBefore],
) -> tuple[ListShape, SaidBefore | None]:
    """The layout, with what was said of an earlier list of the same headings where there is one."""
    for place, cells in enumerate(rows[:_HEADINGS_AMONG] if before else ()):
        taken = before.get(source_of(cells))
        if taken is not None and taken.columns:
            return list_shape(rows, {**taken.columns, **said}, place), taken
    places = {"yes": first_row(rows), "no": -1}
    return list_shape(rows, said, places.get(heading)), None


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
