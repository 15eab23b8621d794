"""By what a person shows to be themselves: a passphrase, or the login at the database server.

A passphrase keeps one person of a practice from writing as another where several work at one
machine. Whoever may read the file of a book can read the book all the same: that is for the
permissions of the file. In a shared book with roles (`store.book.server.server_roles`) the server
knows who is there, and no passphrase is asked for or kept.

Hashes are made by argon2-cffi with its defaults, the second recommended option of RFC 9106
(section 4: Argon2id, 3 passes, 64 MiB, 4 lanes); they never leave the book.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from unicodedata import normalize
from uuid import UUID, uuid5

from sqlalchemy import Connection, func, insert, select, text, update

from store.book.act import Act
from store.book.allowed import for_a_vet, worker
from store.book.book import Book
from store.book.server.server_roles import good_login
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput, NotAllowed
from store.text import plain

LEAST, MOST = 10, 1000
"""Characters of a passphrase."""
_FIRST_PAUSE_S, _LONGEST_PAUSE_S = 1.0, 30.0


@dataclass(frozen=True, slots=True)
class SignIn:
    """How one person signs in.

    `passphrase` is whether one is set, None where the server's roles do not let it be seen.
    """

    staff_id: UUID
    passphrase: bool | None
    login: str


def sign_ins(book: Book) -> Mapping[UUID, SignIn]:
    """How everybody signs in of whom the book says so.

    Parameters
    ----------
    book
        The book.

    Returns
    -------
    dict
        By key of the person; whoever has neither passphrase nor login is not in it.
    """
    columns = table("sign_in").c
    rows: list[tuple[UUID, bool | None, str]]
    with book.reading() as connection:
        if _may_see_hashes(connection):
            query = select(columns.staff_id, columns.login, (columns.passphrase != "").label("set"))
            rows = [(row.staff_id, bool(row.set), row.login) for row in connection.execute(query)]
        else:
            hidden = select(columns.staff_id, columns.login)
            rows = [(row.staff_id, None, row.login) for row in connection.execute(hidden)]
    return {key: SignIn(key, said, login) for key, said, login in rows if said or login}


def known_to_server(book: Book) -> UUID | None:
    """The person to whom the login belongs by which the book was opened.

    Parameters
    ----------
    book
        The book.

    Returns
    -------
    UUID or None
        None for a book in a file, and for a login that is nobody's.
    """
    if book.engine.dialect.name != "postgresql":
        return None
    with book.reading() as connection:
        return _of_login(connection)


def _of_login(connection: Connection) -> UUID | None:
    if connection.dialect.name != "postgresql":
        return None
    columns, staff = table("sign_in").c, table("staff").c
    query = (
        select(columns.staff_id)
        .join(table("staff"), staff.id == columns.staff_id)
        .where(columns.login == text("session_user"), staff.struck_at.is_(None))
    )
    return connection.execute(query.limit(1)).scalar()


def asks_passphrase(book: Book, person: UUID) -> bool:
    """Whether a person has to give a passphrase before writing.

    Parameters
    ----------
    book
        The book.
    person
        Key of the person.

    Returns
    -------
    bool
        False where none is set, and where the server knows the person by the login.
    """
    with book.reading() as connection:
        return bool(_hash_of(connection, person)) and _of_login(connection) != person


def prove(book: Book, person: UUID, passphrase: str) -> None:
    """Refuse a passphrase that is not the person's.

    Parameters
    ----------
    book
        The book.
    person
        Key of the person; with no passphrase set anything is good.
    passphrase
        As it was typed.

    Raises
    ------
    BadInput
        It is another one.
    """
    with book.reading() as connection:
        kept = _hash_of(connection, person)
    if kept and not _fits(kept, passphrase):
        raise _wrong()


def pause_s(failures: int) -> float:
    """How long whoever asks waits before the next try [s].

    It is counted by the screen or command that asks, not in the book: whoever can go round that can
    read the file as well, and there the cost of the hash is what holds.

    Parameters
    ----------
    failures
        How many tries went wrong so far, one after another.

    Examples
    --------
    >>> [pause_s(failures) for failures in (0, 1, 2, 3, 9)]
    [0.0, 1.0, 2.0, 4.0, 30.0]
    """
    if failures < 1:
        return 0.0
    return float(min(_FIRST_PAUSE_S * 2.0 ** min(failures - 1, 10), _LONGEST_PAUSE_S))


def set_passphrase(book: Book, act: Act, person: UUID, new: str, old: str = "") -> None:
    """Set, change or take away a passphrase.

    One's own needs the old one, where there is one; another's is set by a vet, for somebody who
    forgot theirs, and is taken away by nobody else. The log says that it was set, never what.

    Parameters
    ----------
    book
        The book.
    act
        Who, and when.
    person
        Whose.
    new
        At least ten characters and not the person's name; the empty text takes it away.
    old
        The present one, for one's own.

    Raises
    ------
    BadInput
        `new` is too short, too long, or the name; `old` is another one.
    NotAllowed
        It is another's and the person is no vet; or the server's roles say who is there.
    """
    if new and not LEAST <= len(new) <= MOST:
        raise BadInput(
            f"A passphrase has at least {LEAST} characters (and at most {MOST:,}), such as four "
            "words that belong to nobody else. Nothing was changed.",
            field="new",
        )
    with book.reading() as connection:
        kept = _hash_of(connection, person)  # what costs time is not done while others wait
    own = person == act.by
    if own and kept and not _fits(kept, old):
        raise _wrong("old")
    made = _made(new) if new else ""
    with book.writing(act) as writing:
        who = worker(writing.connection, person)
        name = "" if who is None else who.name
        _refuse(writing, own, new, name)
        if _hash_of(writing.connection, person) != kept:
            raise BadInput("The passphrase was changed meanwhile; it was left as it is.")
        _keep(writing, person, name, "passphrase", made, (bool(kept), bool(made)))


def set_login(book: Book, act: Act, person: UUID, login: str) -> None:
    """Say by which login at the database server a person comes.

    Parameters
    ----------
    book
        The book.
    act
        Who, and when; a vet, or anybody while no vet is on the staff.
    person
        Whose.
    login
        Name of a role of the server; empty for none.

    Raises
    ------
    BadInput
        It is no name of a role, or another's login already.
    NotAllowed
        The person is no vet; or the server's roles leave this to the owner of the book.
    """
    name = login.strip() and good_login(login.strip())
    columns = table("sign_in").c
    with book.writing(act) as writing:
        writing.allowed.refuse("staff", "change", None)
        who = worker(writing.connection, person)
        if who is None:
            raise BadInput("There is no such person on the staff; nothing was changed.")
        _refuse_in_shared(writing, "Logins are set by the owner of the book at the server.")
        others = select(columns.staff_id).where(columns.login == name, columns.staff_id != person)
        if name and writing.connection.execute(others).first() is not None:
            raise BadInput("This login is another person's; nothing was changed.", field="login")
        before = select(columns.login).where(columns.staff_id == person)
        was = writing.connection.execute(before).scalar() or ""
        _keep(writing, person, who.name, "login", name, (was, name))


def line_key(person: UUID) -> UUID:
    """The key under which the log speaks of a person's signing in, apart from that of the person.

    Parameters
    ----------
    person
        Key of the person.
    """
    return uuid5(person, "sign_in")


def _refuse(writing: Writing, own: bool, new: str, name: str) -> None:
    if not name:
        raise BadInput("There is no such person on the staff; nothing was changed.")
    _refuse_in_shared(
        writing,
        "This shared book knows people by their login at the server; the password there is "
        "changed with \\password in psql.",
    )
    if not own:
        who = worker(writing.connection, writing.act.by)
        if who is None or not who.is_vet:
            raise for_a_vet(who, "set another person's passphrase")
        if not new:
            raise NotAllowed(
                "A passphrase is taken away by its person alone; set another one instead. Nothing "
                "was changed."
            )
    if new and new.strip().casefold() == name.strip().casefold():
        raise BadInput("A name is no passphrase. Nothing was changed.", field="new")


def _refuse_in_shared(writing: Writing, instead: str) -> None:
    if writing.connection.dialect.name != "postgresql":
        return
    asked = text("SELECT has_table_privilege('sign_in', 'INSERT')")
    if not writing.connection.execute(asked).scalar():
        raise NotAllowed(f"{instead} Nothing was changed.", title="Kept by the server")


def _keep(
    writing: Writing, person: UUID, whose: str, column: str, value: str,
    was_and_is: tuple[bool | str, bool | str],
) -> None:  # fmt: skip
    """Write one column of a person's row, with a line that says of a hash only that it is set."""
    target, act = table("sign_in"), writing.act
    values = {column: value, "changed_at": act.at, "changed_by": act.by}
    statement = update(target).where(target.c.staff_id == person).values(values)
    if not writing.connection.execute(statement).rowcount:
        whole = {"staff_id": person, "passphrase": "", "login": ""} | values
        writing.connection.execute(insert(target).values(whole))
    key, change = line_key(person), table("change")
    lines = select(func.count()).select_from(change).where(change.c.row_id == key)
    rev = int(writing.connection.execute(lines).scalar_one()) + 1
    was, now = ({column: "set" if one is True else one or ""} for one in was_and_is)
    writing.log.put("sign_in", "change", [(key, rev, was, now)], f"of {whose}")
    writing.touch("sign_in")


