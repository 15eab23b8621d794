"""Rounds on screens in tests: days made by hand in place of those that the store plans."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from diary_on_screen import ASKS, quiet
from screen_text import a_moment, screen_text
from small_app import SmallApp
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.rounds.day.values import DayAsked, DayPlan, DayWish
from store.rounds.solving.halt import Halt
from tui.messages import BookChanged

ASKS.update({"round-ask", "late-ask", "agree-ask"})
__all__ = ["Planner", "RoundApp", "quiet", "replace_day", "round_app", "shows", "unframed"]


class RoundApp(SmallApp):
    """A small application that notes which ponds and clients were opened."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.opened: list[UUID] = []

    def changed(self) -> None:
        super().changed()
        for screen in self.screen_stack:
            screen.post_message(BookChanged())

    def open_pond(self, pond: UUID) -> None:
        self.opened.append(pond)

    def open_client(self, client: UUID) -> None:
        self.opened.append(client)


class Planner:
    """Stands in for what reads a day and plans it: a test says what comes out, and when."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, *plans: DayPlan) -> None:
        self.plans = {one.asked.wish.day: one for one in plans}
        self.wishes: list[DayWish] = []
        self.waits = False
        """Whether a plan is only there once it is halted, after one better answer."""
        self.ended = threading.Event()
        """Set once a search was halted."""
        monkeypatch.setattr("tui.screens.rounds.round.asked_for", self.asked_for)
        monkeypatch.setattr("tui.screens.rounds.round.planned", self.planned)

    def asked_for(
        self, book: Book, wish: DayWish, now: datetime, held: object
    ) -> tuple[DayAsked, object]:
        self.wishes.append(wish)
        plan = self.plans.get(wish.day)
        if plan is None:
            some = next(iter(self.plans.values())).asked
            return replace(some, wish=wish, errands=(), remarks=()), held
        return plan.asked, held

    def planned(
        self, asked: DayAsked, effort: float | None, halt: Halt,
        better: Callable[[DayPlan], None],
    ) -> DayPlan:  # fmt: skip
        plan = self.plans[asked.wish.day]
        if self.waits:
            with halt.ends(self.ended.set):
                better(plan)
                if not halt.stopped:
                    assert self.ended.wait(10)
        return plan


def round_app(
    book: Book, act: Act, tmp_path: Path, first: Callable[[], Screen[Any]], **more: Any
) -> RoundApp:
    """A small application that opens with that screen."""
    return RoundApp(book, act, first, tmp_path / "drafts.json", **more)


def replace_day(plan: DayPlan, day: date) -> DayPlan:
    """The same plan on another day."""
    wish = replace(plan.asked.wish, day=day)
    return replace(plan, asked=replace(plan.asked, wish=wish))


async def shows(pilot: Any, text: str) -> None:
    """Wait until a text stands on the screen."""
    for _ in range(600):
        await a_moment(0.01)
        if text in screen_text(pilot.app):
            return
    raise AssertionError(screen_text(pilot.app))


def unframed(app: Any) -> str:
    """What the screen says, without the frames that cut its sentences."""
    text = "".join(" " if one in "│▌▏▎" else one for one in screen_text(app))
    return " ".join(text.split())
