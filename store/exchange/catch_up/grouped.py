"""Which entries of a list are one client, by a person's answers; who waits, who is in the book.

Joined without asking are only entries of the same name that share a number, a mail address or an
address and contradict each other in nothing: several rows of one client.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from store.exchange.catch_up.asking import Answers, Question, answered
from store.exchange.catch_up.doubles import Pair, Somebody, doubles
from store.exchange.catch_up.folding import words
from store.exchange.catch_up.listed import ListedClient, joined


@dataclass(slots=True)
class Group:
    """Entries of the list that are one client.

    `book` is the key of the client in the book, empty where it is not there; `waits_for` holds the
    keys of questions.
    """

    client: ListedClient
    members: list[int]
    book: str = ""
    by_person: bool = False
    waits_for: list[str] = field(default_factory=list)
    conflict: str = ""


@dataclass(frozen=True, slots=True)
class Grouped:
    """The groups in the order of the list, the questions about doubles, and what was joined."""

    groups: tuple[Group, ...]
    questions: tuple[Question, ...]
    joined_lines: tuple[tuple[int, int], ...]
    """Lines that were joined without asking: the later and the one it belongs to."""


def somebody(client: ListedClient) -> Somebody:
    """An entry of the list as it is compared.

    Parameters
    ----------
    client
        The entry.
    """
    return Somebody(
        f"line {client.line}", client.name, client.phones, client.emails, client.addresses
    )


def grouped(
    clients: Sequence[ListedClient],
    known: Sequence[Somebody],
    answers: Answers,
    *,
    brought_before: bool = False,
    pairs: Sequence[Pair] | None = None,
) -> Grouped:
    """Who of a list is whom.

    Parameters
    ----------
    clients
        The entries in their order.
    known
        The clients of the book.
    answers
        What a person said.
    brought_before
        This very file was brought in before: an entry of nothing but a name is then the client of
        that name, where there is one of that name alone in the list and in the book.
    pairs
        From `doubles`, where they were found before.

    Returns
    -------
    Grouped
        The later of two entries waits while it is open whether they are one.

    Raises
    ------
    BadInput
        An answer that is none.
    """
    listed = [somebody(one) for one in clients]
    by_key = {one.key: one for one in (*listed, *known)}
    at = {one.key: place for place, one in enumerate(listed)}
    if pairs is None:
        pairs = doubles(listed, known)
    head = list(range(len(clients)))
    without_asking = []
    for pair in sorted(pairs, key=lambda one: at[one.one]):
        if pair.other in at and surely(by_key[pair.one], by_key[pair.other], pair):
            _unite(head, at[pair.one], at[pair.other])
            without_asking.append((clients[at[pair.one]].line, clients[at[pair.other]].line))
    sure_in_book = _sure(listed, known, pairs, by_key, brought_before)
    # Where another line of the list is that client of the book, the lines are asked for alone.
    asked_by_line: dict[str, set[str]] = {}
    for pair in pairs:
        if pair.other in sure_in_book and pair.one not in sure_in_book:
            asked_by_line.setdefault(sure_in_book[pair.other], set()).add(pair.one)
    questions: list[Question] = []
    said: dict[tuple[str, str], str] = {}
    for pair in pairs:
        if pair.other in at and _root(head, at[pair.one]) == _root(head, at[pair.other]):
            continue
        mine, theirs = sure_in_book.get(pair.one), sure_in_book.get(pair.other)
        if pair.other in at and mine and theirs and mine != theirs:
            continue  # both are in the book already, as two
        if pair.other not in at and (mine or pair.one in asked_by_line.get(pair.other, ())):
            continue
        key = f"double {pair.one} = {pair.other}"
        answer = answered(answers, key, "double")
        said[pair.one, pair.other] = answer
        questions.append(_question(key, answer, pair, by_key, clients[at[pair.one]].line))
    for (one, other), answer in said.items():
        if answer == "same" and other in at:
            _unite(head, at[one], at[other])
    groups = _groups(clients, head)
    _decide(groups, said, at, sure_in_book)
    asked = {one for group in groups for one in group.waits_for}
    kept = tuple(one for one in questions if one.answer not in ("", "open") or one.key in asked)
    return Grouped(tuple(groups), kept, tuple(without_asking))


def surely(one: Somebody, other: Somebody, pair: Pair) -> bool:
    """Whether two are the same beyond asking: the same name, something shared, nothing against.

    Parameters
    ----------
    one, other
        The two.
    pair
        From comparing them.
    """
    same_name = sorted(words(one.name.shown)) == sorted(words(other.name.shown))
    shared = any(
        reason.startswith(("the telephone", "the mail", "the address is the same"))
        for reason in pair.reasons
    )
    return same_name and shared and not pair.against


def _sure(
    listed: Sequence[Somebody],
    known: Sequence[Somebody],
    pairs: Sequence[Pair],
    by_key: dict[str, Somebody],
    brought_before: bool,
) -> dict[str, str]:
    """Entries that are surely one client of the book, and only one."""
    in_list = {one.key for one in listed}
    found: dict[str, list[str]] = {}
    for pair in pairs:
        if pair.other not in in_list and surely(by_key[pair.one], by_key[pair.other], pair):
            found.setdefault(pair.one, []).append(pair.other)
    sure = {one: others[0] for one, others in found.items() if len(others) == 1}
    if brought_before:
        in_book = _by_name(known)
        for name, mine in _by_name(listed).items():
            theirs = in_book.get(name, [])
            if len(mine) == len(theirs) == 1 and _only_named(mine[0]):
                sure.setdefault(mine[0].key, theirs[0].key)
    return sure


def _by_name(people: Sequence[Somebody]) -> dict[tuple[str, ...], list[Somebody]]:
    found: dict[tuple[str, ...], list[Somebody]] = {}
    for one in people:
        for name in {tuple(sorted(words(name.shown))) for name in (one.name, *one.also)}:
            found.setdefault(name, []).append(one)
    return found


def _only_named(one: Somebody) -> bool:
    """Whether nothing but the name is known."""
    return not (one.phones or one.emails or one.addresses)


def _groups(clients: Sequence[ListedClient], head: list[int]) -> list[Group]:
    members: dict[int, list[int]] = {}
    for place in range(len(clients)):
        members.setdefault(_root(head, place), []).append(place)
    groups = []
    for places in members.values():
        whole = clients[places[0]]
        for place in places[1:]:
            whole = joined(whole, clients[place])
        groups.append(Group(whole, places))
    return groups


def _decide(
    groups: list[Group],
    said: dict[tuple[str, str], str],
    at: dict[str, int],
    sure: dict[str, str],
) -> None:
    group_of = {place: group for group in groups for place in group.members}
    key_of = {place: key for key, place in at.items()}
    for group in groups:
        chosen = dict.fromkeys(
            other
            for (one, other), answer in said.items()
            if answer == "same" and other not in at and at[one] in group.members
        )
        certain = dict.fromkeys(
            sure[key_of[place]] for place in group.members if key_of[place] in sure
        )
        both = [*dict.fromkeys([*chosen, *certain])]
        if len(both) > 1:
            group.conflict = (
                "It is said to be two clients of the book, who are not one there. Merge them in "
                "the book first, or answer anew."
            )
        elif both:
            group.book, group.by_person = both[0], bool(chosen)
    for (one, other), answer in said.items():
        if answer not in ("", "open"):
            continue
        mine = group_of[at[one]]
        if other in at:
            theirs = group_of[at[other]]
            if mine is theirs or (mine.book and theirs.book and mine.book != theirs.book):
                continue
            later = mine if min(mine.members) > min(theirs.members) else theirs
            later.waits_for.append(f"double {one} = {other}")
        elif not mine.book:
            mine.waits_for.append(f"double {one} = {other}")


def _question(
    key: str, answer: str, pair: Pair, by_key: dict[str, Somebody], line: int
) -> Question:
    one, other = by_key[pair.one], by_key[pair.other]
    where = pair.other if pair.other.startswith("line ") else "the book"
    asks = f"Is {one.name.shown} (line {line}) the same client as {other.name.shown} ({where})?"
    return Question(
        key, "double", line, asks, pair.said, answer, pair.score,
        (("from", f"line {line}"), *side(one)), (("from", where), *side(other)),
    )  # fmt: skip


def side(one: Somebody) -> tuple[tuple[str, str], ...]:
    """What is known of somebody, as label and value, to be looked at beside another.

    Parameters
    ----------
    one
        Of the list or of the book.
    """
    lines = [("name", one.name.typed)]
    if one.name.turned:
        lines.append(("as", one.name.shown))
    lines += [("telephone", phone) for phone in one.phones]
    lines += [("mail", mail) for mail in one.emails]
    lines += [("address", address.said) for address in one.addresses]
    return tuple(lines)


def _root(head: list[int], place: int) -> int:
    while head[place] != place:
        place = head[place]
    return place


def _unite(head: list[int], one: int, other: int) -> None:
    first, second = sorted((_root(head, one), _root(head, other)))
    head[second] = first
