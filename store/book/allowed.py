"""What each role may write: one table, which every writing asks and the roles of a server rest on.

Everybody records: readings, events, deaths, what was seen on fish, doses as they were given and
calls; and everybody books. What is prescribed, what it rests on, and how the alert rules speak is
for vets.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, Literal, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.tables import TableName, table
from store.errors import NotAllowed

What = Literal["add", "change", "strike", "restore"]
RECEPTIONIST = "receptionist"
"""The one role that is no vet."""


class Alone(NamedTuple):
    """What vets alone do with a table, as it stands in a sentence: Only a vet can …"""

    add: str
    change: str
    strike: str


def _of(spoken: str) -> Alone:
    return Alone(f"set {spoken}", f"change {spoken}", f"strike {spoken} through")


VETS_ALONE: Mapping[TableName, Alone] = MappingProxyType(
    {
        "course": Alone(
            "plan a course", "start, change or end a course", "strike a course through"
        ),
        "course_step": _of("a step of a course"),
        "course_dose": _of("a dose of a course"),
        "course_turn": _of("what was planned anew"),
        "own_agent": Alone(
            "add an agent to the formulary", "change an agent of the formulary",
            "strike an agent through",
        ),
        "own_dose": Alone(
            "set a dose of the practice's own", "change a dose of the practice's own",
            "strike a dose through",
        ),
        "product": Alone(
            "put a product on the shelf", "change a product of the shelf",
            "take a product off the shelf",
        ),
        "step_rests_on": _of("what a step of a course rests on"),
        "feed_ration": _of("what medicated feed was reckoned for"),
        "rule_change": _of("an alert rule"),
    }
)  # fmt: skip
"""Tables that vets alone write."""

OFFICE_RULES = ("control_due", "reading_too_old", "test_overdue")
"""Rules that ask for a visit or a test and tell nothing of the fish: the desk may let them rest."""

FREE: Mapping[TableName, tuple[tuple[str, tuple[str, ...]], ...]] = MappingProxyType(
    {
        "rest": (("rule", OFFICE_RULES),),
        "caution_answer": (("level", ("mind",)), ("reason", ("",))),
    }
)
"""Tables of which some rows are for everybody to add: one column holds one of these words."""

FREE_SAID: Mapping[TableName, Alone] = MappingProxyType(
    {
        "rest": Alone("put this concern to rest", "change what is at rest", ""),
        "caution_answer": Alone("go on against a stop", "change an answer", "strike an answer"),
    }
)
"""The other rows of these tables in a sentence. Waking what is at rest is for everybody."""


class Worker(NamedTuple):
    """Who does something, as it stands on the staff."""

    name: str
    is_vet: bool


def worker(connection: Connection, person: UUID) -> Worker | None:
    """Who does something.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    person
        Key of the person.

    Returns
    -------
    Worker or None
        None where nobody of that key is on the staff, or was.

    Raises
    ------
    NotAllowed
        The person has left.
    """
    staff = table("staff").c
    query = select(staff.name, staff.role, staff.struck_at, staff.struck_why)
    found = connection.execute(query.where(staff.id == person)).one_or_none()
    if found is None:
        return None
    if found.struck_at is not None:
        raise NotAllowed(
            f"{found.name} is no longer on the staff ({found.struck_why:.200}); nothing was saved. "
            "Say who works now.",
            title="No longer on the staff",
        )
    return Worker(found.name, found.role != RECEPTIONIST)


def refuse_but_vets(connection: Connection, person: UUID, what: str) -> None:
    """Refuse anybody who is not entered as a vet.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    person
        Key of the person.
    what
        What it is about, for the sentence, such as `start a course`.

    Raises
    ------
    NotAllowed
        The person is no vet, or has left.
    """
    found = worker(connection, person)
    if found is None or not found.is_vet:
        raise for_a_vet(found, what)


def for_a_vet(who: Worker | None, what: str) -> NotAllowed:
    """The refusal of somebody who is no vet.

    Parameters
    ----------
    who
        The person; None for nobody known.
    what
        What it is about, such as `start a course`.
    """
    name = "Nobody known" if who is None else who.name
    return NotAllowed(
        f"Only a vet can {what}; {name} is not entered as one. Nothing was changed.",
        title="For a vet",
    )


class Allowed:
    """What the person of one action may write; looked up once, when something is written.

    Parameters
    ----------
    connection
        Of the action.
    person
        Key of whoever acts.
    """

    def __init__(self, connection: Connection, person: UUID) -> None:
        self._connection, self._person = connection, person
        self._worker: Worker | None = None
        self._passed: set[tuple[str, str]] = set()

    def refuse(self, name: TableName, what: What, rows: Sequence[Mapping[str, Any]] | None) -> None:
        """Refuse what is not for this person to write.

        Parameters
        ----------
        name, what
            The table, and what becomes of its rows.
        rows
            Those that are added, by column, with their key where they have one; None for others.

        Raises
        ------
        NotAllowed
            With a sentence that names the person.
        """
        if (name, what) in self._passed:
            return
        who = self._who(name, what, rows)
        if who is None or who.is_vet:
            self._passed.add((name, what))
        elif name == "staff":
            self._refuse_staff(who)
            self._passed.add((name, what))  # the first vet may come with this very action
        elif name in VETS_ALONE:
            raise for_a_vet(who, _said(VETS_ALONE[name], what))
        elif name in FREE and what != "strike":
            if rows is None or not all(is_free(name, row) for row in rows):
                raise for_a_vet(who, _said(FREE_SAID[name], what))
        else:
            self._passed.add((name, what))

    def _who(
        self, name: TableName, what: What, rows: Sequence[Mapping[str, Any]] | None
    ) -> Worker | None:
        if self._worker is None:
            self._worker = worker(self._connection, self._person)
        if self._worker is not None:
            return self._worker
        # The first person of a book enters the book and themselves.
        first = name == "staff" and what == "add" and rows is not None
        if first and any(row.get("id") == self._person for row in rows or ()):
            staff = table("staff").c
            if self._connection.execute(select(staff.id).limit(1)).first() is None:
                return None
        raise NotAllowed(
            "Whoever does this is not on the staff of this book; nothing was saved. Say who works.",
            title="Not on the staff",
        )

    def _refuse_staff(self, who: Worker) -> None:
        """People are entered and altered by a vet, or by anybody while there is none."""
        staff = table("staff").c
        vets = select(staff.id).where(staff.role != RECEPTIONIST, staff.struck_at.is_(None))
        if self._connection.execute(vets.limit(1)).first() is not None:
            raise for_a_vet(who, "enter people or change what they are")


def _said(alone: Alone, what: What) -> str:
    if what == "restore":
        return alone.strike.replace("strike ", "restore ", 1).removesuffix(" through")
    return getattr(alone, what)  # type: ignore[no-any-return]


def is_free(name: TableName, row: Mapping[str, Any]) -> bool:
    """Whether a row of a table of `FREE` is for everybody to add.

    Parameters
    ----------
    name
        The table.
    row
        Its values by column; one left out is empty.
    """
    return any(row.get(column, "") in words for column, words in FREE[name])
