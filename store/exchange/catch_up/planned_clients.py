"""One client of a list as it would be saved, or what a client of the book gets from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from store.book.clients import Site
from store.book.tables import TableName
from store.errors import BadInput
from store.exchange.catch_up.addresses import ListedAddress
from store.exchange.catch_up.asking import Answers, Question, answered
from store.exchange.catch_up.clients_plan import PlannedClient, PlannedPond, PlannedSite
from store.exchange.catch_up.doubles import same_place
from store.exchange.catch_up.folding import squeezed, words
from store.exchange.catch_up.grouped import Group
from store.exchange.catch_up.known_clients import KnownClient, address_of
from store.exchange.catch_up.listed import ListedClient
from store.exchange.catch_up.pond_asking import planned_ponds
from store.exchange.catch_up.pond_remarks import ProposedPond
from store.exchange.catch_up.telephones import same_number
from store.exchange.plain.cells import cell_value

HOME = "Home"
"""How a site is called whose town the list does not name."""
_LISTED = "In the list"


def planned_client(
    group: Group, known: Mapping[str, KnownClient], said: Answers, file: str
) -> tuple[PlannedClient, tuple[Question, ...]]:
    """What becomes of one client of a list.

    Parameters
    ----------
    group
        The entries of the list that are this client.
    known
        The clients of the book by key.
    said
        What a person said.
    file
        The name of the file, for the notes.

    Returns
    -------
    tuple
        The client, and the questions about its sites and ponds.

    Raises
    ------
    BadInput
        A value that the book cannot keep, an answer that is none, or answers against each other.
    """
    if group.conflict:
        raise BadInput(group.conflict)
    one = group.client
    there = known.get(group.book)
    lines = tuple(sorted(row.line for row in one.rows))
    head = one.line
    name = _kept("client", "name", one.name.shown)
    if there is None:
        phone, phone2, email, over = _contacts(one)
        sites, questions = _new_sites(one, said)
        client = PlannedClient(
            _first(head, lines), "ask" if group.waits_for else "new", one.name.typed, name,
            phone, phone2, email, _notes([*_own_notes(one), *over]), sites,
            tuple(group.waits_for), doubts=one.doubts,
        )  # fmt: skip
        return client, questions
    changes, adds = _for_book(one, there)
    sites, questions = _sites_of(one, there, said)
    adds = (*adds, *_said_sites(sites))
    doubts = one.doubts
    if any(site.state == "ask" and not site.said for site in sites):
        doubts = (*doubts, f"{there.client.name} has several sites in the book and the list names "
                  "no address: its ponds are not taken")  # fmt: skip
    client = PlannedClient(
        _first(head, lines), "ask" if group.waits_for else "same", one.name.typed, name,
        there.client.phone, there.client.phone2, there.client.email, there.client.notes, sites,
        tuple(group.waits_for), there.client.id, there.client.rev, there.client.name, changes,
        adds, doubts,
    )  # fmt: skip
    return client, questions


def _first(head: int, lines: tuple[int, ...]) -> tuple[int, ...]:
    return (head, *(line for line in lines if line != head))


def _kept(table: TableName, column: str, text: str) -> str:
    """The text as the book keeps it, or the sentence why it cannot."""
    value = cell_value(table, column, text)
    assert isinstance(value, str)
    return value


def _contacts(one: ListedClient) -> tuple[str, str, str, list[str]]:
    """Two telephones and a mail address; what is more goes into the notes."""
    phones = [*one.phones, "", ""]
    over = [f"Telephone: {phone}" for phone in one.phones[2:]]
    over += [f"Mail: {mail}" for mail in one.emails[1:]]
    email = one.emails[0] if one.emails else ""
    return (
        _kept("client", "phone", phones[0]),
        _kept("client", "phone2", phones[1]),
        _kept("client", "email", email),
        over,
    )


def _own_notes(one: ListedClient) -> list[str]:
    lines = list(one.notes)
    if one.number:
        lines.append(f"Account {one.number}")
    if one.name.turned:
        lines.append(f"{_LISTED}: {one.name.typed}")
    return lines


def _notes(lines: Sequence[str]) -> str:
    return _kept("client", "notes", "\n".join(dict.fromkeys(line for line in lines if line)))


def _for_book(one: ListedClient, there: KnownClient) -> tuple[dict[str, str], tuple[str, ...]]:
    """What a client of the book gets from the list: empty fields, and lines of the notes."""
    have = there.client
    changes: dict[str, str] = {}
    adds: list[str] = []
    extra: list[str] = []
    for phone in one.phones:
        if any(same_number(phone, other) for other in there.phones):
            continue
        free = next(
            (
                field
                for field in ("phone", "phone2")
                if not getattr(have, field) and field not in changes
            ),
            None,
        )
        if free is None:
            extra.append(f"Telephone: {phone}")
        else:
            changes[free] = _kept("client", free, phone)
            adds.append(f"telephone {phone}")
    for mail in one.emails:
        if mail.casefold() in (have.email.casefold(), changes.get("email", "").casefold()):
            continue
        if have.email or "email" in changes:
            extra.append(f"Mail: {mail}")
        else:
            changes["email"] = _kept("client", "email", mail)
            adds.append(f"mail {mail}")
    extra += _own_notes(one)
    if sorted(words(one.name.shown)) != sorted(words(have.name)) and not one.name.turned:
        extra.append(f"{_LISTED}: {one.name.typed}")
    present = {squeezed(line).casefold() for line in have.notes.split("\n")}
    more = [
        line
        for each in dict.fromkeys(extra)
        for line in each.split("\n")
        if line.strip() and squeezed(line).casefold() not in present
    ]
    if more:
        changes["notes"] = _notes([*have.notes.split("\n"), *more] if have.notes else more)
        adds.append(f"notes “{more[0]:.60}”" + (f" and {len(more) - 1} more" * (len(more) > 1)))
    return changes, tuple(adds)


def _new_sites(
    one: ListedClient, said: Answers
) -> tuple[tuple[PlannedSite, ...], tuple[Question, ...]]:
    addresses: list[ListedAddress] = list(one.addresses)
    if not addresses and (one.ponds or one.proposed):
        addresses = [ListedAddress()]
    sites: list[PlannedSite] = []
    questions: list[Question] = []
    for at, address in enumerate(addresses):
        taken, proposed = _of_place(one, address, first=at == 0)
        ponds, asked = planned_ponds(one.line, one.name.shown, taken, proposed, (), said)
        questions.extend(asked)
        sites.append(_site(address, ponds, [each.name for each in sites]))
    return tuple(sites), tuple(questions)


def _of_place(
    one: ListedClient, address: ListedAddress, *, first: bool
) -> tuple[list[ProposedPond], list[ProposedPond]]:
    def here(pond: ProposedPond) -> bool:
        return pond.place == address or (pond.place is None and first)

    return [pond for pond in one.ponds if here(pond)], [p for p in one.proposed if here(p)]


def _site(
    address: ListedAddress, ponds: tuple[PlannedPond, ...], taken: Sequence[str]
) -> PlannedSite:
    name = address.town or HOME
    if name in taken:
        name = f"{name}, {address.street}"[:200] if address.street else f"{name} {len(taken) + 1}"
    return PlannedSite(
        _kept("site", "name", name), "new", _kept("site", "address", address.street),
        _kept("site", "town", address.town), _kept("site", "postcode", address.postcode), ponds,
    )  # fmt: skip


def _sites_of(
    one: ListedClient, there: KnownClient, said: Answers
) -> tuple[tuple[PlannedSite, ...], tuple[Question, ...]]:
    """The sites of a client who is in the book: found by address, filled, or asked for."""
    sites: list[PlannedSite] = []
    questions: list[Question] = []
    addresses: list[ListedAddress] = list(one.addresses)
    if not addresses and (one.ponds or one.proposed):
        addresses = [ListedAddress()]
    for at, address in enumerate(addresses):
        taken, proposed = _of_place(one, address, first=at == 0)
        found, fills, question, state = _place(one, address, there, said)
        if question is not None:
            questions.append(question)
        names = [pond.name for pond in there.ponds[found.id]] if found is not None else []
        ponds, asked = planned_ponds(one.line, one.name.shown, taken, proposed, names, said)
        planned = _site(address, ponds, [site.name for site in there.sites])
        if found is not None:
            planned = replace(
                planned, state="same", site_id=found.id, site_rev=found.rev, name=found.name,
                fills=fills,
            )  # fmt: skip
        elif state == "ask":
            planned = replace(
                planned,
                state="ask",
                ponds=tuple(replace(pond, state="ask") for pond in ponds),
            )
            asked = ()  # where they lie comes first
        sites.append(planned)
        questions.extend(asked)
    return tuple(sites), tuple(questions)


def _place(
    one: ListedClient, address: ListedAddress, there: KnownClient, said: Answers
) -> tuple[Site | None, bool, Question | None, str]:
    """The site of the book that is meant, whether it gets the address, a question, the state."""
    if not address:
        if len(there.sites) == 1:
            return there.sites[0], False, None, "same"
        return (None, False, None, "new") if not there.sites else (None, False, None, "ask")
    for site in there.sites:
        if same_place(address, address_of(site)):
            return site, False, None, "same"
    bare = [site for site in there.sites if not address_of(site)]
    if len(there.sites) == 1 and bare:
        return bare[0], True, None, "same"
    if not there.sites:
        return None, False, None, "new"
    key = f"address line {one.line} {address.said}"
    answer = answered(said, key, "address")
    places = "; ".join(address_of(site).said or site.name for site in there.sites)
    question = Question(
        key, "address", one.line,
        f"Is {address.said} one more site of {there.client.name} (line {one.line})?",
        f"the book has {places}; “same” leaves the book's address as it is", answer, None,
        (("client", one.name.shown), ("the list says", address.said)),
        tuple(("in the book", address_of(site).said or site.name) for site in there.sites),
    )  # fmt: skip
    if answer == "another":
        return None, False, question, "new"
    if answer == "same" and len(there.sites) == 1:
        return there.sites[0], False, question, "same"
    if answer == "same":
        raise BadInput(
            f"{there.client.name} has {len(there.sites)} sites in the book: which is meant by "
            f"{address.said} cannot be told. Answer “another”, or enter it by hand."
        )
    return None, False, question, "ask"


def _said_sites(sites: Sequence[PlannedSite]) -> list[str]:
    said = []
    for site in sites:
        if site.state == "new":
            said.append(f"site {site.said or site.name}")
        elif site.fills:
            said.append(f"address {site.said}")
        if site.state != "ask":
            said += [f"pond {pond.name}" for pond in site.ponds if pond.state == "new"]
    return said
