"""Whose pond is meant where a file names a client, a number or nothing: asked once for each name.

A client by the exact name with one pond is that pond; with several, or under another name, a person
says which, and nothing is taken because it is alike.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from uuid import UUID

from store.book.book import Book
from store.book.ponds import PondCard, cards
from store.errors import BadInput, NotFound
from store.exchange.columns.question import Answer, Question
from store.exchange.columns.said import Said
from store.exchange.plain.whose import PondNames
from store.text import plain

LEFT_OUT = "ignore"
"""The answer that leaves out the rows of a name."""
_MOST_ANSWERS = 12


@dataclass(frozen=True, slots=True)
class Whose:
    """What a row says of its pond: code, name of the pond, name of the client, in its own words.

    `else_by` is by what it is asked for where all are empty, such as `report 26-1188`.
    """

    code: str = ""
    pond: str = ""
    client: str = ""
    else_by: str = ""

    @property
    def about(self) -> str:
        """By what it is asked for and answered."""
        named = ", ".join(part for part in (self.client, self.pond, self.code) if part)
        return plain(named or self.else_by)


@dataclass
class _Asked:
    question: Question
    lines: list[int] = field(default_factory=list)


class PondsAsked:
    """The ponds of a file's rows, and the questions that stay open.

    Parameters
    ----------
    book
        The practice's book; it is read once.
    said
        What a person said; `ponds` about a name.
    given
        The pond of the whole file, where a person named one: its key, code or name.

    Raises
    ------
    NotFound
        When no pond goes by what is given, or several do.
    """

    def __init__(self, book: Book, said: Said, given: str | UUID | None = None) -> None:
        self.names = PondNames(book)
        self._said = said
        self._given = self.names.one(given) if isinstance(given, str) and given else given or None
        self._cards = {card.pond.id: card for card in cards(book)}
        self._by_client: dict[str, list[PondCard]] = {}
        for card in self._cards.values():
            self._by_client.setdefault(_folded(card.client.name), []).append(card)
        self._asked: dict[str, _Asked] = {}

    @property
    def questions(self) -> tuple[Question, ...]:
        """What is open, in the order of the file."""
        return tuple(one.question for one in self._asked.values())

    def called(self, pond: UUID) -> str:
        """Client and pond, as they are called in the book."""
        card = self._cards.get(pond)
        return "" if card is None else f"{card.client.name}, {card.pond.name}"

    def of(self, whose: Whose, line: int, hint: UUID | None = None) -> UUID | None:
        """The pond of a row; None where it is asked for.

        Parameters
        ----------
        whose
            What the row says.
        line
            Where it stands.
        hint
            The pond that something else speaks for, such as the sample that a result is of; taken
            where the row names none, and no other client of the book.

        Raises
        ------
        BadInput
            When a person leaves these rows out, or the row names another pond than the one given.
        NotFound
            When the answer of a person names no pond, or several.
        """
        answer = self._said.get("ponds", whose.about) if whose.about else ""
        if answer.casefold() == LEFT_OUT:
            raise BadInput(f"“{whose.about:.60}” was left out, as a person said.")
        found = self._named(whose)
        if found is None and hint is not None and self._fits(whose, hint):
            found = hint
        if found is None and answer:
            return self.names.one(answer)
        if found is not None and self._given is not None and found != self._given:
            raise BadInput(
                f"The row is of {self.called(found)}, another pond than the one given for the file."
            )
        if found is None and self._given is not None:
            if not self._of_client(whose, self._given):
                raise BadInput(
                    f"The row is of {whose.client:.60}, and the pond given for the file is "
                    f"{self.called(self._given)}."
                )
            found = self._given
        if found is None:
            self._ask(whose, line)
        return found

    def _of_client(self, whose: Whose, pond: UUID) -> bool:
        """Whether a pond may be that of the client named: of no other client of the book."""
        card, client = self._cards.get(pond), _folded(whose.client)
        return client not in self._by_client or (
            card is not None and client == _folded(card.client.name)
        )

    def _fits(self, whose: Whose, hint: UUID) -> bool:
        card = self._cards.get(hint)
        if card is None or whose.pond or whose.code:
            return False
        return self._of_client(whose, hint)

    def _named(self, whose: Whose) -> UUID | None:
        for text in (
            whose.code,
            f"{whose.client}, {whose.pond}" if whose.client and whose.pond else whose.pond,
        ):
            if text:
                try:
                    return self.names.one(text)
                except NotFound:
                    continue
        if whose.client and not whose.pond and not whose.code:
            theirs = self._by_client.get(_folded(whose.client), [])
            if len(theirs) == 1:
                return theirs[0].pond.id
            if not theirs:  # the name in the file may be that of a pond
                try:
                    return self.names.one(whose.client)
                except NotFound:
                    return None
        return None

    def _ask(self, whose: Whose, line: int) -> None:
        known = self._asked.get(whose.about)
        if known is not None:
            known.lines.append(line)
            return
        theirs = self._by_client.get(_folded(whose.client), []) if whose.client else []
        said = f"“{whose.about:.60}”" if whose.about else "the file"
        if len(theirs) > 1 and not whose.pond:
            text = f"{said} has {len(theirs)} ponds (line {line} first). Which one is meant?"
        elif not whose.about:
            text = f"Nothing in the file says which pond it is of (line {line} first). Which one?"
        elif whose.code or whose.pond or whose.client:
            text = f"No pond of the book goes by {said} (line {line} first). Which one is meant?"
        else:
            text = f"Nothing says of which pond {said} is (line {line} first). Which one?"
        answers = [
            Answer(card.pond.code or str(card.pond.id), f"{card.client.name}, {card.pond.name}")
            for card in theirs[:_MOST_ANSWERS]
        ]
        answers.append(Answer(LEFT_OUT, "leave these rows out"))
        asks = "ponds" if whose.about else "pond"
        question = Question(asks, text, tuple(answers), about=whose.about)
        self._asked[whose.about] = _Asked(question, [line])


def _folded(text: str) -> str:
    return " ".join(plain(text).casefold().split())
