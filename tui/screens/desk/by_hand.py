"""What becomes of a day that was promised by hand: kept, moved, dropped, or all of it ended."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time
from typing import TYPE_CHECKING
from uuid import UUID

from store.diary.desk.about import About, about_of
from store.errors import PondroundError
from store.text import day_said
from tui.said import said_since
from tui.screens.desk.attempt import Done, PhoneScreen
from tui.screens.desk.when import WhenScreen
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.diary.desk.due import DueLine

Write = Callable[["Book", "Act"], None]
Before = tuple[tuple[str, date], ...]
"""Days missed before one: the name of each, and the calendar day on which it stands."""
BACK = "taken back at once"
DROP, END = "Drop it", "End all of it"


async def by_hand(screen: PhoneScreen, line: DueLine, key: UUID) -> None:
    """Kept today or on another day, moved, dropped with a reason, or ended for good.

    Within a worker of the screen; `key` is that of the follow-up.
    """
    options = [
        Option("today", "It was kept today"),
        Option("kept", "It was kept on another day"),
        Option("move", "Move it to another day", f"now {day_said(line.promised.due_on)}"),
        Option("drop", "Drop it, with a reason"),
    ]
    if line.promised.repeats:
        options[3] = Option("drop", "Drop this day, with a reason", "the others stay")
        options.append(Option("end", "End all of it, with a reason", line.promised.repeats))
    chosen = await screen.app.push_screen_wait(Choose(line.promised.says, options))
    if chosen == "move":
        _ask_moved(screen, line)
    elif chosen == "end":
        await end_all(screen, key, line.promised.says)
    elif chosen is not None:
        before = await _before_too(screen, line)
        if before is None:
            return
        if chosen == "today":
            today = screen.ponds_app.today()
            if await _write(screen, _keep(line, today, "", before)):
                _did(screen, line, "Kept today", before)
        elif chosen == "kept":
            _ask_kept(screen, line, before)
        else:
            await _ask_drop(screen, line, before)


async def _before_too(screen: PhoneScreen, line: DueLine) -> Before | None:
    """The days missed before it that are dropped with it; None where that was left."""
    from store.diary.kept.promised.follow_ups import missed_before

    app = screen.ponds_app
    try:
        missed = await app.ask_store(missed_before, app.book, line.promised.about, app.today())
    except PondroundError as trouble:
        app.tell(trouble)
        return None
    if not missed:
        return ()
    days = ", ".join(day_said(one.due_on) for one in missed[-3:])
    more = f", and {len(missed) - 3} before" if len(missed) > 3 else ""
    chosen = await app.push_screen_wait(
        Choose(
            f"Missed before it: {days}{more}",
            [
                Option("stay", "They stay to be done", "each is answered by itself"),
                Option("drop", "Drop them with it", "they stay to be read"),
            ],
        )
    )
    if chosen != "drop":
        return () if chosen == "stay" else None
    key = about_of(line.promised.about).key
    return tuple((str(About("hand", key, day=one.rule_day)), one.due_on) for one in missed)


def _ask_kept(screen: PhoneScreen, line: DueLine, before: Before) -> None:
    async def keep(act: Act, day: date, _hour: time | None, why: str) -> None:
        app = screen.ponds_app
        await app.ask_store(_keep(line, day, why, before), app.book, act)
        _did(screen, line, f"Kept {said_since(day, app.today())}", before)

    screen.app.push_screen(
        WhenScreen(
            f"Kept: {line.promised.says}", "The day on which it was kept, today or before.", keep,
            day="on_day", words="why", needs_words=False, words_label="Remark", ahead=False,
            draft=("kept", line.promised.about),
        )
    )  # fmt: skip


def _ask_moved(screen: PhoneScreen, line: DueLine) -> None:
    async def keep(act: Act, day: date, _hour: time | None, why: str) -> None:
        app = screen.ponds_app
        await app.ask_store(_move(line, day, why), app.book, act)
        _did(screen, line, f"Moved to {said_since(day, app.today())}", ())

    screen.app.push_screen(
        WhenScreen(
            f"Move: {line.promised.says}",
            f"It stands on {day_said(line.promised.due_on)}. The day before stays in the record.",
            keep, day="to", words="why", start=day_said(line.promised.due_on),
            draft=("move", line.promised.about),
        )
    )  # fmt: skip


async def _ask_drop(screen: PhoneScreen, line: DueLine, before: Before) -> None:
    own = line.promised
    title = f"{DROP}: {own.says}, {day_said(own.due_on)}"
    why = await _why(screen, own.about, DROP, title)
    if why and await _write(screen, _drop(line, why, before)):
        screen.ponds_app.drafts.of(DROP, own.about).drop()
        _did(screen, line, "Dropped", before)


async def end_all(screen: PhoneScreen, key: UUID, says: str) -> None:
    """End a follow-up with a reason: none of its days falls due any more.

    Within a worker of the screen.
    """
    why = await _why(screen, str(key), END, f"{END}: {says}")
    if why and await _write(screen, _end(key, why)):
        screen.ponds_app.drafts.of(END, str(key)).drop()
        screen.did(Done(f"ended: {says}", _resume(key)), f"Ended: {says.rstrip('.')}.")


async def _why(screen: PhoneScreen, name: str, what: str, title: str) -> str:
    draft = screen.ponds_app.drafts.of(what, name)
    answer = await screen.app.push_screen_wait(
        AskReason(
            title,
            "The reason stays in the record. Why?",
            accept=what,
            start=draft.values.get("why", ""),
            typed=lambda text: draft.keep({"why": text}),
        )
    )
    return answer.text if isinstance(answer, Reason) else ""


async def _write(screen: PhoneScreen, write: Write) -> bool:
    app = screen.ponds_app
    act = await app.acting()
    if act is None:
        return False
    try:
        await app.ask_store(write, app.book, act)
    except PondroundError as trouble:
        app.tell(trouble)
        return False
    return True


def _did(screen: PhoneScreen, line: DueLine, said: str, before: Before) -> None:
    """Say it at the foot; it is taken back with the days before it that were dropped with it."""
    whole = f"{said}: {line.promised.says.rstrip('.')}, {line.where}".rstrip(".")
    screen.did(Done(f"{whole[:1].lower()}{whole[1:]}", _take_back(line, before)), f"{whole}.")


# --- what is written -----------------------------------------------------------------------------


def _keep(line: DueLine, day: date, why: str, before: Before) -> Write:
    def write(book: Book, act: Act) -> None:
        from store.diary.kept.promised.follow_ups import keep_day

        with book.writing(act) as writing:
            keep_day(writing, line.promised.about, day, why=why, and_before=bool(before))

    return write


def _move(line: DueLine, day: date, why: str) -> Write:
    def write(book: Book, act: Act) -> None:
        from store.diary.kept.promised.follow_ups import move_day

        with book.writing(act) as writing:
            move_day(writing, line.promised.about, day, why)

    return write


def _drop(line: DueLine, why: str, before: Before) -> Write:
    def write(book: Book, act: Act) -> None:
        from store.diary.kept.promised.follow_ups import drop_day

        with book.writing(act) as writing:
            drop_day(writing, line.promised.about, why, and_before=bool(before))

    return write


def _end(key: UUID, why: str) -> Write:
    def write(book: Book, act: Act) -> None:
        from store.diary.kept.promised.follow_ups import end_follow_up, follow_up

        rev = follow_up(book, key).rev
        with book.writing(act) as writing:
            end_follow_up(writing, key, rev, why)

    return write


def _resume(key: UUID) -> Write:
    def write(book: Book, act: Act) -> None:
        from store.diary.kept.promised.follow_ups import follow_up, resume_follow_up

        rev = follow_up(book, key).rev
        with book.writing(act) as writing:
            resume_follow_up(writing, key, rev, BACK)

    return write


def _take_back(line: DueLine, before: Before) -> Write:
    """What opens the day where it stood, moved or not, and the days that were dropped with it."""

    def write(book: Book, act: Act) -> None:
        from store.diary.kept.promised.follow_ups import take_back_day

        with book.writing(act) as writing:
            for about, stood_on in ((line.promised.about, line.promised.due_on), *before):
                take_back_day(writing, about, BACK, stood_on)

    return write
