"""The people of the practice by keys: entered, changed, gone, and how they sign in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast
from uuid import UUID

from store.errors import BadInput, PondroundError
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason
from tui.screens.parts.edit import FormScreen, change_record
from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.people import Staff
    from store.book.sign_in import SignIn
    from tui.app import PondroundApp
    from tui.drafts import Draft

_CELLS = 32


class PassphraseForm(FormScreen):
    """A new passphrase, typed twice; what is typed is kept in no draft.

    Parameters
    ----------
    person
        Whose.
    own
        Whether it is one's own.
    has
        Whether one is set.
    """

    QUESTION = "By what does this person show who they are?"
    ABOUT = (
        "At least ten characters and no other rule: four words that belong to nobody else are easy "
        "to keep in mind. Left empty, the new one takes one's own away. The book keeps a hash that "
        "nobody can read back, and the record of changes says that it was set, never what."
    )

    def __init__(self, person: Staff, *, own: bool, has: bool) -> None:
        fields = [
            Field("new", "New passphrase", "10 characters or more", width=_CELLS),
            Field("again", "The same again", width=_CELLS),
        ]
        if own and has:
            fields.insert(0, Field("old", "Present one", width=_CELLS))
        super().__init__(f"{person.name}: passphrase", tuple(fields), "")
        self._person = person

    def _draft(self) -> Draft | None:
        return None

    def on_mount(self) -> None:
        """Nothing of it can be read over a shoulder."""
        from textual.widgets import Input

        for line in self.query(Input):
            line.password = True

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Set it, or take it away."""
        from store.book.sign_in import set_passphrase

        if texts["new"] != texts["again"]:
            raise BadInput("This is not the same; nothing was changed.", field="again")
        app, key = self.ponds_app, self._person.id
        await app.ask_store(set_passphrase, app.book, act, key, texts["new"], texts.get("old", ""))
        return key


class LoginForm(FormScreen):
    """By which login at the database server a person comes.

    Parameters
    ----------
    person
        Whose.
    login
        What stands there now.
    """

    QUESTION = "By which login at the server does this person come?"
    ABOUT = (
        "Only for a shared book on PostgreSQL: the server then knows who is there. After a change "
        "“pondround roles” prints the SQL that the owner of the book runs."
    )

    def __init__(self, person: Staff, login: str) -> None:
        field = Field("login", "Login", "a role of the server", login, width=_CELLS)
        super().__init__(f"{person.name}: login", (field,), f"login-{person.id}")
        self._person = person

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Keep it."""
        from store.book.sign_in import set_login

        app, key = self.ponds_app, self._person.id
        await app.ask_store(set_login, app.book, act, key, texts["login"])
        return key


async def choose_person(app: PondroundApp) -> None:
    """Choose a person, or a new one, and what is to be done.

    Within a worker of a screen.
    """
    try:
        people, signs = await app.ask_store(_people, app.book)
    except PondroundError as trouble:
        app.tell(trouble)
        return
    options = [Option(one.id, one.name, _note(one, signs.get(one.id))) for one in people]
    options.append(Option("new", "A new person"))
    chosen = await app.push_screen_wait(Choose("Who works here", options))
    if chosen == "new":
        await change_record(app, "staff", None)
    elif chosen is not None:
        one = next(one for one in people if one.id == chosen)
        await _choose_deed(app, one, signs.get(one.id))


def _people(book: Book) -> tuple[tuple[Staff, ...], dict[UUID, SignIn]]:
    from store.book.people import staff
    from store.book.sign_in import sign_ins

    return staff(book, struck=True), dict(sign_ins(book))


def _note(one: Staff, sign: SignIn | None) -> str:
    if one.struck_at is not None:
        return f"{one.role}, no longer here"
    said: list[str] = [one.role]
    if sign is None or sign.passphrase is not None:  # else the server knows people by their login
        said.append("passphrase" if sign is not None and sign.passphrase else "no passphrase")
    if sign is not None and sign.login:
        said.append(f"login {sign.login}")
    return ", ".join(said)


async def _choose_deed(app: PondroundApp, one: Staff, sign: SignIn | None) -> None:
    gone = one.struck_at is not None
    options = (
        [Option("back", "Works here again")]
        if gone
        else [
            Option("change", "Name, role, initials"),
            Option("passphrase", "Passphrase"),
            Option("login", "Login at the server", "for a shared book"),
            Option("gone", "No longer works here", "all that they wrote stays"),
        ]
    )
    deed = cast("str | None", await app.push_screen_wait(Choose(one.name, options)))
    if deed == "change":
        await change_record(app, "staff", one.id)
    elif deed == "login":
        await app.push_screen_wait(LoginForm(one, "" if sign is None else sign.login))
    elif deed == "passphrase":
        act = await app.acting()
        if act is not None:
            has = sign is not None and bool(sign.passphrase)
            await app.push_screen_wait(PassphraseForm(one, own=act.by == one.id, has=has))
    elif deed is not None:
        await _set_gone(app, one, gone=not gone)


async def _set_gone(app: PondroundApp, one: Staff, *, gone: bool) -> None:
    title = f"{one.name} {'no longer works' if gone else 'works'} here" + ("" if gone else " again")
    prompt = "Why? The record of changes keeps the reason."
    reason = await app.push_screen_wait(AskReason(title, prompt, accept="Save"))
    act = None if reason is None else await app.acting()
    if act is None or not isinstance(reason, Reason):
        return
    try:
        await app.ask_store(_keep_gone, app.book, act, one.id, reason.text, gone)
    except PondroundError as trouble:
        app.tell(trouble)
        return
    app.changed()
    app.notify("Saved.", markup=False)


def _keep_gone(book: Book, act: Any, person: UUID, why: str, gone: bool) -> None:
    with book.writing(act) as writing:
        (writing.strike if gone else writing.restore)("staff", person, why)
