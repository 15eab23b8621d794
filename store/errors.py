"""The one family of errors that a person gets to read.

Each error carries a title and a sentence that says what was wrong, what was kept and what to do
next. Exceptions of libraries do not leave `store`: they are wrapped, with the cause kept.
"""

from __future__ import annotations

from uuid import UUID


class PondroundError(Exception):
    """Something a person can be told in words.

    Parameters
    ----------
    message
        One or two sentences: what happened, what was kept, what to do next.
    title
        Two to five words for the head of a dialog.
    """

    title = "That did not work"

    def __init__(self, message: str, *, title: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        if title is not None:
            self.title = title


class BadInput(PondroundError):
    """What was typed or read cannot be used; `field` names the place where the sentence belongs."""

    title = "Please look at this again"

    def __init__(self, message: str, *, field: str | None = None, title: str | None = None) -> None:
        super().__init__(message, title=title)
        self.field = field


class NotFound(PondroundError):
    """Nothing by that name or key, or more than one."""

    title = "Not found"


class NotAllowed(PondroundError):
    """The person may not do this; the record is unchanged."""

    title = "Not yours to change"


class ChangedMeanwhile(PondroundError):
    """Somebody else changed the row first; nothing was overwritten.

    `row` names it, where it is one row: its table, its key, and the revision that the person saw.
    """

    title = "Changed meanwhile"

    def __init__(
        self, message: str, *, row: tuple[str, UUID, int] | None = None, title: str | None = None
    ) -> None:
        super().__init__(message, title=title)
        self.row = row


class BookTrouble(PondroundError):
    """The book cannot be opened, read or written."""

    title = "The book cannot be used"


class NoBookYet(BookTrouble):
    """The database is empty: a book can be begun there."""

    title = "No book there"


class NoAnswer(BookTrouble):
    """The database cannot be reached; asked again later, it may answer.

    Parameters
    ----------
    message, title
        As for every error.
    saving
        Whether something was being saved.
    unsure
        Whether it could not be found out if that was kept; else nothing of it was.
    """

    title = "No answer"

    def __init__(
        self, message: str, *, title: str | None = None, saving: bool = False, unsure: bool = False
    ) -> None:
        super().__init__(message, title=title)
        self.saving = saving
        self.unsure = unsure


class SavedAlready(PondroundError):
    """What was being saved when the line broke was kept after all; nothing was saved twice."""

    title = "Saved already"


class FactsTrouble(PondroundError):
    """A data file of published figures has bad entries; every one of them is in the message."""

    title = "The facts cannot be used"
