"""What a pasted text seems to tell, as plain values that wait for a person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, tzinfo
from typing import Literal

from store.exchange.columns import Question
from store.exchange.told.days import How
from store.water.understood import KitForms, ReadingValue

FoundKind = Literal["reading", "deaths", "water change", "sign", "dose", "feed", "number"]
TAKEN_KINDS: frozenset[FoundKind] = frozenset({"reading", "deaths", "water change", "sign"})


@dataclass(frozen=True, slots=True)
class Setting:
    """Where and when a text is read.

    `kit` is as what the pond's own kit reports; `own_names` are the people of the practice in
    small letters, whose words no owner has told.
    """

    kit: KitForms
    zone: tzinfo
    now: datetime
    own_names: frozenset[str] = frozenset()

    @property
    def today(self) -> date:
        """The present day of the practice."""
        return self.now.astimezone(self.zone).date()


@dataclass(frozen=True, slots=True)
class Message:
    """A piece of the text with its day and hour of writing, None where nobody has said them."""

    start: int
    end: int
    sender: str
    stamp: str
    written_on: date | None
    written_at: time | None
    own: bool
    """Whether somebody of the practice wrote it."""


@dataclass(frozen=True, slots=True)
class Found:
    """One thing that a text seems to tell.

    `raw` is the phrase as typed. `choices` are the readings that it may mean, the likeliest first;
    `dead` are fish found dead [count]; `event` is the code of an event of the book, `litres` what
    was changed [L]. Without any of them the phrase stays words and `why` says so. `doubt` is what
    a person has to look at before taking it. `day_how` and `clock_how` tell whether day and hour
    stand in the phrase, are those of the message, were reckoned, or have to be asked; `when_why`
    is the sentence for it.
    """

    key: str
    kind: FoundKind
    message: int
    raw: str
    becomes: str
    why: str
    choices: tuple[ReadingValue, ...] = ()
    dead: int | None = None
    species: str = ""
    event: str = ""
    litres: float | None = None
    doubt: str = ""
    day: date | None = None
    day_how: How = "asked"
    clock: time | None = None
    clock_how: How = "asked"
    clock_part: str = ""
    """The word that a supposed hour rests on, such as `this morning`."""
    when_why: str = ""

    @property
    def takeable(self) -> bool:
        """Whether it can become something in the book."""
        return bool(self.choices or self.event or self.dead is not None)

    @property
    def needs_clock(self) -> bool:
        """Whether it is kept with an hour: readings are, what belongs to a day is not."""
        return self.kind == "reading"


@dataclass(frozen=True, slots=True)
class Looked:
    """A text, its messages, what was found in it, what has to be asked of the whole of it."""

    text: str
    messages: tuple[Message, ...]
    found: tuple[Found, ...]
    questions: tuple[Question, ...]

    def of(self, found: Found) -> Message:
        """The message in which something was found."""
        return self.messages[found.message]