def _may_see_hashes(connection: Connection) -> bool:
    if connection.dialect.name != "postgresql":
        return True
    asked = text("SELECT has_column_privilege('sign_in', 'passphrase', 'SELECT')")
    return bool(connection.execute(asked).scalar())


def _hash_of(connection: Connection, person: UUID) -> str:
    if not _may_see_hashes(connection):
        return ""
    columns = table("sign_in").c
    query = select(columns.passphrase).where(columns.staff_id == person)
    return connection.execute(query).scalar() or ""


def _wrong(field: str = "passphrase") -> BadInput:
    return BadInput(
        "Name and passphrase do not fit together. Nothing was changed; try again.",
        field=field,
        title="Not signed in",
    )


def _made(passphrase: str) -> str:
    from argon2 import PasswordHasher  # 20 ms, and each hash 50 to 100 ms

    return PasswordHasher().hash(_typed(passphrase))


def _fits(kept: str, passphrase: str) -> bool:
    from argon2 import PasswordHasher
    from argon2.exceptions import InvalidHashError, VerificationError

    try:
        return PasswordHasher().verify(kept, _typed(passphrase[: MOST + 1]))
    except (VerificationError, InvalidHashError):
        return False


def _typed(passphrase: str) -> str:
    """The same text whatever it was typed with: a line on the screen takes nothing unseen."""
    return normalize("NFC", plain(passphrase))
