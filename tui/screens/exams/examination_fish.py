"""One fish in a form, and the occasion of an examination in one; both give texts, save nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList

from store.errors import BadInput
from tui.screens.exams.examination_fields import (
    fish_fields,
    groups_of,
    hazard_choices,
    occasion_fields,
)
from tui.screens.exams.examination_line import said_reminders
from tui.screens.exams.examination_pick import PickSigns
from tui.screens.parts.abstract import NARROW
from tui.screens.parts.help import HELP, open_help
from tui.widgets.fields import Form, FormField
from tui.widgets.foot import Foot
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from tui.screens.exams.examination_typed import Beginning
    from tui.widgets.fields import Field


class FishFormScreen(Screen["tuple[str, Mapping[str, str] | str] | None"]):
    """One fish with its preparations.

    Dismissed with `("form", texts)`, with `("line", line)`, or with None; what was typed was kept
    at every letter.

    Parameters
    ----------
    where
        What is called at the top.
    nth
        Number of the fish.
    texts
        What stands in the fields at first.
    keep
        Called with the texts at every change.
    """

    CSS_PATH = ["../sheets/examination.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = NARROW
    QUESTION = "What was seen and found on this fish?"
    ABOUT = (
        "Length and condition, behaviour and signs (F6 is the list), then each preparation with "
        "what was found in it: counted over all the fields, or a score of + to +++. A slide in "
        "which nothing was found says so. F4 is one more hazard in this preparation, F5 one more "
        "preparation. At the top stands what was understood, beside a hazard what tells it "
        "from others. F2 takes the fish into the examination; F3 goes on in the line."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="fish.back",
                tooltip="Back to the examination; what was typed is kept"),
        Binding("f3", "line", "line", key_display="F3", id="fish.line",
                tooltip="The same as one line"),
        Binding("f4", "hazard", "more found", key_display="F4", id="fish.hazard",
                tooltip="One more hazard found in this preparation"),
        Binding("f5", "preparation", "preparation", key_display="F5", id="fish.preparation",
                tooltip="One more preparation of this fish"),
        Binding("f6", "signs", "signs", key_display="F6", id="fish.signs",
                tooltip="Behaviour and signs from the list"),
    ]  # fmt: skip

    def __init__(
        self, where: str, nth: int, texts: Mapping[str, str],
        keep: Callable[[Mapping[str, str]], None],
    ) -> None:  # fmt: skip
        super().__init__()
        self._where, self._nth, self._keep = where, nth, keep
        self._groups = groups_of(texts)
        self._fields: tuple[Field, ...] = fish_fields(texts, self._groups)

    def compose(self) -> ComposeResult:
        """Head, what is understood or to be looked for, form, keys."""
        yield Top(f"Fish {self._nth}: {self._where}", id="fish-head")
        yield Static("", id="fish-reminder", markup=False)
        yield Line()
        yield Form(self._fields)
        yield Foot()

    @property
    def _form(self) -> Form:
        return self.query_one(Form)

    @property
    def texts(self) -> dict[str, str]:
        """What differs from an empty form; what was chosen by itself says nothing."""
        empty = {one.name: one.value for one in fish_fields({}, self._groups)}
        return {name: text for name, text in self._form.values.items() if text != empty[name]}

    @on(Form.Changed)
    def _changed(self, changed: Form.Changed) -> None:
        changed.stop()
        self._keep(self.texts)
        self._remind()

    # What tells a hazard from others

    def on_mount(self) -> None:
        """The first field has the keys."""
        self.call_after_refresh(self._remind)
        self.call_after_refresh(self._follow_lists)

    def on_descendant_focus(self) -> None:
        """Another hazard may be in the field."""
        self._remind()

    def _remind(self) -> None:
        shown = self._hazard_here()
        known = {code for code, _ in hazard_choices(nothing=False)}
        said = said_reminders((shown,)) if shown in known else self._said_so_far()
        self.query_one("#fish-reminder", Static).update(said)

    def _said_so_far(self) -> Content:
        """The fish as it is understood by now, or what is to be put right."""
        from store.exams.fish_form import read_fish_form
        from store.exams.line import say

        try:
            said = one_line(say(read_fish_form(self.texts, self._nth)))
        except BadInput as trouble:
            return Content.styled(one_line(trouble.message), "$level-watch")
        empty = "Nothing typed yet. Beside a hazard stands here what tells it from others."
        return Content(said) if said else Content.styled(empty, "$quiet")

    def _follow_lists(self) -> None:
        """While a list of hazards is open, what tells the one under its cursor is told."""
        for field in self.query(FormField):
            if field.field.name.endswith(".hazard"):
                options = field.query_one(OptionList)
                self.watch(options, "highlighted", self._remind, init=False)

    def _hazard_here(self) -> str:
        """Code of the hazard where somebody types: under the cursor of its list while it is open.

        The list gets the focus after the letters that opened it have moved its cursor, so that only
        asking for both each time shows what is there.
        """
        at = self._here()
        if at is None:
            return ""
        name = f"{at[0]}.{at[1]}.hazard"
        for field in self.query(FormField):
            if field.field.name == name and getattr(field.entry, "expanded", False):
                line, choices = field.query_one(OptionList).highlighted, field.field.choices
                # The first line of the list is the empty choice.
                return choices[line - 1][0] if line and line <= len(choices) else ""
        return self._form.values.get(name, "")

    def _here(self) -> tuple[int, int] | None:
        """Place of the preparation and number of the hazard where somebody types."""
        for field in self.query(FormField):
            if field.has_focus_within:
                parts = field.field.name.split(".")
                if parts[0].isdecimal():
                    return int(parts[0]), int(parts[1]) if len(parts) == 3 else 1
        return None

    # Keys

    @work(group="fish-more", exclusive=True)
    async def action_hazard(self) -> None:
        """One more hazard in the preparation where somebody types, else in the last."""
        from store.exams.fish_form import MOST_FOUND

        at = self._here()
        place = at[0] if at else max(self._groups)
        if self._groups[place] < MOST_FOUND:
            self._groups[place] += 1
            await self._anew(f"{place}.{self._groups[place]}.hazard")

    @work(group="fish-more", exclusive=True)
    async def action_preparation(self) -> None:
        """One more preparation."""
        from store.exams.fish_form import MOST_PREPS

        place = max(self._groups) + 1
        if place <= MOST_PREPS:
            self._groups[place] = 1
            await self._anew(f"{place}.kind")

    async def _anew(self, focus: str) -> None:
        old = self._form
        form = Form(fish_fields(old.values, self._groups))
        await self.mount(form, after=old)
        await old.remove()
        self._follow_lists()
        for field in form.query(FormField):
            if field.field.name == focus:
                field.entry.focus()
                self.call_after_refresh(field.scroll_visible, animate=False)

    @work(group="fish-ask", exclusive=True)
    async def action_signs(self) -> None:
        """Behaviour and signs from the list."""
        from store.exams.fish_form import read_signs, write_signs

        try:
            behaviour, signs = read_signs(self._form.values["signs"])
        except BadInput as trouble:
            self._form.show_error(trouble)
            return
        chosen = await self.app.push_screen_wait(PickSigns((*behaviour, *signs)))
        if chosen is not None:
            self._form.fill({"signs": write_signs(chosen)})

    def action_line(self) -> None:
        """The same as one line, where its words can stand in one."""
        from store.exams.fish_form import read_fish_form
        from store.exams.line import understand_fish, write

        try:
            fish = read_fish_form(self.texts, self._nth)
        except BadInput as trouble:
            self._form.show_error(trouble)
            return
        line = write(fish)
        understood = understand_fish(line, nth=self._nth)
        if understood.doubts or understood.fish != fish:
            self.notify(
                "Its words hold marks that mean something in the line, such as , ; or a colon. It "
                "stays in the form; F2 takes it into the examination.",
                title="Not in one line", severity="warning", markup=False,
            )  # fmt: skip
            return
        self.dismiss(("line", line))

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        from store.exams.fish_form import read_fish_form

        submitted.stop()
        try:
            read_fish_form(self.texts, self._nth)
        except BadInput as trouble:
            submitted.form.show_error(trouble)
            return
        self.dismiss(("form", self.texts))

    def action_back(self) -> None:
        """Back to the examination."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this form is for, and its keys."""
        open_help(self.app)


