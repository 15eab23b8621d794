"""`pondround staff`: who works with the book, and how they sign in."""

from __future__ import annotations

import argparse
import json
from datetime import datetime
from typing import TYPE_CHECKING, Any

from store.errors import BadInput, NotFound
from tui.commands.passphrase import typed
from tui.commands.where import NO_BOOK, acting, is_missing, now, open_place, place_of

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.book.people import Staff

ROLES = ("vet", "receptionist", "travelling vet")
_SET = {True: "passphrase set", False: "no passphrase", None: ""}


def add_staff(commands: Any, parents: list[argparse.ArgumentParser]) -> None:
    """Add the command to the others.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` returned.
    parents
        The options that every command has.
    """
    whole = commands.add_parser(
        "staff", parents=parents, help="who works with the book, and how they sign in",
        description="Without more words: everybody with role, passphrase and login. People are "
        "entered and changed by a vet, or by anybody while no vet is on the staff.",
    )  # fmt: skip
    whole.add_argument("--json", action="store_true", help="one JSON object, for programs")
    kinds = whole.add_subparsers(dest="deed", metavar="DEED", parser_class=type(whole))

    def deed(name: str, says: str) -> argparse.ArgumentParser:
        # Options of the whole command may stand behind the deed too.
        made: argparse.ArgumentParser = kinds.add_parser(
            name, parents=parents, help=says, description=says
        )
        made.add_argument("name", metavar="NAME", help="name or initials")
        return made

    new = deed("add", "enter a person")
    new.add_argument("--role", choices=ROLES, required=True)
    new.add_argument("--initials", default="", metavar="XY")
    deed("role", "say what a person is").add_argument("role", choices=ROLES)
    deed("left", "a person no longer works here").add_argument("--why", required=True)
    deed("passphrase", "set a passphrase, asked for at the terminal; empty takes one's own away")
    deed("login", "by which login at the database server a person comes").add_argument(
        "login", metavar="LOGIN", help="name of the server's role; “-” for none"
    )


def run_staff(args: argparse.Namespace) -> int:
    """List the staff, or do what was asked of it."""
    from tui.widgets.literal import one_line

    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        if args.deed is None:
            _print_staff(book, as_object=args.json)
        else:
            print(one_line(_DEEDS[args.deed](args, book, at)))
    return 0


def _print_staff(book: Book, *, as_object: bool) -> None:
    from store.book.people import staff
    from store.book.sign_in import SignIn, sign_ins
    from tui.widgets.literal import fit, one_line

    known = sign_ins(book)
    listed = [(one, known.get(one.id, SignIn(one.id, False, ""))) for one in staff(book)]
    if as_object:
        people = [
            {
                "name": one.name, "initials": one.initials, "role": one.role,
                "passphrase": sign.passphrase, "login": sign.login,
            }
            for one, sign in listed
        ]  # fmt: skip
        print(json.dumps({"staff": people}, indent=2))
        return
    width = max((len(one_line(one.name)) for one, _sign in listed), default=0)
    for one, sign in listed:
        login = f"  login {one_line(sign.login)}" if sign.login else ""
        print(
            f"{fit(one_line(one.name), width)}  {fit(one_line(one.initials), 4)}  "
            f"{one.role:<14}  {_SET[sign.passphrase]}{login}".rstrip()
        )


def _named(book: Book, name: str) -> Staff:
    from store.book.people import person_named

    found = person_named(book, name)
    if found is None:
        raise NotFound(f"Nobody, or more than one, is called “{name}” on the staff of this book.")
    return found


def _add(args: argparse.Namespace, book: Book, at: datetime) -> str:
    from store.book.people import enter

    enter(book, _acting(args, book, at), args.name, args.role, args.initials)
    return f"{args.name} is on the staff as {args.role}."


def _role(args: argparse.Namespace, book: Book, at: datetime) -> str:
    from store.book.people import change_role

    one = _named(book, args.name)
    change_role(book, _acting(args, book, at), one.id, args.role)
    return f"{one.name} is {args.role} from now on."


def _left(args: argparse.Namespace, book: Book, at: datetime) -> str:
    from store.book.people import left

    one = _named(book, args.name)
    left(book, _acting(args, book, at), one.id, args.why)
    return f"{one.name} is no longer on the staff; all that they wrote stays."


def _passphrase(args: argparse.Namespace, book: Book, at: datetime) -> str:
    from store.book.act import Act
    from store.book.sign_in import asks_passphrase, set_passphrase

    one = _named(book, args.name)
    own = not args.person or _named(book, args.person).id == one.id
    act = Act(one.id, book.moment(at)) if own else _acting(args, book, at)
    asked = own and asks_passphrase(book, one.id)
    old = typed(f"The present passphrase of {one.name}:") if asked else ""
    new = typed(f"The new passphrase of {one.name}:")
    if typed("The same again:") != new:
        raise BadInput("The two were not the same; nothing was changed.")
    set_passphrase(book, act, one.id, new, old)
    return f"The passphrase of {one.name} is {'set' if new else 'taken away'}."


def _login(args: argparse.Namespace, book: Book, at: datetime) -> str:
    from store.book.sign_in import set_login

    one = _named(book, args.name)
    login = "" if args.login == "-" else args.login
    set_login(book, _acting(args, book, at), one.id, login)
    if not login:
        return f"{one.name} has no login at the server any more; run “pondround roles” again."
    return f"{one.name} comes as {login}; run “pondround roles” again."


def _acting(args: argparse.Namespace, book: Book, at: datetime) -> Act:
    return acting(book, args.person, at)


_DEEDS = {
    "add": _add, "left": _left, "login": _login, "passphrase": _passphrase, "role": _role,
}  # fmt: skip
