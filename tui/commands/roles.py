"""`pondround roles`: the SQL that makes the roles of a shared book; it is printed and never run."""

from __future__ import annotations

import argparse
from typing import Any

from store.errors import BadInput, NotFound
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of


def add_roles(commands: Any, parents: list[argparse.ArgumentParser]) -> None:
    """Add the command to the others.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` returned.
    parents
        The options that every command has.
    """
    roles = commands.add_parser(
        "roles", parents=parents, help="print the SQL for the roles of a shared book",
        description="For psql, run by the owner of the book: vets prescribe, everybody records and "
        "books, nobody takes away or writes in another's name, whatever they speak to the server "
        "with. There are no passwords in it.",
    )  # fmt: skip
    roles.add_argument(
        "--prefix", default="pondround", metavar="NAME",
        help="how the names of the roles begin; one for each book of a server [pondround]",
    )  # fmt: skip
    roles.add_argument(
        "--check", action="store_true", help="say instead what the server has otherwise"
    )


def run_roles(args: argparse.Namespace) -> int:
    """Print the script, or what is amiss; 1 where something is."""
    from store.book.server.server_roles import prefix_there, roles_missing
    from store.book.server.server_script import logins, script
    from tui.widgets.literal import one_line

    place = place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, now()) as book:
        if book.engine.dialect.name != "postgresql":
            raise BadInput(
                "Roles are for a shared book on PostgreSQL; this one is a file, which the "
                "permissions of the file guard. Name the shared one with --book."
            )
        if not args.check:
            print(script(logins(book), args.prefix), end="")
            return 0
        there = prefix_there(book)
        missing = roles_missing(book, there or args.prefix)
    for one in missing:
        print(one_line(one))
    if not missing and there is None:
        print("There are no roles: the script was never run here.")
    elif not missing:
        print("The roles are as they should be.")
    return 1 if missing else 0
