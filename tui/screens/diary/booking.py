"""Booking a visit, or moving one: proposed slots, and what speaks against each day and hour."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from datetime import date, timedelta
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.screen import Screen
from textual.widgets import OptionList
from textual.widgets.option_list import Option as ListOption

from store.errors import BadInput, PondroundError
from tui.screens.diary.booking_said import (
    Typed,
    from_slot,
    objections_at,
    said_booked,
    said_day_typed,
    said_search,
    said_what,
    slot_said,
    typed,
    wish_typed,
)
from tui.screens.diary.booking_slots import Slots
from tui.screens.diary.booking_work import (
    Looked,
    Opened,
    SitesStood,
    look,
    opened,
    proposal_for,
    write,
)
from tui.screens.diary.diary_lines import NOBODY, said_length, said_load, said_spells
from tui.screens.parts.abstract import drafts_of
from tui.screens.parts.dialogs import Choose, Option
from tui.screens.parts.help import HELP, open_help
from tui.widgets.fields import Form, FormField
from tui.widgets.foot import Foot
from tui.widgets.literal import literal, one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.diary.booking.slots import Proposal
    from store.diary.booking.values import Slot, Visiting, Wish
    from tui.app import PondroundApp
    from tui.messages import BookChanged


_SAVING = "entry-save"
_TALL = 32
"""From so many lines on all that is told of a search finds room beside the form."""
_FURTHEST = timedelta(days=366)
"""Beyond it the search for a free hour begins again."""


class BookingScreen(Screen[UUID | None]):
    """A form for day, hour, vet and length, with proposed slots before it.

    Dismissed with the key of the visit, or None.

    Parameters
    ----------
    wish
        What is to be booked.
    visit
        The visit that is moved; None books a new one.
    """

    CSS_PATH = ["../sheets/booking.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (70, "-wide"), (110, "-broad")]  # noqa: RUF012
    QUESTION = "When does somebody go there, who, and what speaks against it?"
    ABOUT = (
        "At first the best slots, each with its reasons: ↑ ↓ choose, enter puts one into the form; "
        "F5 shows later ones, F7 those of the vet in the form. In the form every day and hour can "
        "be typed; what speaks against it is told beside the field at once, also that a vet would "
        "come to a clean pond after a sick one on that day. What cannot be is not "
        "booked; what only speaks against it is booked when the reason is given in writing. F2 "
        "books. Where somebody else took the slot meanwhile, that is told, what was typed stays, "
        "and new slots are proposed."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("f5", "later", "later slots", key_display="F5", id="booking.later",
                tooltip="Slots after those that are shown; after the last, from the beginning"),
        Binding("f7", "of_vet", "this vet's", key_display="F7", id="booking.of_vet",
                tooltip="Slots of the vet in the form only, or of everybody again"),
        Binding("f3", "day", "that day", key_display="F3", id="booking.day",
                tooltip="The diary of the day in the form"),
        Binding("escape", "back", "back", id="booking.back",
                tooltip="Back one step; what was typed is kept"),
    ]  # fmt: skip
    DRAFT = "booking"

    def __init__(self, wish: Wish, *, visit: Visiting | None = None) -> None:
        super().__init__()
        self.wish, self.visit = wish, visit
        self._proposal: Proposal | None = None
        self.looked: Looked | None = None
        self._asked = wish
        """For what the slots were proposed."""
        self._opened: Opened | None = None
        self._form: Form | None = None
        """The form, once its fields can be typed in."""
        self._first: date | None = None
        self._only: UUID | None = None
        self._stood = SitesStood()

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @property
    def _head(self) -> str:
        return "Move the visit" if self.visit is not None else "Book a visit"

    def compose(self) -> ComposeResult:
        """Head, what it is for, the slots; the form comes once its fields are read."""
        yield Top(self._head, id="booking-head")
        yield Static("", id="booking-what", markup=False)
        yield Line()
        with Container(id="booking-middle"), Vertical(id="booking-proposed"):
            yield Static("looking for slots …", id="booking-said", markup=False)
            yield Slots(id="booking-slots")
        yield Foot()

    def on_mount(self) -> None:
        """The slots have the keys; they are reckoned behind the first paint."""
        self.query_one("#booking-what").display = False
        self.query_one(Slots).focus()
        self.watch(self, "focused", self._follow_focus)
        self._prepare()
        self._propose()

    def _who_is(self, key: UUID | None) -> str:
        names = self._opened.names if self._opened is not None else {}
        return one_line(names.get(key, "")) or NOBODY if key is not None else NOBODY

    @property
    def slots(self) -> tuple[Slot, ...]:
        """The slots that are proposed."""
        return () if self._proposal is None else self._proposal.slots

    # Reading

    @property
    def _draft_key(self) -> str:
        if self.visit is not None:
            return f"move-{self.visit.id}"
        if self.wish.purposes:
            return self.wish.purposes[0].about
        return str(self.wish.pond_id or self.wish.site_id)

    @work(group="entry-read", exclusive=True)
    async def _prepare(self) -> None:
        app = self.ponds_app
        try:
            begun = await app.ask_store(opened, app.book, self.wish, self.visit)
        except PondroundError as trouble:
            self.query_one("#booking-said", Static).update(literal(trouble.message))
            app.tell(trouble)
            return
        self._opened = begun
        self.query_one(Top).place = f"{self._head}: {begun.place.name}"
        form = Form(begun.fields, draft=drafts_of(app).of(self.DRAFT, self._draft_key))
        await self.query_one("#booking-middle").mount(form)
        self._form = form
        self._show_what()
        if self._proposal is not None and not self.slots:
            self._leave_slots()
        # The form takes its share of the width.
        self.call_after_refresh(self._show_slots)
        self._follow(form)

    def on_book_changed(self, changed: BookChanged) -> None:
        """Somebody else wrote: what speaks against what is typed; new slots, if none is chosen."""
        form = self._form
        if changed.own or form is None:
            return
        self._stood = SitesStood()
        self._follow(form)
        if form.has_focus_within:
            self._propose()

    def _show_what(self) -> None:
        if self._opened is None:
            return
        what = self.query_one("#booking-what", Static)
        what.display = True
        today = self.ponds_app.today()
        what.update(said_what(self.wish, self._opened.place, today, self.size.width - 2))

    def on_resize(self) -> None:
        """Lines are cut for the width there is."""
        self.call_after_refresh(self._show_what)
        self.call_after_refresh(self._show_slots)

    def _follow_focus(self) -> None:
        """Where somebody types in the form, it gets the room."""
        form = self._form
        self.set_class(form is not None and form.has_focus_within, "-typing")

    # The slots

    @work(group="booking-slots", exclusive=True)
    async def _propose(self) -> None:
        await self._new_slots()

    async def _new_slots(self) -> None:
        app = self.ponds_app
        said = self.query_one("#booking-said", Static)
        self._asked = wish = self._wish_now()
        try:
            found = await app.ask_store(
                proposal_for, app.book, app.now(), wish, self.visit, self._stood, self._only,
                self._first,
            )  # fmt: skip
        except PondroundError as trouble:
            said.update(literal(trouble.message))
            return
        self._proposal = found
        self._show_slots()
        slots = self.query_one(Slots)
        slots.highlighted = 0 if self.slots else None
        if not self.slots:
            self.call_after_refresh(self._leave_slots)
        self.refresh_bindings()

    def _show_search(self) -> None:
        if self._proposal is not None:
            only = self._who_is(self._only) if self._only else ""
            width = self.query_one("#booking-proposed").size.width - 2
            said = said_search(
                self._proposal.said, only, self.ponds_app.today(), width,
                tall=self.size.height >= _TALL,
            )  # fmt: skip
            self.query_one("#booking-said", Static).update(said)

    def _leave_slots(self) -> None:
        """Where no slot is left to choose, one goes on in the form."""
        form = self._form
        if form is not None and not form.has_focus_within:
            form.query(FormField).first().entry.focus()

    def _show_slots(self) -> None:
        if self._proposal is None:
            return
        self._show_search()
        slots, today = self.query_one(Slots), self.ponds_app.today()
        # Without the empty cell at either side and the bar to scroll with.
        width = self.query_one("#booking-proposed").size.width - 3
        here = slots.highlighted
        slots.clear_options()
        slots.add_options([ListOption(slot_said(one, today, width)) for one in self.slots])
        slots.highlighted = here if self.slots and here is not None else None
        slots.display = bool(self.slots)

    def _wish_now(self) -> Wish:
        form = self._form
        if form is None or self.looked is None:
            return self.wish
        return wish_typed(self.wish, form.values, self.looked.typed.minutes)

    @on(OptionList.OptionSelected)
    def _taken(self, chosen: OptionList.OptionSelected) -> None:
        form = self._form
        if form is None or chosen.option_index >= len(self.slots):
            return
        form.fill(from_slot(self.slots[chosen.option_index]))
        form.query(FormField).first().entry.focus()

    # What follows from what is typed

    @on(Form.Changed)
    def _changed(self, changed: Form.Changed) -> None:
        lengths = self._opened.lengths if self._opened is not None else {}
        usual = lengths.get(changed.values.get("kind", ""))
        if changed.name == "kind" and usual is not None:
            changed.form.fill({"minutes": str(usual)})
        self._follow(changed.form)

    @work(group="booking-look", exclusive=True)
    async def _follow(self, form: Form) -> None:
        app = self.ponds_app
        try:
            looked = await app.ask_store(
                look, app.book, app.now(), self.wish, self.visit, form.values, self._stood
            )
        except PondroundError as trouble:
            form.show_error(BadInput(trouble.message))
            return
        self.looked = looked
        self._show_looked(form)
        wish, before = self._wish_now(), self._asked
        if (wish.minutes, wish.kind) != (before.minutes, before.kind):
            self._propose()

    def _show_looked(self, form: Form) -> None:
        looked = self.looked
        if looked is None:
            return
        read, day = looked.typed, looked.day
        form.remark("on_day", said_day_typed(read.on_day, looked.marks))
        form.remark("staff_id", said_load(day) if day is not None else None)
        free = f"free {said_spells(day.free)}" if day is not None and day.free else None
        form.remark("at_time", free)
        form.remark("minutes", said_length(read.minutes) if read.minutes else None)
        fields = {one.field.name: one for one in form.query(FormField)}
        told = objections_at(looked.objections, frozenset(fields))
        for name, field in fields.items():
            says, never = told.get(name, ("", False))
            field.tell(says or None)
            field.set_class(bool(says) and not never, "-reason")
        asked = [one for one in looked.objections if one.bars == "reason"]
        spite = fields["in_spite"]
        spite.display = bool(asked) or bool(spite.value.strip())

    # Keys

    def action_later(self) -> None:
        """Slots after those that are shown; where nobody is free, after the days looked at."""
        found = self._proposal
        if found is None:
            return
        last = max((one.on_day for one in self.slots), default=None)
        if last is None and found.until - self.ponds_app.today() < _FURTHEST:
            last = found.until
        self._first = None if last is None else last + timedelta(days=1)
        self._propose()

    def action_of_vet(self) -> None:
        """Slots of the vet in the form only, or of everybody."""
        chosen = self.looked.typed.staff_id if self.looked is not None else None
        if self._only is None and chosen is None:
            self.notify(
                "Choose in the form who goes, then F7 shows that vet's slots.", markup=False
            )
            return
        self._only = None if self._only is not None else chosen
        self._first = None
        self._propose()

    def action_day(self) -> None:
        """The diary of the day in the form."""
        from tui.screens.diary.diary import DiaryScreen

        day = self.looked.typed.on_day if self.looked is not None else None
        self.app.push_screen(DiaryScreen(day))

    def action_back(self) -> None:
        """Back one step; the draft stays."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)

    # Saving

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        submitted.stop()
        # A second press while the first is being written would book the same visit again.
        own = (one for one in self.workers if one.node is self and one.group == _SAVING)
        if not any(one.is_running for one in own):
            self._save(submitted.form, submitted.values)

    def _read_typed(self, values: Mapping[str, str]) -> tuple[date, Typed]:
        read = typed(values, self.ponds_app.today())
        if read.on_day is None:
            raise BadInput("On which day? Nothing was booked yet.", field="on_day")
        return read.on_day, read

    @work(group=_SAVING, exclusive=True)
    async def _save(self, form: Form, values: Mapping[str, str]) -> None:
        app = self.ponds_app
        act = await app.acting()
        if act is None:
            return
        try:
            day, read = self._read_typed(values)
            seen = self.looked.objections if self.looked and self.looked.typed == read else None
            visit = await app.ask_store(
                write, app.book, act, self.wish, self.visit, day, read, values, seen
            )
        except BadInput as trouble:
            await self._told(form, trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            await self._new_slots()
            return
        form.saved()
        app.changed()
        await self._booked(visit, day, read)

    async def _told(self, form: Form, trouble: BadInput) -> None:
        """Somebody may have been faster: what is free now stands beside what was typed."""
        app = self.ponds_app
        self._first = None
        await self._new_slots()
        with suppress(PondroundError):
            self.looked = await app.ask_store(
                look, app.book, app.now(), self.wish, self.visit, form.values, self._stood
            )
            self._show_looked(form)
        for field in form.query(FormField):
            if field.field.name == trouble.field:
                field.remove_class("-reason")
                field.tell(trouble.message)
                field.entry.focus(scroll_visible=False)
                self.call_after_refresh(field.scroll_visible, animate=False)
                return
        form.show_error(trouble)

    async def _booked(self, visit: UUID, day: date, read: Typed) -> None:
        from tui.screens.diary.diary import DiaryScreen

        who, minutes = self._who_is(read.staff_id), read.minutes or self.wish.minutes
        said = said_booked(day, read.at_time, who, minutes)
        did = "Moved to" if self.visit is not None else "Booked:"
        options = (
            Option("back", "go on", "back to where you came from"),
            Option("day", "open that day", "in the diary"),
        )
        chosen = await self.app.push_screen_wait(Choose(f"{did} {said}", options))
        if chosen == "day":
            await self.app.push_screen_wait(DiaryScreen(day, visit))
        self.dismiss(visit)
