"""Entering an examination: one fish after another, by a typed line or in a form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar
from uuid import UUID

from textual import on, work
from textual.binding import Binding, BindingType
from textual.widgets import Input

from store.errors import BadInput, PondroundError
from tui.screens.exams.examination_fish import FishFormScreen, OccasionScreen
from tui.screens.exams.examination_pick import PickSigns
from tui.screens.exams.examination_saving import entered_before, made_of, save, with_signs
from tui.screens.exams.examination_sheet import SheetOfFish
from tui.screens.exams.examination_typed import Sheet, Typed
from tui.screens.parts.dialogs import Ask
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.widgets.entry import TextLine
from tui.widgets.grid import LineGrid

if TYPE_CHECKING:
    from tui.screens.exams.examination_typed import Beginning

GEAR_NOT_SAID = (
    "The gear was not said: towards the other ponds of today it counts as not disinfected. Brush, "
    "rinse, dip, wait the full time, dry (common practice); mud uses the disinfectant up."
)


class ExaminationScreen(SheetOfFish):
    """Fish that were looked at, one after another.

    Parameters
    ----------
    pond
        Key of the pond.
    course
        The course that it controls; None for any other examination.
    """

    QUESTION = "What was seen and found on these fish?"
    ABOUT = (
        "One line a fish, typed as you would call it out: koi 42 cm, thin, clamped; gill 100x 5 "
        "fields: gill flukes 23, trichodina +; skin 40x: nothing. Behind a hazard stands what was "
        "counted over all the fields, or a score of + to +++. Under the line stands what was "
        "understood, then what tells the hazard from others, with the source. Enter takes the "
        "next fish; nothing counts while a question is open. F3 is the form, F4 says what for, "
        "when and who, F2 saves all of it. Fish that stand above are opened again with up and "
        "enter, put away with F7. Gear: no, own net, or iodophor 10 min."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="exam.back",
                tooltip="Back one step; what was typed is kept"),
        Binding("f2", "save", "save", key_display="F2", id="exam.save",
                tooltip="Save the examination with all its fish"),
        Binding("f3", "form", "form", key_display="F3", id="exam.form",
                tooltip="This fish in a form, one field a thing"),
        Binding("f4", "occasion", "when, who", key_display="F4", id="exam.occasion",
                tooltip="What for, when, who looked, which course it controls, a note"),
        Binding("f6", "signs", "signs", key_display="F6", id="exam.signs",
                tooltip="Behaviour and signs of this fish from the list"),
        Binding("f8", "start_over", "begin anew", key_display="F8", show=False,
                id="exam.start_over", tooltip="Put away everything that was typed"),
        Binding("up", "to_fish", "fish above", show=False, id="exam.to_fish",
                tooltip="To the fish that were entered, to open one again"),
        Binding("f7", "put_away", "put away", key_display="F7", id="exam.put_away",
                tooltip="Put away the fish under the cursor; asked first"),
    ]  # fmt: skip

    # The fish that were entered

    def action_to_fish(self) -> None:
        """To the fish that were entered."""
        grid = self.query_one("#exam-fish", LineGrid)
        if grid.display and not grid.has_focus:
            grid.focus()

    @on(LineGrid.Opened, "#exam-fish")
    def _opened(self, opened: LineGrid.Opened) -> None:
        if not isinstance(opened.key, int) or opened.key == self.sheet.at:
            self._line.type_on()
            return
        if self.sheet.at < len(self.sheet.fish):
            self.notify(
                f"Fish {self._nth} is open: enter in its line takes it back first.", markup=False
            )
            return
        self.sheet.open(opened.key)
        self._keep()
        self._show_fish()
        self._show_line()
        if self.sheet.now.texts is not None:
            self.action_form()
        else:
            self._line.type_on()

    @work(group="exam-ask", exclusive=True)
    async def action_put_away(self) -> None:
        """Put away the fish under the cursor."""
        grid = self.query_one("#exam-fish", LineGrid)
        place = grid.cursor_key
        if not grid.has_focus or not isinstance(place, int):
            return
        gone = await self.app.push_screen_wait(
            Ask(f"Put away fish {place + 1}?", "What was typed of it is lost; the others stay.",
                yes="Put away", no="Back")
        )  # fmt: skip
        if gone:
            self.sheet.without(place)
            self._keep()
            self._show_fish()
            self._show_line()
            self._line.type_on()

    # Form, occasion, signs

    @work(group="exam-ask", exclusive=True)
    async def action_form(self) -> None:
        """This fish in a form, with what was typed in its fields."""
        from store.exams.fish_form import fish_texts

        if self._beginning is None or self._understood is None:
            return
        texts = self.sheet.now.texts
        if texts is None:
            if self._understood.doubts:
                self._line.ask()
                self.notify("Answer the question first: the form takes what is certain.",
                            markup=False)  # fmt: skip
                return
            said = self._understood.fish
            texts = {} if self.sheet.now.empty else fish_texts(said)
        found = await self.app.push_screen_wait(
            FishFormScreen(self._beginning.where, self._nth, texts, self._form_typed)
        )
        if found is not None:
            way, what = found
            if way == "form":
                assert isinstance(what, Mapping)
                self.sheet.now = Typed(texts=what)
                if not self.sheet.now.empty:
                    self._take()
                    return
                self.sheet.now = Typed()
            else:
                self.sheet.now = Typed(str(what))
        self._keep()
        self._show_line()
        if self.sheet.now.texts is None:
            self._line.type_on()

    def _form_typed(self, texts: Mapping[str, str]) -> None:
        self.sheet.now = Typed(texts=dict(texts)) if texts else Typed()
        self._keep()

    @work(group="exam-ask", exclusive=True)
    async def action_occasion(self) -> None:
        """What for, when, who."""
        if self._beginning is None:
            return
        texts = {"course": self._course_text()} | self.sheet.texts
        found = await self.app.push_screen_wait(OccasionScreen(self._beginning, texts))
        if found is not None:
            gear = self.sheet.texts.get("gear", "")
            self.sheet.texts = {**found, "gear": gear}
            self._keep()
            self._show_head()

    @work(group="exam-ask", exclusive=True)
    async def action_signs(self) -> None:
        """Behaviour and signs from the list, into the line."""
        understood = self._understood
        if understood is None:
            return
        if self.sheet.now.texts is not None:
            self.action_form()
            return
        before = (*understood.fish.behaviour, *understood.fish.signs)
        chosen = await self.app.push_screen_wait(PickSigns(before))
        if chosen is None or chosen == before:
            return
        text = with_signs(understood, chosen)
        self.sheet.now = Typed(text)
        self._keep()
        self._show_line()
        self._line.type_on()

    # Leaving

    def action_back(self) -> None:
        """From a question, the gear or the fish above to the line; from there to the pond."""
        on_line = self.query_one("#exam-line").has_focus
        if self.sheet.at < len(self.sheet.fish) and on_line:
            self.sheet.leave()
            self._keep()
            self._show_fish()
            self._show_line()
            self.notify("That fish stays as it was.", markup=False)
        elif self._line.asking or self.query_one("#exam-fish").has_focus:
            self._line.type_on()
        else:
            self.dismiss(None)

    @work(group="exam-ask", exclusive=True)
    async def action_start_over(self) -> None:
        """Put away everything that was typed."""
        if not self.sheet.empty and not await self.app.push_screen_wait(
            Ask("Begin anew?", "Every fish that was typed here is put away.", yes="Begin anew",
                no="Back")
        ):  # fmt: skip
            return
        self.sheet = Sheet()
        if self._draft is not None:
            self._draft.drop()
        with self.prevent(Input.Changed):
            self.query_one("#exam-gear", TextLine).value = ""
        self._tell("")
        self._show_all()
        self._line.type_on()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A fish is put away where the cursor is on one."""
        if action == "put_away":
            return any(grid.has_focus for grid in self.query("#exam-fish"))
        return super().check_action(action, parameters)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)

    # Saving

    @once("exam-save")
    async def action_save(self) -> None:
        """Save the examination with all its fish, or nothing of it."""
        if self._saving or self._beginning is None or self._understood is None:
            return
        if self.sheet.now.texts is None and self._understood.doubts:
            self._line.ask()
            return
        self._saving = True
        try:
            await self._save_now(self._beginning)
        except BadInput as trouble:
            self._tell_bad(trouble)
        except PondroundError as trouble:
            self.ponds_app.tell(trouble)
        finally:
            self._saving = False

    async def _save_now(self, beginning: Beginning) -> None:
        from tui.screens.exams.examination_page import ExaminationPageScreen

        app = self.ponds_app
        self._settle_gear()
        typed = list(self.sheet.fish)
        if not self.sheet.now.empty:
            typed[self.sheet.at : self.sheet.at + 1] = [self.sheet.now]
        if not self.sheet.aside.empty:
            typed.append(self.sheet.aside)
        if not typed:
            raise BadInput("Please type at least one fish. Nothing was saved yet.", field="fish")
        fish = tuple(one.fish(nth) for nth, one in enumerate(typed, start=1))
        act = await app.acting()
        if act is None:
            return
        texts = {"purpose": beginning.purpose} | self.sheet.texts
        course = UUID(self._course_text()) if self._course_text() else None
        exam = await app.ask_store(made_of, app.book, act, texts, fish, course)
        before = await app.ask_store(entered_before, app.book, self.pond, exam)
        if before and not await self.app.push_screen_wait(
            Ask("Entered before?", before, yes="Save it as well", no="Back")
        ):
            return
        made = await app.ask_store(save, app.book, act, self.pond, exam)
        if self._draft is not None:
            self._draft.drop()
        app.changed()
        self.notify(f"Saved. {made.said}".strip(), markup=False)
        if exam.gear == "not said":
            self.notify(GEAR_NOT_SAID, severity="warning", markup=False, timeout=12)
        self.app.switch_screen(ExaminationPageScreen(made.id))

    def _settle_gear(self) -> None:
        from store.exams.entry import read_gear

        line = self.query_one("#exam-gear", TextLine)
        said = read_gear(line.value)
        if said.question:
            raise BadInput(
                f"{said.question} Type it as: {said.written or 'no, own net, iodophor 10 min'}. "
                "Nothing was saved yet.",
                field="gear",
            )

    def _tell_bad(self, trouble: BadInput) -> None:
        if trouble.field == "gear":
            self.query_one("#exam-gear", TextLine).focus()
        elif trouble.field in ("purpose", "on_day", "at_time", "examiner", "course"):
            self._tell(f"{trouble.message} F4 changes it.")
            return
        self._tell(trouble.message)
