"""Day and hour of what one message tells: as said, as of the message, as of its sentence, asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, time

from store.exchange.told.days import How, Said
from store.exchange.told.found import Found, Message, Setting
from store.exchange.told.pieces import Piece
from store.text import day_said


class MessageDays:
    """Gives what was found in a message its day and hour.

    Parameters
    ----------
    setting
        Where the text is read.
    message
        With its day and hour of writing.
    piece
        As it was cut.
    """

    def __init__(self, setting: Setting, message: Message, piece: Piece) -> None:
        self.setting = setting
        self.message = message
        self.piece = piece

    def timed(self, found: Found, said: Said) -> Found:
        """What was found with the day and the hour that its phrase names, else of the message.

        Parameters
        ----------
        found
            What was found.
        said
            What its phrase says of day and hour.
        """
        written = self.message.written_on
        how: How = "message"
        clock_how: How = "said"
        day, why = written, ""
        if said.word:
            day = said.day
            how = "asked" if day is None else "said" if said.written else "reckoned"
            why = said.asks
            if day is not None and not said.written:
                word = said.word.rstrip(" .")
                why = f"“{word}” is {day_said(day)}, reckoned from {day_said(written or day)}."
                if day == written:
                    why = f"“{word}” is the day of the message."
        elif written is None:
            how, why = "asked", "The text does not say the day."
        elif self.piece.weekday:
            how, why = "reckoned", f"“{self.piece.weekday}” stands over it: {day_said(written)}."
        elif self.piece.day is not None and not self.piece.clock:
            how, why = "said", f"{day_said(written)} stands over it."
        else:
            why = "It names no day: that of the message."
        if day is not None and day > self.setting.today:
            why = f"{day_said(day)} is still to come. Which day was it?"
            day, how = None, "asked"
        clock, part = said.clock, said.part
        if clock is not None and part and day is not None and self._ahead(day, clock):
            clock, part = None, ""
        if clock is not None and part:
            clock_how = "reckoned"
            if found.needs_clock:
                why = f"{why} No hour stands there: {clock:%H:%M} is supposed.".strip()
        elif clock is None:
            clock_how = "asked"
        return replace(
            found, day=day, day_how=how, clock=clock, clock_how=clock_how, clock_part=part,
            when_why=why,
        )  # fmt: skip

    def _ahead(self, day: date, clock: time) -> bool:
        """Whether an hour that is only supposed lies behind the writing, or is still to come."""
        if datetime.combine(day, clock, self.setting.zone) > self.setting.now:
            return True
        at = self.message.written_at
        return at is not None and day == self.message.written_on and clock > at

    def joined(self, found: list[tuple[Found, Said]], idle: Sequence[Said]) -> Iterator[Found]:
        """Readings of one sentence stand on the day that one of them names; of two, it is asked.

        Parameters
        ----------
        found
            What was found in the sentence, each with what its own phrase says.
        idle
            Days named so far by phrases that tell nothing else, such as `tested yesterday:`.
        """
        naming = {said.word: one for one, said in found if one.kind == "reading" and said.word}
        for one, said in found:
            if one.kind != "reading" or said.word or not one.takeable:
                yield self._hour_of_message(one)
                continue
            if len(naming) > 1:
                words = "”, “".join(naming)
                why = f"“{words}” stand in the same sentence. On which day was this?"
                yield replace(one, day=None, day_how="asked", when_why=why)
                continue
            if not naming:
                one = self._beside_idle(one, idle)  # noqa: PLW2901
            for word, other in naming.items():
                why = f"{other.when_why} “{word}” stands in the same sentence.".strip()
                one = replace(one, day=other.day, day_how=_less(other.day_how), when_why=why)  # noqa: PLW2901
                if one.clock is None and other.clock is not None:
                    one = replace(  # noqa: PLW2901
                        one, clock=other.clock, clock_how="reckoned", clock_part=other.clock_part
                    )
            yield self._hour_of_message(one)

    def _beside_idle(self, one: Found, idle: Sequence[Said]) -> Found:
        """A reading behind `tested yesterday:` is asked for its day; its hour is taken over."""
        if self.piece.weekday or (self.piece.day is not None and not self.piece.clock):
            return one  # a day stands over it
        others = [said for said in idle if said.day != self.message.written_on]
        if others:
            why = f"“{others[-1].word}” stands before it. On which day was this?"
            return replace(one, day=None, day_how="asked", when_why=why)
        for said in idle:
            if said.clock is not None and not self._ahead(
                said.day or self.setting.today, said.clock
            ):
                why = f"{one.when_why} “{said.word}” stands before it: {said.clock:%H:%M}."
                one = replace(
                    one, clock=said.clock, clock_how="reckoned", clock_part=said.part, when_why=why
                )  # fmt: skip
        return one

    def _hour_of_message(self, one: Found) -> Found:
        """The hour of writing is proposed where the phrase names none and lies on that day."""
        at = self.message.written_at
        if not one.needs_clock or one.clock is not None or at is None or not one.takeable:
            return one
        if one.day != self.message.written_on:
            return one
        if one.day_how == "message":
            why = "It names no day and no hour: those of the message."
        else:
            why = f"{one.when_why} It names no hour: that of the message is proposed.".strip()
        return replace(one, clock=at, clock_how="message", when_why=why)


def _less(how: How) -> How:
    return "reckoned" if how == "said" else how
