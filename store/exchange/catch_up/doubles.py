"""Who in a list may be somebody else in it, or in the book: with a score and the reasons in words.

Two names alone never make one client: a person says so. The weights are common practice, not
measured: they put the pairs in order, they decide nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from store.exchange.catch_up.addresses import ListedAddress, compared, street_words
from store.exchange.catch_up.folding import words
from store.exchange.catch_up.names import ListedName
from store.exchange.catch_up.telephones import looked_for_by, same_number

_NAME_SAME, _NAME_NEAR, _NAME_LIKE = 97.0, 90.0, 78.0
"""Likeness of two names in percent."""
_STREET_SAME, _STREET_LIKE = 95.0, 80.0
_SHOWN = 40
"""The least score of a pair that is shown."""
_CANDIDATE = 82
"""The least likeness of two names for being looked at where nothing else is shared."""
_CHUNK = 400


@dataclass(frozen=True, slots=True)
class Somebody:
    """A client as far as clients are compared; `key` tells them apart.

    `also` are names by which it was entered before it became one with another.
    """

    key: str
    name: ListedName
    phones: tuple[str, ...] = ()
    emails: tuple[str, ...] = ()
    addresses: tuple[ListedAddress, ...] = ()
    also: tuple[ListedName, ...] = ()


@dataclass(frozen=True, slots=True)
class Pair:
    """Two who may be one: `score` from 0 to 100, what speaks for it and what against."""

    one: str
    other: str
    score: int
    reasons: tuple[str, ...]
    against: tuple[str, ...]
    name_alone: bool
    """Nothing but the name speaks for it."""

    @property
    def said(self) -> str:
        """The reasons in one sentence."""
        text = "; ".join(self.reasons)
        return f"{text}; but {', '.join(self.against)}" if self.against else text


class _Evidence(NamedTuple):
    weight: float
    said: str


def compare(one: Somebody, other: Somebody) -> Pair:
    """How much speaks for two being one.

    Parameters
    ----------
    one, other
        The two.

    Returns
    -------
    Pair
        Its score is 100 times 1 less the product of what each reason leaves open, made smaller by
        what speaks against it.

    Examples
    --------
    >>> from store.exchange.catch_up.names import listed_name
    >>> first = Somebody("a", listed_name("Alder, Anne"), ("01632 960111",))
    >>> second = Somebody("b", listed_name("Mrs A. Alder"), ("+44 1632 960 111",))
    >>> pair = compare(first, second)
    >>> pair.reasons
    ('the telephone is the same (01632 960111)', 'the surname is the same, Anne and A. fit')
    """
    found: list[_Evidence] = []
    against: list[_Evidence] = []
    _telephones(one, other, found, against)
    _mails(one, other, found)
    named = _names(one.name, other.name)
    (found if named.weight > 0 else against).append(_Evidence(abs(named.weight), named.said))
    _addresses(one, other, found, against)
    left = 1.0
    for evidence in found:
        left *= 1.0 - evidence.weight
    score = 1.0 - left
    for evidence in against:
        score *= 1.0 - evidence.weight
    reasons = tuple(each.said for each in found if each.said)
    alone = bool(found) and all(each.said.startswith(("the name", "the surname")) for each in found)
    contrary = tuple(each.said for each in against if each.said)
    return Pair(one.key, other.key, round(100 * score), reasons, contrary, alone)


def doubles(
    listed: Sequence[Somebody],
    known: Sequence[Somebody] = (),
    told: Callable[[int, int], None] = lambda done, whole: None,
) -> tuple[Pair, ...]:
    """Pairs that a person is to look at, the likeliest first.

    Parameters
    ----------
    listed
        Those of the list, in its order; each is compared with the ones behind it.
    known
        Those of the book; they are not compared with each other.
    told
        Is told how many of the list have been compared, and how many there are.

    Returns
    -------
    tuple of Pair
        `one` is always of the list; `other` is further up the list, or in the book.
    """
    found = []
    for at, other in _candidates(listed, known, told):
        if isinstance(other, int):
            pair = compare(listed[max(at, other)], listed[min(at, other)])
        else:
            pair = compare(listed[at], other)
        if pair.score >= _SHOWN and pair.reasons:
            found.append(pair)
    order = {one.key: place for place, one in enumerate(listed)}
    return tuple(sorted(found, key=lambda pair: (-pair.score, order[pair.one], pair.other)))


def same_place(one: ListedAddress, other: ListedAddress) -> bool:
    """Whether two addresses are one place: the same, or spelt alike in the same town.

    Parameters
    ----------
    one, other
        The two.
    """
    if one.said.casefold() == other.said.casefold():
        return True
    evidence = place_evidence(one, other)
    return evidence is not None and evidence.said.startswith("the address is")


def _candidates(
    listed: Sequence[Somebody], known: Sequence[Somebody], told: Callable[[int, int], None]
) -> list[tuple[int, int | Somebody]]:
    """Who shares a number, a mail address or a place, or has a name like it."""
    everybody: list[tuple[int | None, Somebody]] = [
        *((place, one) for place, one in enumerate(listed)),
        *((None, one) for one in known),
    ]
    shared: dict[str, list[int]] = {}
    for at, (_place, one) in enumerate(everybody):
        for mark in set(_marks(one)):
            shared.setdefault(mark, []).append(at)
    pairs: set[tuple[int, int]] = set()
    for members in shared.values():
        if len(members) > _MOST_SHARED:
            continue  # a switchboard or a country's postcode says nothing
        for at, first in enumerate(members):
            if first < len(listed):
                pairs.update((first, second) for second in members[at + 1 :])
    pairs.update(_like_names(everybody, len(listed), told))
    return [
        (first, second if second < len(listed) else everybody[second][1])
        for first, second in sorted(pairs)
    ]


_MOST_SHARED = 60


def _marks(one: Somebody) -> Iterable[str]:
    for phone in one.phones:
        yield f"phone {looked_for_by(phone)}"
    for mail in one.emails:
        yield f"mail {mail.casefold()}"
    for address in one.addresses:
        if address.postcode:
            yield f"postcode {compared(address.postcode)}"
        if address.street:
            yield f"street {' '.join(street_words(address.street)[:3])}"


def _like_names(
    everybody: Sequence[tuple[int | None, Somebody]], listed: int, told: Callable[[int, int], None]
) -> Iterable[tuple[int, int]]:
    if not listed:
        return
    from rapidfuzz import fuzz, process

    texts = [one.name.compared for _place, one in everybody]
    for start in range(0, listed, _CHUNK):
        told(start, listed)
        likeness = process.cdist(
            texts[start : min(start + _CHUNK, listed)], texts,
            scorer=fuzz.token_sort_ratio, score_cutoff=_CANDIDATE,
        )  # fmt: skip
        rows, columns = likeness.nonzero()
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
            if column > start + row:
                yield start + row, column


def _telephones(
    one: Somebody, other: Somebody, found: list[_Evidence], against: list[_Evidence]
) -> None:
    for mine in one.phones:
        for theirs in other.phones:
            if same_number(mine, theirs):
                found.append(_Evidence(0.75, f"the telephone is the same ({mine})"))
                return
    if one.phones and other.phones:
        against.append(_Evidence(0.15, "the telephones differ"))


def _mails(one: Somebody, other: Somebody, found: list[_Evidence]) -> None:
    mine = {mail.casefold() for mail in one.emails}
    if shared := mine & {mail.casefold() for mail in other.emails}:
        found.append(_Evidence(0.8, f"the mail address is the same ({min(shared)})"))


def _names(one: ListedName, other: ListedName) -> _Evidence:
    """What the names say; a weight below zero speaks against."""
    from rapidfuzz import fuzz
    from rapidfuzz.distance import DamerauLevenshtein

    if one.firm or other.firm:
        likeness = fuzz.token_sort_ratio(one.compared, other.compared)
        part = fuzz.token_set_ratio(one.compared, other.compared)
        if likeness >= _NAME_SAME:
            return _Evidence(0.55, "the name is the same")
        if likeness >= _NAME_NEAR:
            return _Evidence(0.45, f"the name is spelt alike ({likeness:.0f} %)")
        if part >= _NAME_SAME and min(len(one.compared), len(other.compared)) >= 4:
            return _Evidence(0.3, "the name of the one is part of the other's")
        return _Evidence(-0.25, "the names differ")
    surname = 100.0 * DamerauLevenshtein.normalized_similarity(
        " ".join(one.surname), " ".join(other.surname)
    )
    whole = fuzz.token_sort_ratio(one.compared, other.compared)
    given = _given(one.given, other.given)
    if surname < _NAME_LIKE:
        # `SMITH JOHN` leaves open which of the two is the surname.
        if whole >= _NAME_SAME or sorted(words(one.shown)) == sorted(words(other.shown)):
            return _Evidence(0.45, "the names are the same, turned round")
        return _Evidence(-0.25, "the names differ")
    same = "is the same" if surname >= _NAME_SAME else f"is spelt alike ({surname:.0f} %)"
    weight = 0.35 if surname >= _NAME_SAME else 0.25
    if given == "same":
        return _Evidence(weight + 0.25, f"the name {same}")
    if given == "fit":
        mine, theirs = _said(one), _said(other)
        both = f"{mine} in both" if mine == theirs else f"{mine} and {theirs} fit"
        return _Evidence(weight + 0.1, f"the surname {same}, {both}")
    if not one.given and not other.given and surname >= _NAME_SAME:
        return _Evidence(0.5, "the name is the same")
    if given == "open":
        return _Evidence(weight, f"the surname {same}")
    return _Evidence(-0.25, f"the first names differ ({_said(one)}, {_said(other)})")


def _given(one: Sequence[str], other: Sequence[str]) -> str:
    """Whether first names are the same, may be (`A.` and `Anne`), are not said, or differ."""
    if not one or not other:
        return "open"
    if set(one) == set(other):
        return "same" if any(len(word) > 1 for word in one) else "fit"
    for mine in one:
        for theirs in other:
            if mine == theirs and len(mine) > 1:
                return "same" if len(one) == len(other) == 1 else "fit"
            short, long = sorted((mine, theirs), key=len)
            if long.startswith(short):
                return "fit"
    from rapidfuzz.distance import DamerauLevenshtein

    nearest = max(
        DamerauLevenshtein.normalized_similarity(mine, theirs) for mine in one for theirs in other
    )
    return "fit" if nearest >= 0.75 else "differ"


def _said(name: ListedName) -> str:
    return " ".join(word.capitalize() + ("." if len(word) == 1 else "") for word in name.given)


def _addresses(
    one: Somebody, other: Somebody, found: list[_Evidence], against: list[_Evidence]
) -> None:
    best: _Evidence | None = None
    compared_any = False
    for mine in one.addresses:
        for theirs in other.addresses:
            if not mine or not theirs:
                continue
            compared_any = compared_any or not _may_be_one(mine, theirs)
            evidence = place_evidence(mine, theirs)
            if evidence is not None and (best is None or evidence.weight > best.weight):
                best = evidence
    if best is not None:
        found.append(best)
    elif compared_any:
        against.append(_Evidence(0.15, "the addresses differ"))


def _may_be_one(mine: ListedAddress, theirs: ListedAddress) -> bool:
    """One of the two says less, and nothing of it is another: a town alone, in both."""
    if mine.postcode and theirs.postcode and compared(mine.postcode) != compared(theirs.postcode):
        return False
    if mine.town and theirs.town and words(mine.town) != words(theirs.town):
        return False
    return not (mine.street and theirs.street)


def place_evidence(mine: ListedAddress, theirs: ListedAddress) -> _Evidence | None:
    """What two addresses say for being one place: a weight from 0 to 1 and why; None for nothing.

    Parameters
    ----------
    mine, theirs
        Neither of them empty.
    """
    postcode = (
        bool(mine.postcode)
        and bool(theirs.postcode)
        and compared(mine.postcode) == compared(theirs.postcode)
    )
    if mine.postcode and theirs.postcode and not postcode:
        return None
    street = _likeness(mine.street, theirs.street)
    numbers = _figures(mine.street) == _figures(theirs.street)
    town = bool(mine.town) and words(mine.town) == words(theirs.town)
    near = postcode or town
    if street >= _STREET_SAME and numbers and (near or not (mine.town and theirs.town)):
        return _Evidence(0.55 if near else 0.35, "the address is the same")
    if street >= _STREET_LIKE and numbers and near:
        return _Evidence(0.4, f"the address is spelt alike ({street:.0f} %)")
    if postcode:
        return _Evidence(0.25, f"the postcode is the same ({mine.postcode})")
    return None


def _likeness(one: str, other: str) -> float:
    """How alike two streets are in percent; with house numbers a longer one may hold the other."""
    from rapidfuzz import fuzz

    mine, theirs = " ".join(street_words(one)), " ".join(street_words(other))
    if not mine or not theirs:
        return 0.0
    like = fuzz.token_sort_ratio(mine, theirs)
    if _figures(one) and _figures(other):
        like = max(like, fuzz.token_set_ratio(mine, theirs))
    return float(like)


def _figures(street: str) -> tuple[str, ...]:
    return tuple(sorted(word for word in words(street) if any(map(str.isdigit, word))))
