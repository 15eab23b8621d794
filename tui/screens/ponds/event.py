"""Noting what happened to a pond, and what can be done with a note afterwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, cast

from textual.app import App

from store.errors import BadInput
from tui.said import said_since
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason, Tell
from tui.screens.ponds.pond_entry import PondEntry, written
from tui.widgets.fields import Field, Form

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.book.events import PondEvent
    from store.book.writing import Writing
    from store.courses.kept.leaving import Leaving
    from tui.app import PondroundApp

_CELLS = 34
"""As wide as the longest kind, so that hints stand under each other."""


class EventScreen(PondEntry):
    """One event: its kind, its day, and what belongs to it."""

    TITLE_SAID = "Event"
    DRAFT = "event"
    QUESTION = "What happened at this pond?"
    ABOUT = (
        "Fish added, water changed, a power cut: the rules ask for such things. A state that lasts "
        "(crowded, poor water, ice) has a first day and, when it is over, a last one. When treated "
        "fish leave the pond, the note must say what whoever receives them was told."
    )
    _leaving: Leaving | None = None
    _temp_c: float | None = None

    def prepare(self, book: Book, today: date) -> Sequence[Field]:
        """Kind, days, hazard, amount, note."""
        from store.book.events import EVENT_KINDS
        from store.courses.kept.leaving import leaving
        from store.courses.kept.water_now import water_now
        from store.courses.kept.withdrawal_of import withdrawal_of
        from store.facts.hazards import hazards

        self._temp_c = water_now(book, self.pond, self.ponds_app.now()).temperature_c
        self._leaving = leaving(withdrawal_of(book, self.pond, self.ponds_app.now()), today)
        kinds = tuple((code, kind.label) for code, kind in EVENT_KINDS.items())
        found = tuple(
            (code, hazard.plain_name)
            for code, hazard in sorted(hazards().items(), key=lambda one: one[1].plain_name)
        )
        return (
            Field("kind", "what", "", choices=kinds, width=_CELLS),
            Field("on_day", "day", "today, Mon, 12 Mar", "today", width=_CELLS),
            Field("at_time", "time", "09:30, or empty", width=_CELLS),
            Field("until_day", "until", "if it lasts", width=_CELLS),
            Field("hazard", "hazard", "where one was seen", choices=found, width=_CELLS),
            Field("amount", "how much", "", width=_CELLS),
            Field("note", "note", "in words", lines=3),
        )

    def ready(self, form: Form) -> None:
        """Say what the chosen kind means."""
        self._explain(form, form.values)

    def on_form_changed(self, changed: Form.Changed) -> None:
        """Another kind has another meaning."""
        if changed.name == "kind":
            changed.form.clear_errors()
            self._explain(changed.form, changed.values)

    def _explain(self, form: Form, values: Mapping[str, str]) -> None:
        from store.book.events import EVENT_KINDS
        from store.courses.kept.leaving import LEAVES

        kind = EVENT_KINDS.get(values["kind"])
        form.remark("kind", "enter chooses" if kind is None else kind.meaning)
        lasts = "empty: it still lasts" if kind and kind.lasts else "no last day for this"
        if kind is not None and kind.code == "not_for_eating":
            lasts = "last day; empty: not known yet"
        form.remark("until_day", None if kind is None else lasts)
        form.remark("amount", None if kind is None else kind.unit or "no amount for this")
        by_the_day = kind is not None and kind.code == "fish_died"
        form.remark("note", "kind, size, signs: the page of deaths, D" if by_the_day else None)
        if kind is not None and kind.code == "new_fish":
            form.remark("note", "in words; from where")
        if self._leaving is not None and values["kind"] in LEAVES:
            form.show_error(BadInput(self._leaving.said))

    def save(self, book: Book, act: Act, values: Mapping[str, str]) -> None:
        """Enter the event."""
        from store.book.days import typed_day, typed_time
        from store.book.events import record_event
        from store.courses.kept.leaving import LEAVES, leaving
        from store.courses.kept.withdrawal_of import withdrawal_of
        from store.courses.kept.written_withdrawal import KIND as WITHHELD
        from store.courses.kept.written_withdrawal import NEEDS_WORDS, typed_end
        from store.exams.new_fish import watch_new_fish
        from store.water.measures import quantity

        if not values["kind"]:
            raise BadInput("Please choose what happened. Nothing was saved yet.", field="kind")
        today = book.today(act.at)
        on_day = typed_day(values["on_day"], today, ahead=False)
        if on_day > today:
            raise BadInput(
                "This day lies ahead; an event is what has happened. Nothing was saved.",
                field="on_day",
            )
        hour = typed_time(values["at_time"])
        at = None if hour is None else datetime.combine(on_day, hour, book.zone)
        if at is not None and at > act.at:
            raise BadInput(
                "This time lies ahead; an event is what has happened. Nothing was saved.",
                field="at_time",
            )
        until, last_day = values["until_day"].strip(), None
        if until and values["kind"] == WITHHELD:
            last_day = typed_end(until, on_day, today)
        elif until:
            last_day = typed_day(until, today, ahead=False, field="until_day")
        if values["kind"] in NEEDS_WORDS and not values["note"].strip():
            raise BadInput(
                f"Please write in the note {NEEDS_WORDS[values['kind']]}. Nothing was saved.",
                field="note",
            )
        amount = None
        if values["amount"].strip():
            try:
                amount, _ = quantity(values["amount"], "amount")
            except BadInput as trouble:
                raise BadInput(trouble.message, field="amount") from trouble
        if values["kind"] in LEAVES and not values["note"].strip():
            told = leaving(withdrawal_of(book, self.pond, act.at), on_day)
            if told is not None and told.stops:
                raise BadInput(
                    f"{told.said} Please write in the note who receives them and what they were "
                    "told. Nothing was saved.",
                    field="note",
                )
        with book.writing(act) as writing:
            record_event(
                writing,
                self.pond,
                values["kind"],
                on_day,
                at=at,
                until_day=last_day,
                hazard=values["hazard"] or None,
                amount=amount,
                note=values["note"],
            )
        if values["kind"] == "new_fish":
            watch = watch_new_fish(on_day, self._temp_c)
            if watch is not None and watch.until >= today:
                self.app.notify(watch.said, title="New fish", markup=False, timeout=20)


async def open_event(app: App[Any], event: PondEvent) -> None:
    """What can be done with an event: say that it ended, strike it through, read its note."""
    from store.book.events import EVENT_KINDS

    kind = EVENT_KINDS.get(event.kind)
    label = event.kind if kind is None else kind.label
    if event.struck_at is not None:
        await app.push_screen_wait(Tell(label, f"Struck through: {event.struck_why}\n{event.note}"))
        return
    today = cast("PondroundApp", app).today()
    options = []
    if kind is not None and kind.lasts and event.until_day is None:
        options.append(Option("end", "it ended today"))
    options.append(Option("strike", "strike it through", "it stays readable"))
    if event.note:
        options.append(Option("read", "read the note", event.note[:40]))
    chosen = await app.push_screen_wait(
        Choose(f"{label}, {said_since(event.on_day, today)}", options)
    )
    if chosen == "end":
        await written(app, _end, event)
    elif chosen == "strike":
        reason = await app.push_screen_wait(AskReason("Strike this event through", "Why?"))
        if isinstance(reason, Reason):
            await written(app, _strike, event, reason.text)
    elif chosen == "read":
        await app.push_screen_wait(Tell(label, event.note))


def _end(writing: Writing, event: PondEvent) -> None:
    from store.book.events import end_event

    end_event(writing, event.id, event.rev, writing.book.today(writing.act.at))


def _strike(writing: Writing, event: PondEvent, why: str) -> None:
    writing.strike("pond_event", event.id, why, event.rev)
