"""A pasted text looked through: what could be taken from it, why, and what stays words.

The reader of the typed line decides what a value means; its questions are kept. Nothing is taken
here: each line found waits for a person.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from store.errors import BadInput
from store.exchange.columns import Order
from store.exchange.told.clauses import (
    LONGEST_CLAUSE,
    blanked,
    clauses,
    has_unit,
    named,
    no_value,
    weak,
)
from store.exchange.told.dated import dated
from store.exchange.told.days import Said, said_in
from store.exchange.told.found import Found, FoundKind, Looked, Message, Setting
from store.exchange.told.message_days import MessageDays
from store.exchange.told.phrases import (
    OTHER_SIGN,
    SENTENCE_ENDS,
    SIGN_EVENTS,
    Phrase,
    beside,
    counts_fish,
    denied,
    not_now,
    phrases_of,
    several_days,
    taken_away,
)
from store.exchange.told.pieces import Piece, pieces_of
from store.facts.signs import signs
from store.text import plain
from store.water.line import understand
from store.water.understood import Doubt, ReadingValue, shown

_LONGEST_SHOWN = 200
_MOST_FOUND = 5_000
_MAY_READ = re.compile(r"[0-9]|nil|zero|trace|detect|n\.?d\.?\b", re.IGNORECASE)


def look(
    text: str,
    setting: Setting,
    *,
    sent: date | None = None,
    order: Order = "",
    year: int | None = None,
) -> Looked:
    """What a text tells, phrase by phrase.

    Parameters
    ----------
    text
        A message, several copied from a chat, or a diary of a paragraph a day.
    setting
        Where and when it is read.
    sent
        When what bears no day was written; without it relative days are asked.
    order
        Of day and month in figures, where the text itself does not show it.
    year
        In which a diary begins whose days are written without one.

    Returns
    -------
    Looked
        Everything found, in the order of the text. With a question open on order or year, the
        days that hang on it are asked.

    Raises
    ------
    BadInput
        More is found than anybody looks through.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from store.water.understood import KitForms
    >>> setting = Setting(KitForms(), UTC, datetime(2026, 4, 30, 9, 30, tzinfo=UTC))
    >>> told = "temp 17.5 this morning, two koi flashing, did a 20 % change on Sat, added salt"
    >>> for one in look(told, setting, sent=date(2026, 4, 30)).found:
    ...     print(one.kind, "|", one.becomes, "|", one.day)
    reading | 17.5 °C | 2026-04-30
    sign | another sign seen: rubs or flashes | 2026-04-30
    water change | water changed | 2026-04-25
    dose | stays words | None
    """
    whole = plain(text, lines=True)
    pieces = pieces_of(whole)
    messages, order, questions = dated(pieces, setting, sent, order, year)
    found: list[Found] = []
    for place, (piece, message) in enumerate(zip(pieces, messages, strict=True)):
        body = whole[piece.body : piece.end]
        for one in _Reader(setting, order, place, message, piece).read(body):
            found.append(one)
            if len(found) > _MOST_FOUND:
                raise BadInput(
                    f"More than {_MOST_FOUND:,} places of the text look like a value; nothing was "
                    "brought in. Bring it in by parts, such as a year of a diary."
                )
    return Looked(whole, messages, tuple(_keyed(found)), questions)


def _keyed(found: Sequence[Found]) -> Iterator[Found]:
    """Each with a key that stays the same while other parts of the text are written."""
    seen: dict[str, int] = {}
    for one in found:
        key = f"{one.kind}|{one.raw}|{one.choices[0].parameter if one.choices else one.event}"
        seen[key] = seen.get(key, 0) + 1
        yield replace(one, key=f"{key}|{seen[key]}")


@dataclass(frozen=True, slots=True)
class _Clause:
    """A part of a sentence, with what it says of its day."""

    raw: str
    said: Said
    masked: str


class _Reader:
    """Reads one message.

    Parameters
    ----------
    setting, order
        As for `look`.
    place
        Which message it is.
    message
        With its day.
    piece
        As it was cut.
    """

    def __init__(
        self, setting: Setting, order: Order, place: int, message: Message, piece: Piece
    ) -> None:
        self.setting = setting
        self.order = order
        self.place = place
        self.message = message
        self.days = MessageDays(setting, message, piece)

    def read(self, body: str) -> Iterator[Found]:
        """Everything in the words of the message."""
        idle: list[Said] = []
        for sentence in SENTENCE_ENDS.split(body):
            if not sentence or not sentence.strip():
                continue
            parts = [self._clause(one) for one in clauses(sentence)]
            found: list[tuple[Found, _Clause]] = []
            for clause in parts:
                found.extend((one, clause) for one in self._in_clause(clause))
                if len(found) > _MOST_FOUND:
                    break  # it is refused as it is
            if sentence.rstrip().endswith("?") and parts:
                found = [
                    (self._asked(one) if clause is parts[-1] else one, clause)
                    for one, clause in found
                ]
            telling = {id(clause) for one, clause in found if one.takeable}
            idle += [one.said for one in parts if one.said.word and id(one) not in telling]
            yield from self.days.joined([(one, clause.said) for one, clause in found], idle)

    def _clause(self, raw: str) -> _Clause:
        if len(raw) > LONGEST_CLAUSE:
            return _Clause(raw, Said(), "")
        said = said_in(raw, self.message.written_on, self.setting.today, self.order)
        return _Clause(" ".join(raw.split()).rstrip(" .,;:!"), said, blanked(raw, said.places))

    def _asked(self, one: Found) -> Found:
        if not one.takeable or one.doubt:
            return one
        return replace(one, doubt="The sentence asks, it does not tell.")

    def _in_clause(self, clause: _Clause) -> Iterator[Found]:
        if len(clause.raw) > LONGEST_CLAUSE:
            yield self._found(
                "number", replace(clause, raw=f"{clause.raw[:_LONGEST_SHOWN]} …"), "stays words",
                f"{len(clause.raw):,} characters without a comma or a full stop are not read. "
                "Part them, or enter what they tell by hand.",
            )  # fmt: skip
            return
        text = clause.masked
        phrases = phrases_of(text)
        left = blanked(text, [one.place for one in phrases if one.kind not in ("sign", "feed")])
        readings = list(self._readings(left, clause))
        yield from readings
        for phrase in phrases:
            if phrase.kind != "feed" or not any(one.takeable for one in readings):
                yield self._of_phrase(phrase, clause)

    # Readings

    def _readings(self, left: str, clause: _Clause) -> Iterator[Found]:
        if not _MAY_READ.search(left) and not named(left):
            return
        understood = understand(
            left, kit=self.setting.kit, now=self.setting.now, zone=self.setting.zone
        )
        against = (
            self._speaks_against(left, understood.doubts)
            or not_now(clause.raw)
            or beside(clause.raw)
        )
        for reading in understood.readings:
            doubt = against or weak(left, reading)
            if counts_fish(left, reading.typed):
                doubt = f"“{reading.typed}” seems to count fish. Was it measured?"
            yield self._found(
                "reading", clause, shown(reading), "Read as a line typed at the pond is.",
                choices=(reading,), doubt=doubt,
            )  # fmt: skip
        taken = bool(understood.readings)
        for one in understood.doubts:
            choices = tuple(dict.fromkeys([*([one.proposal] if one.proposal else []), *one.others]))
            if one.parameter and choices:
                taken = True
                yield self._found(
                    "reading", clause, " or ".join(shown(each) for each in choices),
                    one.question, choices=choices, doubt=one.question,
                )  # fmt: skip
            elif one.parameter or (choices and has_unit(one.typed)) or _bare(one, clause.raw):
                taken = True
                yield self._found("number", clause, "stays words", no_value(one))
        if not taken and (name := named(left)):
            why = f"“{name}” has no number beside it."
            if re.search("[0-9]", left):
                why = f"Which number is meant by “{name}” is not certain."
            yield self._found("number", clause, "stays words", why)

    @staticmethod
    def _speaks_against(left: str, doubts: Sequence[Doubt]) -> str:
        """Numbers and names that stand beside a reading and are not part of it."""
        for one in doubts:
            if not one.parameter and (re.search(r"[0-9]", one.typed) or named(one.typed)):
                return f"“{one.typed}” stands beside it. Is the number meant for this alone?"
        return "Something is denied here." if re.search(r"\bnot?\b", left, re.IGNORECASE) else ""

    # Everything else

    def _of_phrase(self, phrase: Phrase, clause: _Clause) -> Found:
        against = not_now(clause.raw)
        if phrase.kind == "dose":
            return self._found(
                "dose", clause, "stays words",
                "What went into the pond is never taken as a dose that was given. Enter it by "
                "hand where it belongs.",
            )  # fmt: skip
        if phrase.kind == "feed":
            return self._found("feed", clause, "stays words", "Feed is kept in words alone.")
        if phrase.kind == "deaths":
            return self._deaths(phrase, clause, against)
        if phrase.kind == "water change":
            if against or denied(clause.raw):
                why = against or "It says that none was done."
                return self._found("water change", clause, "stays words", why)
            if phrase.topped_up:
                return self._topped_up(phrase, clause)
            litres = "" if phrase.litres is None else f" {phrase.litres:g} L"
            why = "An event on that day. A share of the water stays in the note: how much that is "
            why += "hangs on the volume."
            return self._found(
                "water change", clause, f"water changed{litres}",
                "An event on that day." if litres else why,
                event="water_changed", litres=phrase.litres,
            )  # fmt: skip
        return self._sign(phrase, clause, against)

    def _deaths(self, phrase: Phrase, clause: _Clause, against: str) -> Found:
        if phrase.number is None:
            return self._found(
                "deaths", clause, "stays words", "How many died does not stand there."
            )
        if against:
            return self._found("deaths", clause, "stays words", against)
        fish = f" {phrase.species}" if phrase.species else ""
        span = several_days(clause.raw)
        doubt = "“About” is no count. Were there as many?" if phrase.about else ""
        if went := taken_away(clause.raw):
            doubt = f"“{went}”: were they found dead?"
        becomes = f"{phrase.number}{fish} dead" if phrase.number else "looked at, none dead"
        found = self._found(
            "deaths", clause, becomes, "A death count of that day.",
            dead=phrase.number, species=phrase.species,
            doubt=f"“{span}”: several days. On which was it?" if span else doubt,
        )  # fmt: skip
        if not span:
            return found
        return replace(found, day=None, day_how="asked", when_why=found.doubt)

    def _topped_up(self, phrase: Phrase, clause: _Clause) -> Found:
        litres = "" if phrase.litres is None else f" {phrase.litres:g} L"
        return self._found(
            "water change", clause, f"topped up untreated{litres}", "An event on that day.",
            event="topped_up", litres=phrase.litres,
            doubt="Was it mains water, and nothing in it against chlorine?",
        )  # fmt: skip

    def _sign(self, phrase: Phrase, clause: _Clause, against: str) -> Found:
        if against:
            return self._found("sign", clause, "stays words", against)
        codes = [one for one in phrase.signs if one in SIGN_EVENTS]
        words = ", ".join(signs()[one].words for one in phrase.signs)
        event = SIGN_EVENTS[codes[0]] if codes else OTHER_SIGN
        becomes = words if codes else f"another sign seen: {words}"
        return self._found(
            "sign", clause, becomes, "An event on that day; how many fish stays in the note.",
            event=event,
        )  # fmt: skip

    # Days

    def _found(
        self,
        kind: FoundKind,
        clause: _Clause,
        becomes: str,
        why: str,
        *,
        choices: tuple[ReadingValue, ...] = (),
        dead: int | None = None,
        species: str = "",
        event: str = "",
        litres: float | None = None,
        doubt: str = "",
    ) -> Found:
        found = Found(
            "", kind, self.place, clause.raw, becomes, why, choices, dead, species, event, litres,
            doubt,
        )  # fmt: skip
        if not found.takeable:
            return found
        if self.message.own:
            found = replace(
                found, doubt=f"{self.message.sender} of the practice wrote this, not the owner."
            )
        return self.days.timed(found, clause.said)


def _bare(one: Doubt, raw: str) -> bool:
    """Whether a phrase is little more than a number that nobody named."""
    return bool(re.fullmatch(r"[0-9.,]+", one.typed)) and len(raw.split()) <= 3
