"""An examination while it is typed: its fish, how each was entered, and the draft of all of it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING
from uuid import UUID
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from datetime import datetime

    from store.book.book import Book
    from store.courses.kept.exam_page import Warmth
    from store.exams.values import ExamFish

OCCASION = ("purpose", "on_day", "at_time", "examiner", "course", "note", "gear")
"""Texts of an examination that belong to no fish."""
_LINE, _FORM = "line:", "form:"


@dataclass(frozen=True, slots=True)
class Typed:
    """One fish as it was typed: in a line, or in the fields of a form."""

    line: str = ""
    texts: Mapping[str, str] | None = None

    @property
    def empty(self) -> bool:
        """Whether nothing was typed of it."""
        if self.texts is not None:
            return not any(text.strip() for text in self.texts.values())
        return not self.line.strip()

    def fish(self, nth: int) -> ExamFish:
        """The fish that was meant, with its number.

        Raises
        ------
        BadInput
            A field of the form, or a question of the line that is still open.
        """
        from store.errors import BadInput
        from store.exams.fish_form import read_fish_form
        from store.exams.line import understand_fish

        if self.texts is not None:
            return read_fish_form(self.texts, nth)
        understood = understand_fish(self.line, nth=nth)
        if understood.doubts:
            raise BadInput(f"Fish {nth}: {understood.doubts[0].question}", field="fish")
        return understood.fish

    def kept(self) -> str:
        """As a draft keeps it."""
        if self.texts is not None:
            return _FORM + json.dumps(dict(self.texts), ensure_ascii=False)
        return _LINE + self.line if self.line.strip() else ""

    @classmethod
    def of(cls, kept: str) -> Typed:
        """From a draft; what cannot be read there stands in the line as it is."""
        if kept.startswith(_FORM):
            try:
                texts = json.loads(kept[len(_FORM) :])
                return cls(texts={str(name): str(text) for name, text in texts.items()})
            except (ValueError, AttributeError):
                return cls(kept[len(_FORM) :])
        return cls(kept.removeprefix(_LINE))


@dataclass(slots=True)
class Sheet:
    """Everything that was typed: the fish before the one that is typed now, that one, the rest.

    `at` is the place of the fish that is typed now, from 0; behind the last it is a new one.
    `aside` is what was begun of a new fish while one before it is open again.
    """

    texts: dict[str, str] = field(default_factory=dict)
    fish: list[Typed] = field(default_factory=list)
    now: Typed = field(default_factory=Typed)
    at: int = 0
    aside: Typed = field(default_factory=Typed)

    @property
    def empty(self) -> bool:
        """Whether no fish was typed at all."""
        return not self.fish and self.now.empty and self.aside.empty

    def add(self, line: str) -> None:
        """More words for the fish that is typed now; those of a form stay, and the words wait."""
        if self.now.texts is not None:
            self.aside = Typed("; ".join(part for part in (self.aside.line, line) if part.strip()))
        else:
            self.now = Typed("; ".join(part for part in (self.now.line, line) if part.strip()))

    def take(self) -> None:
        """The fish that is typed now stands among the others; the next one is a new one."""
        if self.at < len(self.fish):
            self.fish[self.at] = self.now
        else:
            self.fish.append(self.now)
        self.now, self.aside, self.at = self.aside, Typed(), len(self.fish)

    def open(self, place: int) -> None:
        """One of the fish is typed again; what was begun of a new one waits."""
        if self.at >= len(self.fish):
            self.aside = self.now
        self.now, self.at = self.fish[place], place

    def leave(self) -> None:
        """The fish that was opened again stays as it was."""
        self.now, self.aside, self.at = self.aside, Typed(), len(self.fish)

    def without(self, place: int) -> None:
        """One of the fish is put away; the others move up."""
        del self.fish[place]
        if self.at > place:
            self.at -= 1
        elif self.at == place and self.at < len(self.fish) + 1:
            self.leave()

    def kept(self) -> dict[str, str]:
        """As a draft keeps it."""
        values = {name: text for name, text in self.texts.items() if text.strip()}
        values |= {f"fish.{n}": one.kept() for n, one in enumerate(self.fish, start=1)}
        values |= {"now": self.now.kept(), "aside": self.aside.kept()}
        if self.at < len(self.fish):
            values["at"] = str(self.at + 1)
        return {name: text for name, text in values.items() if text}

    @classmethod
    def of(cls, values: Mapping[str, str]) -> Sheet:
        """From a draft."""
        numbers = sorted(
            int(name[5:]) for name in values if name.startswith("fish.") and name[5:].isdecimal()
        )
        fish = [Typed.of(values[f"fish.{number}"]) for number in numbers]
        at = values.get("at", "")
        place = int(at) - 1 if at.isdecimal() else len(fish)
        return cls(
            texts={name: values[name] for name in OCCASION if name in values},
            fish=fish,
            now=Typed.of(values.get("now", "")),
            at=min(max(place, 0), len(fish)),
            aside=Typed.of(values.get("aside", "")),
        )


@dataclass(frozen=True, slots=True)
class Beginning:
    """What the screen begins with; `courses` are those that may be controlled."""

    where: str
    zone: ZoneInfo
    today: date
    warmth: Warmth | None
    purpose: str
    courses: tuple[tuple[str, str], ...]


def begin(book: Book, pond: UUID, now: datetime, course: UUID | None) -> Beginning:
    """Read what the screen begins with; runs in a thread.

    Raises
    ------
    PondroundError
        No such pond, or the book cannot be read.
    """
    from store.book.ponds import card
    from store.courses.kept.exam_page import purpose_of, temperature_at
    from store.courses.kept.records import courses_of
    from store.courses.kept.under_way import course_name
    from store.text import day_said
    from tui.screens.ponds.pond_lines import head_name

    courses = []
    for one in courses_of(book, pond):
        if one.started_on is not None:
            begun = day_said(one.started_on)
            courses.append((str(one.id), f"{begun}: {course_name(one.plan)}"))
    return Beginning(
        where=head_name(card(book, pond)),
        zone=book.zone,
        today=book.today(now),
        warmth=temperature_at(book, pond, now),
        purpose="control" if course is not None else purpose_of(book, pond),
        courses=tuple(courses),
    )
