"""Entering a water test: one line as it is typed at the pond, questions, or the form behind F2."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.events import Key
from textual.screen import Screen
from textual.widgets import Input, Static

from store.errors import BadInput, PondroundError
from tui.drafts import Draft, Drafts, drafts_path
from tui.screens.dialogs import AskReason, Choose, Option, Reason
from tui.screens.help import HELP, open_help
from tui.screens.water_entry import Answers, answers_to
from tui.screens.water_form import form_fields
from tui.widgets.entry import TextLine
from tui.widgets.fields import Form
from tui.widgets.foot import Foot
from tui.widgets.literal import literal, one_line
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.kits import Kit
    from store.water.understood import Doubt, KitForms, Understood
    from store.water.water_tests import NewTest, WaterTest
    from tui.app import PondroundApp

LINE = "line"
KIT = "kit"
NO_KIT = "none"


@dataclass(frozen=True, slots=True)
class Beginning:
    """What is known before the first letter is typed."""

    where: str
    kits: tuple[Kit, ...]
    kit: Kit | None
    zone: tzinfo
    today: date


def begin(book: Book, pond: UUID, now: datetime, correcting: WaterTest | None) -> Beginning:
    """The pond's name, its kits and the one in use."""
    from store.book.kits import kit_in_use, kits
    from store.book.ponds import card
    from tui.screens.pond_lines import head_name

    found = kits(book, pond)
    in_use = kit_in_use(book, pond)
    if correcting is not None:
        in_use = next((one for one in found if one.id == correcting.kit_id), None)
    return Beginning(head_name(card(book, pond)), found, in_use, book.zone, book.today(now))


class Question(Static, can_focus=True):
    """The question that stands first, or that everything is ready to be saved."""

    def show(self, content: Content) -> None:
        """Say this."""
        self.update(content)


