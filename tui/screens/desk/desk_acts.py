"""What is done with what is due: opened, kept, moved, dropped, booked, promised, reminded of."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, time
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import PondroundError
from store.text import day_said
from tui.said import said_since
from tui.screens.desk.attempt import PhoneScreen, WhenScreen, Whom
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason

if TYPE_CHECKING:
    from textual.screen import Screen

    from store.book.act import Act
    from store.book.book import Book
    from store.diary.desk.due import DueLine
    from store.diary.kept.leads import Lead
    from tui.app import PondroundApp

GONE = "The record that keeps it is not in the book any more; f5 reads the list anew."


async def settle(screen: PhoneScreen, line: DueLine) -> None:
    """Open the record that keeps what is due; what was promised by hand is kept, moved or dropped.

    Within a worker of the screen.
    """
    from store.diary.kept.leads import lead_of

    app = screen.ponds_app
    try:
        lead = await app.ask_store(lead_of, app.book, line.promised)
    except PondroundError as trouble:
        app.tell(trouble)
        return
    if lead is None:
        app.notify(GONE, markup=False)
    elif lead.to == "by hand":
        await _by_hand(screen, line, lead.key)
    elif lead.to == "ring":
        await _ring(screen, line)
    else:
        app.push_screen(_page_of(lead))


def _page_of(lead: Lead) -> Screen[Any]:
    """The page of the record that keeps a promise."""
    if lead.to == "course":
        from tui.screens.courses.course import CourseScreen

        return CourseScreen(lead.key)
    if lead.to == "examination":
        from tui.screens.exams.examination_page import ExaminationPageScreen

        return ExaminationPageScreen(lead.key)
    if lead.to == "water test":
        from tui.screens.water.water_test import WaterTestScreen

        return WaterTestScreen(lead.key)
    if lead.to == "samples":
        from tui.screens.exams.specimens import SpecimensScreen

        return SpecimensScreen(lead.key)
    if lead.to == "concern":
        from tui.screens.morning.explain import ExplainScreen

        return ExplainScreen(lead.key)
    from tui.screens.desk.call_page import CallPageScreen

    return CallPageScreen(lead.key)


async def _ring(screen: PhoneScreen, line: DueLine) -> None:
    chosen = await screen.app.push_screen_wait(
        Choose(
            f"Ring back {line.client}",
            [
                Option("reached", "The client was reached", "it is done"),
                Option("again", "Ring again on another day"),
            ],
        )
    )
    if chosen == "reached":
        screen.action_log("reached")
    elif chosen == "again":
        screen.action_ring_again()


async def _by_hand(screen: PhoneScreen, line: DueLine, key: UUID) -> None:
    """Kept today or on another day, moved, dropped with a reason, or ended for good."""
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
        return
    if chosen == "end":
        await _ask_why(screen, line, "End all of it", _end, key)
        return
    before = None if chosen is None else await _before_too(screen, line)
    if before is None:
        return
    if chosen == "today":
        await _done(screen, line, "Kept today", _keep, None, "", before)
    elif chosen == "kept":
        _ask_kept(screen, line, before)
    else:
        await _ask_why(screen, line, "Drop it", _drop, before)


async def _before_too(screen: PhoneScreen, line: DueLine) -> bool | None:
    """Whether days before it that were missed are dropped with it; None where that was left."""
    from store.diary.kept.follow_ups import missed_before

    app = screen.ponds_app
    try:
        missed = await app.ask_store(missed_before, app.book, line.promised.about, app.today())
    except PondroundError as trouble:
        app.tell(trouble)
        return None
    if not missed:
        return False
    days = ", ".join(day_said(one.due_on) for one in missed[-3:])
    more = f", and {len(missed) - 3} before" if len(missed) > 3 else ""
    chosen = await app.push_screen_wait(
        Choose(
            f"Missed before it: {days}{more}",
            [
                Option(False, "They stay to be done", "each is answered by itself"),
                Option(True, "Drop them with it", "they stay to be read"),
            ],
        )
    )
    return chosen if isinstance(chosen, bool) else None


def _ask_kept(screen: PhoneScreen, line: DueLine, before: bool) -> None:
    async def keep(act: Act, day: date, _hour: time | None, why: str) -> None:
        await screen.ponds_app.ask_store(_keep, screen.ponds_app.book, act, line, day, why, before)
        _said(screen, line, f"Kept {said_since(day, screen.ponds_app.today())}")

    screen.app.push_screen(
        WhenScreen(
            f"Kept: {line.promised.says}", "The day on which it was kept, today or before.", keep,
            day="on_day", words="why", needs_words=False, words_label="Remark", ahead=False,
            draft=("kept", line.promised.about),
        )
    )  # fmt: skip


def _ask_moved(screen: PhoneScreen, line: DueLine) -> None:
    async def keep(act: Act, day: date, _hour: time | None, why: str) -> None:
        await screen.ponds_app.ask_store(_move, screen.ponds_app.book, act, line, day, why)
        _said(screen, line, f"Moved to {said_since(day, screen.ponds_app.today())}")

    screen.app.push_screen(
        WhenScreen(
            f"Move: {line.promised.says}",
            f"It stands on {day_said(line.promised.due_on)}. The day before stays in the record.",
            keep, day="to", words="why", start=day_said(line.promised.due_on),
            draft=("move", line.promised.about),
        )
    )  # fmt: skip


async def _ask_why(
    screen: PhoneScreen, line: DueLine, title: str, write: Callable[..., None], *more: Any
) -> None:
    draft = screen.ponds_app.drafts.of(title.casefold(), line.promised.about)
    answer = await screen.app.push_screen_wait(
        AskReason(
            f"{title}: {line.promised.says}",
            f"Promised for {day_said(line.promised.due_on)}. The reason stays in the record. Why?",
            accept=title,
            start=draft.values.get("why", ""),
            typed=lambda text: draft.keep({"why": text}),
        )
    )
    if isinstance(answer, Reason) and await _done(
        screen, line, "Dropped" if write is _drop else "Ended", write, answer.text, *more
    ):
        draft.drop()


async def _done(
    screen: PhoneScreen, line: DueLine, said: str, write: Callable[..., None], *more: Any
) -> bool:
    app = screen.ponds_app
    act = await app.acting()
    if act is None:
        return False
    try:
        await app.ask_store(write, app.book, act, line, *more)
    except PondroundError as trouble:
        app.tell(trouble)
        return False
    _said(screen, line, said)
    return True


def _said(screen: PhoneScreen, line: DueLine, said: str) -> None:
    screen.say(f"{said}: {line.promised.says}, {line.where}.")
    screen.ponds_app.changed()


def _keep(book: Book, act: Act, line: DueLine, day: date | None, why: str, before: bool) -> None:
    from store.diary.kept.follow_ups import keep_day

    with book.writing(act) as writing:
        keep_day(
            writing, line.promised.about, day or book.today(act.at), why=why, and_before=before
        )


def _move(book: Book, act: Act, line: DueLine, day: date, why: str) -> None:
    from store.diary.kept.follow_ups import move_day

    with book.writing(act) as writing:
        move_day(writing, line.promised.about, day, why)


def _drop(book: Book, act: Act, line: DueLine, why: str, before: bool) -> None:
    from store.diary.kept.follow_ups import drop_day

    with book.writing(act) as writing:
        drop_day(writing, line.promised.about, why, and_before=before)


def _end(book: Book, act: Act, line: DueLine, why: str, key: UUID) -> None:
    from store.diary.kept.follow_ups import end_follow_up, follow_up

    rev = follow_up(book, key).rev
    with book.writing(act) as writing:
        end_follow_up(writing, key, rev, why)


# --- booking, promising, reminding ---------------------------------------------------------------


def together(line: DueLine, others: Iterable[DueLine]) -> tuple[DueLine, ...]:
    """What one visit can keep: the line, and all else at its site whose window it shares."""
    own = line.promised
    return (
        line,
        *(
            one
            for one in others
            if one.promised.about != own.about
            and own.site_id is not None
            and one.promised.site_id == own.site_id
            and one.promised.needs == "visit"
            and one.booked is None
            and one.promised.first_on <= own.last_on
            and own.first_on <= one.promised.last_on
        ),
    )


async def book_line(screen: PhoneScreen, line: DueLine, others: Iterable[DueLine]) -> None:
    """Propose days and hours for what is due; what one visit can keep is booked together."""
    from tui.screens.diary.booking import BookingScreen

    app = screen.ponds_app
    try:
        wish = await app.ask_store(_wish_for, app.book, together(line, others))
    except PondroundError as trouble:
        app.tell(trouble)
        return
    app.push_screen(BookingScreen(wish))


async def book_place(screen: PhoneScreen, pond_id: UUID | None, site_id: UUID | None) -> None:
    """Propose days and hours for a pond or a site where nothing needs to be due."""
    from store.diary.kept.wishes import wish_of
    from tui.screens.diary.booking import BookingScreen

    app = screen.ponds_app
    try:
        wish = await app.ask_store(wish_of, app.book, pond_id=pond_id, site_id=site_id, kind="call")
    except PondroundError as trouble:
        app.tell(trouble)
        return
    app.push_screen(BookingScreen(wish))


def _wish_for(book: Book, lines: Iterable[DueLine]) -> Any:
    from store.diary.kept.wishes import wish_for

    return wish_for(book, [line.promised for line in lines])


def promise_to(app: PondroundApp, whom: Whom) -> None:
    """The form that promises something by hand."""
    from tui.screens.desk.promise import PromiseScreen

    app.push_screen(PromiseScreen(whom.client_id, whom.pond_id))


def take_call(app: PondroundApp, whom: Whom | None) -> None:
    """The question sheet of a new call."""
    from tui.screens.desk.call import CallScreen

    app.push_screen(CallScreen() if whom is None else CallScreen(whom.client_id, whom.pond_id))


def remind(app: PondroundApp, whom: Whom) -> None:
    """The text that reminds the owner of what is due."""
    from tui.screens.desk.reminder import ReminderScreen

    app.push_screen(ReminderScreen(whom.client_id))
