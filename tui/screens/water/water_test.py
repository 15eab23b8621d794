"""Entering a water test: one line as it is typed at the pond, questions, or the form behind F2."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from store.errors import BadInput, PondroundError
from tui.screens.parts.abstract import drafts_of
from tui.screens.parts.dialogs import AskReason, Choose, Reason
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.screens.water.water_begin import (
    NO_KIT,
    Beginning,
    begin,
    forms_of,
    kit_options,
    kit_said,
    texts_before,
)
from tui.screens.water.water_entry import Answers
from tui.screens.water.water_form import WaterForm, form_fields
from tui.screens.water.water_line import Told, WaterLine
from tui.screens.water.water_question import Question
from tui.screens.water.water_said import circumstances
from tui.screens.water.water_saving import new_test, save, taken_at
from tui.widgets.entry import TextLine
from tui.widgets.fields import Form
from tui.widgets.foot import Foot
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from store.book.kits import Kit
    from store.water.understood import Understood
    from store.water.water_tests import NewTest, WaterTest
    from tui.app import PondroundApp
    from tui.drafts import Draft
    from tui.screens.water.water_saving import Saved

LINE = "line"
KIT = "kit"


class WaterTestScreen(Screen[None]):
    """A water test, typed in one line or into a form.

    Parameters
    ----------
    pond
        Key of the pond.
    correcting
        The test that is to be corrected; None for a new one.
    begins
        What stands in the line of a new one before the first letter is typed.
    then
        Called with what was saved, and one is back where one came from; without it the test that
        was saved is opened.
    """

    CSS_PATH = "../sheets/pond.tcss"
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

    def __init__(
        self, pond: UUID, correcting: WaterTest | None = None, *, begins: str = "",
        then: Callable[[Saved], None] | None = None,
    ) -> None:  # fmt: skip
        super().__init__()
        self.pond = pond
        self.correcting = correcting
        self._begins, self._then = begins, then
        self._beginning: Beginning | None = None
        self._kit: Kit | None = None
        self._answers = Answers()
        self._understood: Understood | None = None
        self._texts: dict[str, str] = {}
        self._form: WaterForm | None = None
        self._draft: Draft | None = None
        self._saving = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @property
    def _line(self) -> WaterLine:
        return self.query_one(WaterLine)

    def compose(self) -> ComposeResult:
        """Head, kit, line, what was understood, the question."""
        yield Top("Water test", id="test-head")
        yield Static("", id="test-kit", markup=False)
        yield Line()
        yield WaterLine(id="test-line-part")
        yield Told("$level-watch", id="test-doubts")
        yield Told(id="test-error", classes="field-error")
        yield Foot()

    def on_mount(self) -> None:
        """Ready to type at once; kit and name come from the book."""
        if self._begins:
            self._line.put(self._begins, quietly=True)
        self._draft = drafts_of(self.app).of(
            "correct_test" if self.correcting else "water_test",
            self.correcting.key if self.correcting else self.pond,
        )
        self._line.type_on()
        self._begin()

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
        self._take_up(beginning)
        self._show_kit()
        self._read_line()

    def _take_up(self, beginning: Beginning) -> None:
        """The draft if there is one, else the test to be corrected."""
        assert self._draft is not None
        line, self._texts = texts_before(self.correcting, beginning.zone)
        kept = {} if self._line.text != self._begins else self._draft.values
        if kept:
            self._kit = beginning.kit_of(kept.get(KIT, ""), self._kit)
            self._texts = {k: v for k, v in kept.items() if k not in (LINE, KIT)}
            self._line.put(kept.get(LINE, ""))
            self.notify("Taken up again from what you typed before. F8 begins anew.", markup=False)
        elif self.correcting is not None and not self._line.text:
            self._line.put(line)
            # What was answered when the test was saved is not asked again.
            self._answers.carry(self._line_read(), tuple(self.correcting.readings.values()))

    # The kit

    def _show_kit(self) -> None:
        assert self._beginning is not None
        said = kit_said(self._kit, self._beginning.today)
        self.query_one("#test-kit", Static).update(said)

    @work(group="test-ask", exclusive=True)
    async def action_kit(self) -> None:
        """Choose the kit that was used."""
        if self._beginning is None:
            return
        start = NO_KIT if self._kit is None else str(self._kit.id)
        chosen = await self.app.push_screen_wait(
            Choose("Which kit was used?", kit_options(self._beginning), start=start)
        )
        if chosen is not None:
            self._kit = self._beginning.kit_of(str(chosen), self._kit)
            self._show_kit()
            self._keep()
            self._read_again()

    # Reading

    @on(WaterLine.Changed)
    def _typed(self, changed: WaterLine.Changed) -> None:
        changed.stop()
        self.query_one("#test-error", Told).tell("")
        self._keep()
        self._read_line()

    def _read_again(self) -> None:
        if self._form is None:
            self._read_line()
        else:
            self._read_form()

    def _read_line(self) -> None:
        if self._beginning is not None:
            self._understood = self._answers.apply(self._line_read())
            self._line.show(self._understood, *self._taken_and_doubts())

    def _line_read(self) -> Understood:
        from store.water.line import understand

        assert self._beginning is not None
        now, zone = self.ponds_app.now(), self._beginning.zone
        typed = self._line.text
        if typed == self._begins:  # what stands ready has not been typed by anybody
            typed = ""
        return understand(typed, kit=forms_of(self._kit), now=now, zone=zone)

    def _taken_and_doubts(self) -> tuple[str, str]:
        """How the test was taken, and why it should be read with care."""
        from store.water.doubtful import doubts_of

        assert self._beginning is not None
        try:
            new = self._new_test()
        except BadInput as trouble:
            return f"{trouble.message} F2 shows the form.", ""
        taken = circumstances(new, self._beginning.zone, self._beginning.today)
        return taken, " ".join(doubts_of(new))

    @on(WaterLine.Submitted)
    def _submitted(self, submitted: WaterLine.Submitted) -> None:
        submitted.stop()
        self._on_from_here()

    def _on_from_here(self) -> None:
        """To the question if one is open, else save."""
        if self._understood is None:
            return
        if self._understood.doubts:
            self._line.ask()
        else:
            self._save()

    @on(Question.Answered)
    def _answered(self, answered: Question.Answered) -> None:
        answered.stop()
        self._answers.give(answered.doubt, answered.answer)
        self._read_again()

    @on(Question.Agreed)
    def _agreed(self, agreed: Question.Agreed) -> None:
        agreed.stop()
        self._save()

    # The form

    async def action_form(self) -> None:
        """The same in a form, with what was typed in its fields."""
        from store.water.form import form_texts

        if self._form is not None or self._beginning is None or self._understood is None:
            return
        texts = self._texts | form_texts(self._understood)
        self._form = WaterForm(form_fields(texts, forms_of(self._kit)), id="test-form")
        self._line.display = False
        await self.mount(self._form, after=self._line)
        self._form.query(TextLine).first().focus()
        self._answers.carry(self._form_read(), self._understood.readings)
        self._read_form()

    @on(Form.Changed)
    def _form_typed(self, changed: Form.Changed) -> None:
        from store.water.form import line_of

        changed.stop()
        self._texts = {name: text for name, text in changed.values.items() if text.strip()}
        self.query_one("#test-error", Told).tell("")
        self._read_form()
        # The line says what the form says, so that going back loses nothing.
        self._line.put(line_of(self._form_read()), quietly=True)
        self._keep()

    def _read_form(self) -> None:
        assert self._beginning is not None
        assert self._form is not None
        self._understood = self._answers.apply(self._form_read())
        now, zone = self.ponds_app.now(), self._beginning.zone
        self._form.say(self._understood, self._taken_at(), now, zone)
        self.query_one("#test-doubts", Told).tell(self._taken_and_doubts()[1])

    def _form_read(self) -> Understood:
        from store.water.form import read_form

        assert self._beginning is not None
        assert self._form is not None
        now, zone = self.ponds_app.now(), self._beginning.zone
        return read_form(self._form.values, kit=forms_of(self._kit), now=now, zone=zone)

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
        self._line.display = True
        self.query_one("#test-doubts", Told).tell("")
        self._line.type_on()
        if self._understood is not None:
            self._answers.carry(self._line_read(), self._understood.readings)
        self._read_line()

    # Drafts and leaving

    def _keep(self) -> None:
        if self._draft is None or self._beginning is None:
            return
        values = dict(self._texts)
        values[LINE] = self._line.text
        if any(text.strip() for text in values.values()):
            values[KIT] = NO_KIT if self._kit is None else str(self._kit.id)
        self._draft.keep(values)

    async def action_start_over(self) -> None:
        """Put away what was typed."""
        if self._beginning is None:
            return
        if self._form is not None:
            await self._leave_form()
        text, self._texts = texts_before(self.correcting, self._beginning.zone)
        self._answers.clear()
        self._line.put(text)
        if self._draft is not None:
            self._draft.drop()
        self._line.type_on()
        self._read_line()

    async def action_back(self) -> None:
        """From the form or a question to the line, from the line to the pond; nothing is lost."""
        if self._form is not None:
            await self._leave_form()
        elif self._line.asking:
            self._line.type_on()
        else:
            self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)

    # Saving

    def _taken_at(self) -> datetime:
        typed = None if self._understood is None else self._understood.taken_at
        return taken_at(typed, self.correcting, self.ponds_app.now())

    def _new_test(self) -> NewTest:
        assert self._understood is not None
        assert self._beginning is not None
        return new_test(
            self._understood,
            self._texts,
            now=self.ponds_app.now(),
            zone=self._beginning.zone,
            before=self.correcting,
            way="line" if self._form is None else "form",
            kit_id=None if self._kit is None else self._kit.id,
        )

    @once("test-save")
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
        from tui.screens.water.opened_test import OpenedTestScreen

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
        if self._then is not None:
            self._then(saved)
            self.dismiss(None)
            return
        self.app.switch_screen(OpenedTestScreen(self.pond, saved.key, saved=saved))

    def _tell_bad(self, trouble: BadInput) -> None:
        if self._form is not None:
            # It stood beside the field while it was typed; once is enough.
            if trouble.field in self._form.values:
                self._form.remark(trouble.field, "")
            self._form.show_error(trouble)
        else:
            self.query_one("#test-error", Told).tell(trouble.message)
