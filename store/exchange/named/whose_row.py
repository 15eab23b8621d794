"""Whose pond a row of named columns is of: its own cells, a title line above it, or one given."""

from __future__ import annotations

from uuid import UUID

from store.errors import BadInput, NotFound
from store.exchange.columns.named import NamedRow, NamedSheet
from store.exchange.columns.question import Question
from store.exchange.plain.whose import PondNames

_ROLES = ("code", "pond", "client")


class RowPonds:
    """The ponds of the rows of one sheet.

    Parameters
    ----------
    ponds
        The ponds of the book by their names.
    given
        The pond of the whole file, where a person said so.
    """

    def __init__(self, ponds: PondNames, given: UUID | None = None) -> None:
        self.names, self.given = ponds, given
        self._known: dict[tuple[str, ...], UUID] = {}

    def asked(self, sheet: NamedSheet) -> list[Question]:
        """The question which pond it is, where neither rows nor titles name one.

        Parameters
        ----------
        sheet
            The sheet.
        """
        if self.given is not None or sheet.has("code", "pond"):
            return []
        if sheet.rows and all(self._titled(row) is not None for row in sheet.rows):
            return []
        return [Question("pond", "The file has no column pond, so which pond is it?")]

    def of(self, row: NamedRow) -> UUID:
        """The pond of a row.

        Parameters
        ----------
        row
            The row.

        Raises
        ------
        NotFound
            When no pond goes by what the row says, or several do.
        BadInput
            When it says nothing, or names another pond than the one given for the file.
        """
        texts = tuple(row.text(role) for role in _ROLES)
        if texts not in self._known or not any(texts[:2]):
            named = self._named(row, *texts)
            if self.given is not None and named is not None and named != self.given:
                raise BadInput("The row names another pond than the one given for the file.")
            found = named or self.given
            if found is None:
                found = self.names.one(texts[2] if not any(texts[:2]) else "")
            if not any(texts[:2]):
                return found
            self._known[texts] = found
        return self._known[texts]

    def _named(self, row: NamedRow, code: str, pond: str, client: str) -> UUID | None:
        if self.given is not None and not any(map(row.own, _ROLES)) and row.stated:
            return self.given  # a person's say goes before a line above the headings
        by_code = self.names.one(code) if code else None
        if pond:
            try:
                by_name = self.names.one(f"{client}, {pond}" if client else pond)
            except NotFound:
                if by_code is None:
                    raise
                return by_code  # a code goes before a name, which the sheet may write its own way
            if by_code is not None and by_name != by_code:
                raise BadInput("Code and name are those of two ponds. Correct one of them.")
            return by_name
        return by_code or self._titled(row)

    def _titled(self, row: NamedRow) -> UUID | None:
        if not row.under:
            return None
        try:
            return self.names.one(row.under)
        except (NotFound, BadInput):
            return None