class OccasionScreen(Screen["Mapping[str, str] | None"]):
    """What for, when, by whom; dismissed with the texts, or None.

    Parameters
    ----------
    beginning
        What the examination began with.
    texts
        What was typed before.
    """

    CSS_PATH = ["../sheets/examination.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = NARROW
    QUESTION = "What for, when and by whom were the fish looked at?"
    ABOUT = (
        "Without a day and a time it is now, and whoever saves has looked. A control names the "
        "course that it controls: made after its last dose, it is the control that the course "
        "waits for."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="occasion.back",
                tooltip="Back to the fish; nothing is changed"),
    ]  # fmt: skip

    def __init__(self, beginning: Beginning, texts: Mapping[str, str]) -> None:
        super().__init__()
        self._beginning, self._texts = beginning, dict(texts)

    def compose(self) -> ComposeResult:
        """Head, form, keys."""
        yield Top(f"Examination: {self._beginning.where}", id="occasion-head")
        yield Line()
        yield Form(occasion_fields(self._texts, self._beginning), id="occasion-form")
        yield Foot()

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        from store.exams.occasion import read_occasion

        submitted.stop()
        texts = dict(submitted.values)
        try:
            read_occasion(texts, now=self.app.now(), zone=self._beginning.zone)  # type: ignore[attr-defined]
            if texts.get("course") and texts["purpose"] != "control":
                raise BadInput(
                    "Only a control belongs to a course. Choose control, or no course.",
                    field="course",
                )
        except BadInput as trouble:
            submitted.form.show_error(trouble)
            return
        self.dismiss(texts)

    def action_back(self) -> None:
        """Back to the fish."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this form is for, and its keys."""
        open_help(self.app)
