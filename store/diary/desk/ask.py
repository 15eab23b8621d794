"""Whom to ask for a thermometer reading: one line of that list, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from uuid import UUID

from store.diary.desk.due import Attempt


@dataclass(frozen=True, slots=True)
class Undecided:
    """A window of which a reading would decide whether the water lies in it.

    `chance` is the greatest of today and the days the rule looks ahead, 0 to 1, on `on_day`;
    `worth` is `min(chance, 1 - chance)` times `weight`. `weighs` tells why it weighs more than
    usual, empty where it does not. `band` is the window in words.
    """

    rule: str
    name: str
    band: str
    chance: float
    on_day: date
    weight: float
    worth: float
    weighs: str


@dataclass(frozen=True, slots=True)
class AskLine:
    """A pond that nobody has read today, and what a reading would decide.

    Temperatures are by estimate [°C]; four in five such estimates hold the water between `low_c`
    and `high_c`. `last_on` and `last_c` are the newest day that was measured and its mean.
    `waits` tells which course waits for the temperature, empty for none. `because` is all of it in
    a sentence, `weighed` the arithmetic. `going` names who of the practice is to be there today
    (`going_at` the hour where it is set) and can be asked in the owner's place; empty for nobody.
    """

    about: str
    client_id: UUID
    site_id: UUID
    pond_id: UUID
    client: str
    pond: str
    town: str
    phone: str
    phone2: str
    mean_c: float
    low_c: float
    high_c: float
    last_on: date | None
    last_c: float | None
    undecided: tuple[Undecided, ...]
    waits: str
    worth: float
    because: str
    weighed: str
    going: str
    going_at: time | None
    attempts: int
    last_attempt: Attempt | None

    @property
    def where(self) -> str:
        """Client and pond in one phrase, the pond left out where it says nothing new."""
        if not self.pond or self.pond == self.client:
            return self.client
        return f"{self.client}, {self.pond}"


@dataclass(frozen=True, slots=True)
class AskList:
    """The ponds of which one reading today would decide most, what is worth most first.

    Those at which nobody answered today stand behind the others. `asked` counts the ponds that
    were asked for today already and are left out. `learnt` is False where no estimate is at hand.
    """

    now: datetime
    today: date
    lines: tuple[AskLine, ...]
    asked: int
    learnt: bool