class WaterTestScreen(Screen[None]):
    """A water test, typed in one line or into a form.

    Parameters
    ----------
    pond
        Key of the pond.
    correcting
        The test that is to be corrected; None for a new one.
    """

    CSS_PATH = "pond.tcss"
    QUESTION = "What was measured?"
    ABOUT = (
        "Type the readings as you would call them out: 19.5C pH 6.8 TAN 0.5 NO2 0.1 KH 4 DO 8.2, "
        "with a time (at 07:40) if it was not now, and // before a note. Under the line stands "
        "what was understood. Nothing is saved while a question is open. F2 is the form."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="test.back",
                tooltip="Back one step; what was typed is kept"),
        Binding("f2", "form", "form", key_display="F2", id="test.form",
                tooltip="The same in a form, one field a reading"),
        Binding("f3", "kit", "kit", key_display="F3", id="test.kit",
                tooltip="Choose the kit that was used"),
        Binding("f8", "start_over", "begin anew", key_display="F8", id="test.start_over",
                tooltip="Put away what was typed"),
    ]  # fmt: skip

    def __init__(self, pond: UUID, correcting: WaterTest | None = None) -> None:
        super().__init__()
        self.pond = pond
        self.correcting = correcting
        self._beginning: Beginning | None = None
        self._kit: Kit | None = None
        self._answers = Answers()
        self._understood: Understood | None = None
        self._texts: dict[str, str] = {}
        self._form: Form | None = None
        self._draft: Draft | None = None
        self._saving = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, kit, line, what was understood, the question."""
        yield Top("Water test", id="test-head")
        yield Static("", id="test-kit", markup=False)
        yield Line()
        with Vertical(id="test-line-part"):
            yield TextLine(placeholder="19.5C pH 6.8 TAN 0.5 NO2 0.1 KH 4 DO 8.2", id="test-line")
            with VerticalScroll(id="test-read", can_focus=False):
                yield Static("", id="test-understood", markup=False)
                yield Question("", id="test-question", markup=False)
        yield Static("", id="test-error", classes="field-error", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Ready to type at once; kit and name come from the book."""
        self.query_one("#test-error").display = False
        self._draft = self._drafts().of(
            "correct_test" if self.correcting else "water_test",
            self.correcting.key if self.correcting else self.pond,
        )
        self.query_one(TextLine).focus()
        self._begin()

    def _drafts(self) -> Drafts:
        kept = getattr(self.app, "drafts", None)
        return kept if isinstance(kept, Drafts) else Drafts(drafts_path())

    @work(group="test-begin", exclusive=True)
    async def _begin(self) -> None:
        app = self.ponds_app
        try:
            beginning = await app.ask_store(begin, app.book, self.pond, app.now(), self.correcting)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._beginning, self._kit = beginning, beginning.kit
        self.query_one(
            Top
        ).place = f"{'Correct a' if self.correcting else 'Water'} test: {beginning.where}"
        self._take_up()
        self._show_kit()
        self._read_line()

    def _take_up(self) -> None:
        """The draft if there is one, else the test to be corrected."""
        assert self._draft is not None
        line = self.query_one("#test-line", TextLine)
        typed = line.value
        kept = self._draft.values
        self._texts = {} if self.correcting is None else self._correction_texts()
        if kept and not typed:
            self._choose_kit(kept.get(KIT, ""))
            self._texts |= {k: v for k, v in kept.items() if k not in (LINE, KIT)}
            line.value = kept.get(LINE, "")
            self.notify("Taken up again from what you typed before. F8 begins anew.", markup=False)
        elif self.correcting is not None and not typed:
            line.value = self._correction_line()
        line.cursor_position = len(line.value)

    def _correction_line(self) -> str:
        from store.water.understood import Understood, write

        assert self.correcting is not None
        test = self.correcting
        assert self._beginning is not None
        taken_at = test.taken_at.astimezone(self._beginning.zone)
        return write(Understood(tuple(test.readings.values()), (), test.note, taken_at, ""))

    def _correction_texts(self) -> dict[str, str]:
        test = self.correcting
        assert test is not None
        numbers = {
            "since_feeding": test.since_feeding_min,
            "since_water_change": test.since_water_change_min,
            "binder_days": test.binder_days,
        }
        texts = {name: f"{value:g}" for name, value in numbers.items() if value is not None}
        return texts | ({"place": test.place} if test.place else {})

    # The kit

    @property
    def _forms(self) -> KitForms:
        from store.water.understood import KitForms

        if self._kit is None:
            return KitForms()
        return KitForms(self._kit.ammonia_form, self._kit.nitrite_form, self._kit.nitrate_form)

    def _show_kit(self) -> None:
        from store.water.kit_state import kit_remarks

        assert self._beginning is not None
        said: list[Content | str | tuple[str, str]] = []
        if self._kit is None:
            said.append("Kit: none stated")
        else:
            forms = self._forms
            words = ", ".join(
                f"{name} as {form.upper()}"
                for name, form in (("ammonia", forms.ammonia), ("nitrite", forms.nitrite))
                if form != "unknown"
            )
            said.append(
                Content(f"Kit: {one_line(self._kit.name)}" + (f", {words}" if words else ""))
            )
        said.append(("  F3 chooses another", "$quiet"))
        for remark in kit_remarks(self._kit, self._beginning.today):
            said += ["\n", (remark, "$level-watch")]
        self.query_one("#test-kit", Static).update(Content.assemble(*said))

    @work(group="test-ask", exclusive=True)
    async def action_kit(self) -> None:
        """Choose the kit that was used."""
        from store.water.kit_state import kit_remarks

        if self._beginning is None:
            return
        today = self._beginning.today
        options = [
            Option(str(kit.id), kit.name, " ".join(kit_remarks(kit, today)))
            for kit in self._beginning.kits
        ]
        options.append(Option(NO_KIT, "none stated"))
        start = NO_KIT if self._kit is None else str(self._kit.id)
        chosen = await self.app.push_screen_wait(
            Choose("Which kit was used?", options, start=start)
        )
        if chosen is not None:
            self._choose_kit(str(chosen))
            self._show_kit()
            self._keep()
            self._read_again()

    def _choose_kit(self, key: str) -> None:
        assert self._beginning is not None
        if key == NO_KIT:
            self._kit = None
        elif key:
            self._kit = next((kit for kit in self._beginning.kits if str(kit.id) == key), self._kit)

    # Reading

    @on(Input.Changed, "#test-line")
    def _typed(self, changed: Input.Changed) -> None:
        changed.stop()
        self._tell_error("")
        self._keep()
        self._read_line()

    def _read_again(self) -> None:
        if self._form is None:
            self._read_line()
        else:
            self._read_form()

    def _read_line(self) -> None:
        from store.water.line import understand

        if self._beginning is None:
            return
        text = self.query_one("#test-line", TextLine).value
        now = self.ponds_app.now()
        found = understand(text, kit=self._forms, now=now, zone=self._beginning.zone)
        self._understood = self._answers.apply(found)
        self._show_understood()

    def _show_understood(self) -> None:
        from store.water.understood import shown, shown_time

        understood = self._understood
        assert understood is not None
        lines = [Content(shown(reading)) for reading in understood.readings]
        if understood.taken_at is not None:
            lines.append(Content(shown_time(understood.taken_at)))
        if understood.note:
            lines.append(Content.styled(f"note: {one_line(understood.note)}", "$quiet"))
        self.query_one("#test-understood", Static).update(Content("\n").join(lines))
        question = self.query_one(Question)
        if understood.doubts:
            question.show(self._asked(understood.doubts))
        elif lines:
            question.show(Content.styled("enter saves this", "bold"))
        else:
            question.show(Content.styled("Nothing typed yet.", "$quiet"))

    def _asked(self, doubts: tuple[Doubt, ...]) -> Content:
        doubt = doubts[0]
        parts: list[Content | str | tuple[str, str]] = [
            (one_line(doubt.question), "bold $level-watch")
        ]
        for answer in answers_to(doubt):
            parts += ["\n  ", (f"{answer.key:<7}", "$primary"), Content(one_line(answer.words))]
        if doubts[1:]:
            more = f"\nand {len(doubts) - 1} more question{'s' if doubts[2:] else ''} after it"
            parts.append((more, "$quiet"))
        if not self.query_one(Question).has_focus and self._form is None:
            parts.append(("\nenter goes to the question; nothing is saved before", "$quiet"))
        return Content.assemble(*parts)

    @on(Input.Submitted, "#test-line")
    def _submitted(self, submitted: Input.Submitted) -> None:
        submitted.stop()
        self._on_from_here()

    def _on_from_here(self) -> None:
        """To the question if one is open, else save."""
        if self._understood is None:
            return
        if self._understood.doubts:
            self.query_one(Question).focus()
            self.call_after_refresh(self._show_understood)
        else:
            self._save()

    def on_descendant_focus(self) -> None:
        """The question says how it is answered once it has the focus."""
        if self._understood is not None and self._form is None:
            self._show_understood()

    def on_key(self, event: Key) -> None:
        """Answers to the question that has the focus; no letter or digit means anything else."""
        if not self.query_one(Question).has_focus or self._understood is None:
            return
        if event.is_printable:
            event.stop()
        if not self._understood.doubts:
            if event.key == "enter":
                event.stop()
                self._save()
            return
        doubt = self._understood.doubts[0]
        for answer in answers_to(doubt):
            if event.key == answer.key:
                event.stop()
                self._answers.give(doubt, answer)
                self._read_again()
                self.call_after_refresh(self._show_understood)
                return

    # The form

    async def action_form(self) -> None:
        """The same in a form, with what was typed in its fields."""
        from store.water.form import form_texts

        if self._form is not None or self._beginning is None or self._understood is None:
            return
        texts = self._texts | form_texts(self._understood)
        self._form = Form(form_fields(texts, self._forms), id="test-form")
        self.query_one("#test-line-part").display = False
        await self.mount(self._form, after="#test-line-part")
        self.query_one("#test-question", Question).blur()
        self._form.query(TextLine).first().focus()
        self._read_form()

    @on(Form.Changed)
    def _form_typed(self, changed: Form.Changed) -> None:
        changed.stop()
        self._texts = {name: text for name, text in changed.values.items() if text.strip()}
        self._tell_error("")
        self._read_form()
        self._put_into_line()
        self._keep()

    def _read_form(self) -> None:
        from store.water.form import read_form
        from store.water.parameters import PARAMETERS
        from store.water.understood import shown, shown_time

        assert self._beginning is not None
        assert self._form is not None
        now = self.ponds_app.now()
        found = read_form(self._form.values, kit=self._forms, now=now, zone=self._beginning.zone)
        self._understood = self._answers.apply(found)
        readings = {reading.parameter: reading for reading in self._understood.readings}
        doubts = {doubt.parameter or "taken_at": doubt for doubt in self._understood.doubts}
        for code in PARAMETERS:
            said = None
            if code in doubts:
                said = doubts[code].question
            elif code in readings:
                said = shown(readings[code])
            self._form.remark(code, said)
        said = None
        if "taken_at" in doubts:
            said = doubts["taken_at"].question
        elif self._understood.taken_at is not None:
            said = shown_time(self._understood.taken_at)
        self._form.remark("taken_at", said)

    def _put_into_line(self) -> None:
        """The line says what the form says, so that going back loses nothing."""
        from store.water.form import line_of, read_form

        assert self._beginning is not None
        assert self._form is not None
        found = read_form(
            self._form.values,
            kit=self._forms,
            now=self.ponds_app.now(),
            zone=self._beginning.zone,
        )
        with self.prevent(Input.Changed):
            self.query_one("#test-line", TextLine).value = line_of(found)

    @on(Form.Submitted)
    async def _form_submitted(self, submitted: Form.Submitted) -> None:
        submitted.stop()
        assert self._understood is not None
        if self._understood.doubts:
            await self._leave_form()
            self._on_from_here()
            return
        self._save()

    async def _leave_form(self) -> None:
        assert self._form is not None
        form, self._form = self._form, None
        self._texts = {name: text for name, text in form.values.items() if text.strip()}
        await form.remove()
        self.query_one("#test-line-part").display = True
        self.query_one("#test-line", TextLine).focus()
        self._read_line()

    # Drafts and leaving

    def _keep(self) -> None:
        if self._draft is None or self._beginning is None:
            return
        values = dict(self._texts)
        values[LINE] = self.query_one("#test-line", TextLine).value
        if any(text.strip() for text in values.values()):
            values[KIT] = NO_KIT if self._kit is None else str(self._kit.id)
        self._draft.keep(values)

    async def action_start_over(self) -> None:
        """Put away what was typed."""
        if self._form is not None:
            await self._leave_form()
        self._texts = {}
        self._answers.clear()
        line = self.query_one("#test-line", TextLine)
        line.value = "" if self.correcting is None else self._correction_line()
        if self._draft is not None:
            self._draft.drop()
        line.focus()
        self._read_line()

    async def action_back(self) -> None:
        """From the form or a question to the line, from the line to the pond; nothing is lost."""
        if self._form is not None:
            await self._leave_form()
        elif self.query_one(Question).has_focus:
            self.query_one("#test-line", TextLine).focus()
            self.call_after_refresh(self._show_understood)
        else:
            self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)

    # Saving

    def _new_test(self) -> NewTest:
        from store.water.form import read_details
        from store.water.water_tests import NewTest

        understood = self._understood
        assert understood is not None
        details = read_details(self._texts)
        before = self.correcting
        otherwise = self.ponds_app.now() if before is None else before.taken_at
        return NewTest(
            taken_at=understood.taken_at or otherwise,
            readings=understood.readings,
            note=understood.note,
            way="line" if self._form is None else "form",
            place=details.place,
            depth_m=None if before is None else before.depth_m,
            tested_at=None if before is None else before.tested_at,
            since_feeding_min=details.since_feeding_min,
            since_water_change_min=details.since_water_change_min,
            binder_days=details.binder_days,
            kit_id=None if self._kit is None else self._kit.id,
        )

    @work(group="test-save", exclusive=True)
    async def _save(self) -> None:
        if self._saving or self._understood is None or self._understood.doubts:
            return
        self._saving = True
        try:
            await self._save_now()
        except BadInput as trouble:
            self._tell_bad(trouble)
        except PondroundError as trouble:
            self.ponds_app.tell(trouble)
        finally:
            self._saving = False

    async def _save_now(self) -> None:
        from tui.screens.opened_test import OpenedTestScreen
        from tui.screens.water_saving import save

        new = self._new_test()
        app = self.ponds_app
        why = ""
        if self.correcting is not None:
            reason = await self.app.push_screen_wait(
                AskReason("Correct this test", "Why? The first test stays readable beside it.")
            )
            if not isinstance(reason, Reason):
                return
            why = reason.text
        act = await app.acting()
        if act is None:
            return
        saved = await app.ask_store(save, app.book, act, self.pond, new, self.correcting, why)
        if self._draft is not None:
            self._draft.drop()
        app.changed()
        self.app.switch_screen(OpenedTestScreen(self.pond, saved.key, saved=saved))

    def _tell_bad(self, trouble: BadInput) -> None:
        if self._form is not None:
            self._form.show_error(trouble)
        else:
            self._tell_error(trouble.message)

    def _tell_error(self, message: str) -> None:
        error = self.query_one("#test-error", Static)
        error.update(literal(message))
        error.display = bool(message)
