"""Finding a client or a pond from part of what one knows, misspelt too, while somebody waits.

All names, towns, streets, postcodes and telephone numbers are held in memory as folded words (no
capitals, no accents), read by one query and kept until a client, site or pond is written.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal
from uuid import UUID
from weakref import WeakKeyDictionary

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table

_UNFOLDED = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae",
                           "œ": "oe", "ı": "i", "'": None, "’": None, "ʼ": None})  # fmt: skip
_WORD = re.compile(r"[^\W_]+")
_NOT_DIGIT = re.compile(r"\D")

# How much a hit counts, of 1: the whole word, its beginning, its inside, nearly it.
_WHOLE, _BEGINNING, _INSIDE, _NEARLY = 1.0, 0.9, 0.75, 0.7
_NEAR_ENOUGH = 74.0
"""Similarity of two words in percent from which one counts as the other misspelt."""
_FEWEST_DIGITS = 3
_FIELDS = (
    ("client", 1.0), ("pond", 1.0), ("code", 1.0), ("telephone", 1.0), ("site", 0.97),
    ("postcode", 0.96), ("town", 0.95), ("street", 0.93), ("mail", 0.9),
)  # fmt: skip
_WEIGHTS = dict(_FIELDS)
_NAMED = {"site": "site", "address": "street", "town": "town", "postcode": "postcode"}


@dataclass(frozen=True, slots=True)
class Place:
    """A pond, with what is shown of its site and client in a list; nothing of it is struck."""

    pond_id: UUID
    site_id: UUID
    client_id: UUID
    pond: str
    code: str
    use: str
    volume_l: float | None
    site: str
    address: str
    town: str
    postcode: str
    client: str
    phone: str
    phone2: str
    email: str


@dataclass(frozen=True, slots=True)
class Found:
    """A client or a pond that fits what was typed, and why.

    `pond_id` and `site_id` are None where a client was found. `score` lies between 0 and 1.
    """

    kind: Literal["client", "pond"]
    client_id: UUID
    site_id: UUID | None
    pond_id: UUID | None
    client: str
    pond: str
    site: str
    town: str
    phone: str
    reason: str
    score: float


@dataclass(frozen=True, slots=True)
class Directory:
    """One page of all ponds by client and site, and how many there are."""

    places: tuple[Place, ...]
    fitting: int
    """How many fit what was typed, on this page or not."""
    total: int
    """How many stand in the book."""


def folded(text: str) -> str:
    """The text without capitals, accents and apostrophes, for comparing.

    Parameters
    ----------
    text
        A name or what was typed.

    Returns
    -------
    str
        Folded; letters of other scripts stay.

    Examples
    --------
    >>> folded("Château d'Ørsted")
    'chateau dorsted'
    """
    apart = unicodedata.normalize("NFKD", text.casefold().translate(_UNFOLDED))
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


@dataclass(slots=True)
class _Entry:
    found: Found
    texts: tuple[tuple[str, str], ...]
    """Field and its text, as shown."""
    digits: tuple[str, ...]
    order: tuple[str, ...]
    place: Place | None


class _Index:
    """The folded words of all entries, and where each stands."""

    def __init__(self, entries: list[_Entry], stamp: str) -> None:
        self.entries = entries
        self.stamp = stamp
        # Word to entry to the one of its texts in which the word counts most.
        self.postings: dict[str, dict[int, tuple[str, str]]] = {}
        for number, entry in enumerate(entries):
            for field, text in entry.texts:
                words = _WORD.findall(folded(text))
                joined = ["".join(words)] if 1 < len(words) <= 4 else []
                for word in [*words, *joined]:
                    stands = self.postings.setdefault(word, {})
                    if number not in stands or _WEIGHTS[field] > _WEIGHTS[stands[number][0]]:
                        stands[number] = field, text
        self.words = list(self.postings)

    def hits(self, typed: str) -> dict[int, tuple[float, str]]:
        """Entries with a word like the typed one: how well it fits, and the reason in words."""
        best: dict[int, tuple[float, str]] = {}
        for word, score in self._like(typed):
            spelt = "" if typed in word else "spelt "
            for number, (field, text) in self.postings[word].items():
                weighted = score * _WEIGHTS[field]
                if number not in best or weighted > best[number][0]:
                    best[number] = weighted, f"{field} {spelt}{text}"
        if typed.isdecimal() and len(typed) >= _FEWEST_DIGITS:
            for number, entry in enumerate(self.entries):
                score = best[number][0] if number in best else 0.0
                if score < _BEGINNING and any(typed in digits for digits in entry.digits):
                    best[number] = _BEGINNING, f"telephone has {typed}"
        return best

    def _like(self, typed: str) -> Iterator[tuple[str, float]]:
        sure = set()
        for word in self.words:
            if typed in word:
                sure.add(word)
                if word == typed:
                    yield word, _WHOLE
                elif word.startswith(typed):
                    yield word, _BEGINNING
                elif len(typed) > 1:
                    yield word, _INSIDE
        if len(typed) < 4 or typed.isdecimal():
            return
        from rapidfuzz import process
        from rapidfuzz.distance import DamerauLevenshtein

        nearly = DamerauLevenshtein.normalized_similarity
        cutoff = _NEAR_ENOUGH / 100.0
        # A letter left out makes the beginning that was meant longer, a doubled one shorter.
        lengths = range(len(typed) - (len(typed) > 4), len(typed) + 2)
        beginnings = ([word[:length] for word in self.words] for length in lengths)
        best: dict[int, float] = {}
        for words, discount in ((self.words, 1.0), *((part, 0.9) for part in beginnings)):
            found = process.extract(typed, words, scorer=nearly, score_cutoff=cutoff, limit=None)
            for _word, similarity, at in found:
                best[at] = max(best.get(at, 0.0), discount * similarity)
        for at, fits in best.items():
            if self.words[at] not in sure:
                yield self.words[at], _NEARLY * fits


_INDEXES: WeakKeyDictionary[Book, _Index] = WeakKeyDictionary()
"""Thrown away without loss: read again when the stamp of the three tables is another."""


def find(book: Book, text: str, limit: int = 20) -> tuple[Found, ...]:
    """Clients and ponds that fit what was typed, best first.

    Every word typed must be found in a name, code, street, town, postcode or mail address: whole,
    as a part, or misspelt; the order does not matter. Of telephone numbers only the digits are
    compared, any three or more in a row.

    Parameters
    ----------
    book
        The book.
    text
        What was typed.
    limit
        The most that are given.

    Returns
    -------
    tuple of Found
        A client before its ponds when both fit alike; empty when nothing was typed.
    """
    index = _index(book)
    return tuple(
        replace(entry.found, reason=reason, score=score)
        for entry, score, reason in _ranked(index, text)[:limit]
    )


def directory(
    book: Book, text: str = "", *, limit: int | None = None, offset: int = 0
) -> Directory:
    """All ponds by client, site and name, or those that fit what was typed.

    Parameters
    ----------
    book
        The book.
    text
        What was typed; empty for all.
    limit
        The most on this page; None for all.
    offset
        How many are passed over before the page.

    Returns
    -------
    Directory
        The page, with the counts of what is not on it.
    """
    index = _index(book)
    all_ponds = [entry for entry in index.entries if entry.place is not None]
    fitting = all_ponds
    if text.strip():
        chosen = {id(entry) for entry, _score, _reason in _ranked(index, text)}
        fitting = [entry for entry in all_ponds if id(entry) in chosen]
    page = fitting[offset:] if limit is None else fitting[offset : offset + limit]
    places = tuple(entry.place for entry in page if entry.place is not None)
    return Directory(places, len(fitting), len(all_ponds))


def _ranked(index: _Index, text: str) -> list[tuple[_Entry, float, str]]:
    typed = _WORD.findall(folded(text))
    scores: dict[int, tuple[float, str]] = {}
    if typed:
        hits = [index.hits(word) for word in typed]
        for number in set(hits[0]).intersection(*hits[1:]):
            each = [found[number] for found in hits]
            score = sum(hit[0] for hit in each) / len(each)
            scores[number] = score, ", ".join(dict.fromkeys(reason for _fits, reason in each))
    for number in _by_telephone(index, text):
        if number not in scores or scores[number][0] < _WHOLE:
            digits = _NOT_DIGIT.sub("", text)
            scores[number] = _WHOLE, f"telephone has {digits}"
    ranked = [(index.entries[number], score, why) for number, (score, why) in scores.items()]
    return sorted(ranked, key=lambda hit: (-round(hit[1], 3), hit[0].found.kind, hit[0].order))


def _by_telephone(index: _Index, text: str) -> Iterator[int]:
    """Entries whose number has the typed digits; with or without the code of the country."""
    digits = _NOT_DIGIT.sub("", text)
    if len(digits) < _FEWEST_DIGITS or re.search(r"[^\W\d_]", text):
        return
    wanted = {digits, digits.removeprefix("0")}
    if text.strip().startswith("+") or digits.startswith("00"):
        national = digits.removeprefix("00")
        wanted |= {"0" + national[code:] for code in (1, 2, 3) if len(national) - code >= 6}
    wanted = {part for part in wanted if len(part) >= _FEWEST_DIGITS}
    for number, entry in enumerate(index.entries):
        if any(part in phone for phone in entry.digits for part in wanted):
            yield number


def _index(book: Book) -> _Index:
    stamp = book.stamp("client", "site", "pond")
    index = _INDEXES.get(book)
    if index is None or index.stamp != stamp:
        index = _Index(_entries(book), stamp)
        _INDEXES[book] = index
    return index


def _entries(book: Book) -> list[_Entry]:
    """One entry a pond and one a client, by client, site and pond."""
    client, site, pond = table("client"), table("site"), table("pond")
    query = (
        select(
            pond.c.id.label("pond_id"), site.c.id.label("site_id"), client.c.id.label("client_id"),
            pond.c.name.label("pond"), pond.c.code, pond.c.use, pond.c.volume_l,
            site.c.name.label("site"), site.c.address, site.c.town, site.c.postcode,
            client.c.name.label("client"), client.c.phone, client.c.phone2, client.c.email,
        )
        .join_from(
            client, site, (site.c.client_id == client.c.id) & site.c.struck_at.is_(None),
            isouter=True,
        )
        .join(pond, (pond.c.site_id == site.c.id) & pond.c.struck_at.is_(None), isouter=True)
        .where(client.c.struck_at.is_(None))
    )  # fmt: skip
    with book.reading() as connection:
        rows: Sequence[Any] = connection.execute(query).all()
    owned: dict[UUID, list[Any]] = {}
    for row in rows:
        owned.setdefault(row.client_id, []).append(row)
    entries = [_client_entry(theirs) for theirs in owned.values()]
    entries += [_pond_entry(Place(*row)) for row in rows if row.pond_id is not None]
    return sorted(entries, key=lambda entry: entry.order)


def _pond_entry(place: Place) -> _Entry:
    found = Found(
        "pond", place.client_id, place.site_id, place.pond_id, place.client, place.pond,
        place.site, place.town, place.phone, "", 0.0,
    )  # fmt: skip
    texts = (
        ("pond", place.pond), ("code", place.code), ("client", place.client), ("site", place.site),
        ("street", place.address), ("town", place.town), ("postcode", place.postcode),
        ("mail", place.email),
    )  # fmt: skip
    order = (folded(place.client), folded(place.site), folded(place.pond), str(place.pond_id))
    return _Entry(found, texts, _digits((place.phone, place.phone2)), order, place)


def _client_entry(theirs: Sequence[Any]) -> _Entry:
    """A client with all sites; site columns are empty (None) for a client without one."""
    first = theirs[0]
    towns = ", ".join(dict.fromkeys(row.town for row in theirs if row.town))
    found = Found(
        "client", first.client_id, None, None, first.client, "", "", towns, first.phone, "", 0.0
    )
    fields = ("site", "address", "town", "postcode")
    texts = [("client", first.client), ("mail", first.email)]
    for row in theirs:
        texts += [(_NAMED[field], getattr(row, field) or "") for field in fields]
    order = (folded(first.client), "", "", str(first.client_id))
    return _Entry(found, tuple(texts), _digits((first.phone, first.phone2)), order, None)


def _digits(phones: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(digits for phone in phones if (digits := _NOT_DIGIT.sub("", phone)))
