"""Planning a course: one agent or two, and at once what follows from each number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, VerticalScroll
from textual.screen import Screen

from store.courses.planning.wished import MOST_STEPS
from store.errors import BadInput, PondroundError
from tui.screens.courses.course_fields import (
    WHOLE,
    CourseForm,
    Known,
    all_fields,
    asked,
    fitting,
    from_shelf,
    hints,
    said_intervals,
    step_fields,
)
from tui.screens.courses.course_said import (
    said_proposal,
    said_trouble,
    said_weekday,
    without_hidden,
)
from tui.screens.parts.abstract import drafts_of
from tui.screens.parts.dialogs import Choose, Option
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.screens.parts.reasons import counted, reasons_for
from tui.widgets.fields import Form, FormField
from tui.widgets.foot import Foot
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from textual.content import Content

    from store.book.act import Act
    from store.courses.kept.proposal import Ground, Proposal
    from tui.app import PondroundApp
    from tui.messages import BookChanged
    from tui.widgets.fields import Field


class PlanCourseScreen(Screen[UUID | None]):
    """A form for what is wished, and beside it the plan that follows.

    Dismissed with the key of the course, or None.

    Parameters
    ----------
    pond
        Key of the pond.
    follows
        The course that this one takes the place of.
    begun
        Texts of the form to begin with, by the name of their field; a draft goes before them.
    """

    HEAD, FIRST, DRAFT, MOST_STEPS = "Plan a course", "First dose", "course", MOST_STEPS
    CSS_PATH = ["../sheets/course_plan.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (70, "-wide"), (110, "-broad")]  # noqa: RUF012
    QUESTION = "What goes in, when, and is it safe?"
    ABOUT = (
        "Say what was found and what you wish to give. Below stands at once what follows: days and "
        "amounts, the most that will be in the water beside the most that is published, what the "
        "life cycle asks for, and what stands against it. A stop needs your reason in writing, the "
        "rest is read before it begins, and logged. Nothing here prescribes: the vet decides."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("f4", "second", "one more agent", key_display="F4", id="plan.second",
                tooltip="Another agent after the last one; what was typed for it before is back"),
        Binding("f7", "less", "without it", key_display="F7", id="plan.less",
                tooltip="Without the agent of this field; what was typed for it is kept"),
        Binding("pagedown", "read(1)", "read on", key_display="PgDn", id="plan.read_on",
                priority=True, tooltip="Further down in what follows"),
        Binding("pageup", "read(-1)", "read back", show=False, id="plan.read_back",
                priority=True, tooltip="Further up in what follows"),
        Binding("escape", "back", "back", id="plan.back",
                tooltip="Back one step; what was typed is kept"),
    ]  # fmt: skip

    def __init__(
        self, pond: UUID, follows: UUID | None = None, begun: Mapping[str, str] | None = None
    ) -> None:
        super().__init__()
        self.pond, self.follows = pond, follows
        self._begun = dict(begun or {})
        self.steps = 1
        self.ground: Ground | None = None
        self.proposal: Proposal | None = None
        self._trouble: str | None = None
        self._counts = False
        """Whether the form asks for several agents; the keys are asked for at every move."""
        self._known = Known()
        self._by = ""
        """Who saves, once that is known."""
        self._reasons: dict[str, str] = {}
        """What was typed against a stop, by its sentence: offered again after going back."""

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, form, what follows; the form comes once its fields are read."""
        yield Top(self.HEAD, id="plan-head")
        yield Line()
        with Container(id="plan-middle"), VerticalScroll(id="plan-follows", can_focus=False):
            yield Static("reading the pond …", id="plan-said", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Read behind the first paint."""
        self._prepare()

    def _read_all(self) -> tuple[Ground, tuple[Field, ...], str]:
        from store.book.ponds import card
        from store.courses.kept.proposal import ground
        from tui.screens.ponds.pond_lines import head_name

        app = self.ponds_app
        name = head_name(card(app.book, self.pond))
        found = ground(app.book, self.pond, app.now())
        self._known = Known(found.formulary, found.shelf)
        kept = drafts_of(app).of(self.DRAFT, self.pond).values
        places = [int(name[0]) for name in kept if name[:1].isdecimal() and name[1:2] == "."]
        # An agent that was put away has its fields all the same, else its draft would be lost.
        self.steps = min(max(places, default=1), self.MOST_STEPS)
        fields = tuple(
            replace(field, value=self._begun.get(field.name, field.value))
            for field in self.form_fields(found.found)
        )
        counted = kept.get("steps", "")
        if places and any(field.name == "steps" for field in fields):
            self.steps = min(self.steps, int(counted) if counted.isdecimal() else 1) or 1
        return found, fields, name

    @work(group="entry-read", exclusive=True)
    async def _prepare(self) -> None:
        app = self.ponds_app
        try:
            self.ground, fields, name = await app.ask_store(self._read_all)
        except PondroundError as trouble:
            self.query_one("#plan-said", Static).update(trouble.message)
            app.tell(trouble)
            return
        self.query_one(Top).place = f"{self.HEAD}: {name}"
        form = CourseForm(fields, draft=drafts_of(app).of(self.DRAFT, self.pond))
        await self.query_one("#plan-middle").mount(form, before="#plan-follows")
        self._counts = "steps" in form.values
        self._follow(form)
        self.refresh_bindings()

    def on_book_changed(self, changed: BookChanged) -> None:
        """Somebody else wrote: what is typed is planned anew, in the water as it is now."""
        form = next(iter(self.query(CourseForm)), None)
        if form is not None and not changed.own:
            self._read_anew(form)

    @work(group="plan-ground", exclusive=True)
    async def _read_anew(self, form: Form) -> None:
        from store.courses.kept.proposal import ground

        app = self.ponds_app
        try:
            self.ground = await app.ask_store(ground, app.book, self.pond, app.now())
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self._follow(form)

    # What is asked and what follows; a course of another kind has its own

    def form_fields(self, found: Sequence[str]) -> tuple[Field, ...]:
        """The fields of the form, where these hazards were seen lately."""
        return all_fields(found, self.steps, self._known)

    def more_fields(self, place: int) -> list[Field]:
        """The fields of one more agent."""
        return step_fields(place, self._known)

    def names_asked(self, values: Mapping[str, str]) -> frozenset[str]:
        """Names of the fields that are asked for, as far as the others stand now."""
        return asked(values, self.steps, self._known)

    def that_fits(self, values: Mapping[str, str], place: int) -> dict[str, str]:
        """What follows for other fields from the agent of that place."""
        return fitting(values, place, self._known)

    def hinted(self, values: Mapping[str, str]) -> dict[str, str | None]:
        """What is published, by the field that it is said at."""
        found = self.ground.found if self.ground is not None else ()
        return hints(values, self.steps, found, self._known)

    def proposed_at(self, values: Mapping[str, str], proposal: Proposal) -> dict[str, str]:
        """What was proposed for fields that are empty."""
        return said_intervals(values, proposal)

    def reckoned(self, ground: Ground, values: Mapping[str, str]) -> Proposal:
        """The plan that follows from what was typed; runs beside the screen."""
        from store.courses.kept.proposal import propose

        texts = without_hidden(values, self.names_asked(values))
        return propose(ground, texts, self.steps, by=self._by)

    def said_whole(self, proposal: Proposal, ground: Ground, width: int) -> Content:
        """Everything that a vet looks at before it begins."""
        return said_proposal(proposal, ground, width)

    # What follows

    @on(Form.Changed)
    def _changed(self, changed: Form.Changed) -> None:
        place, _, name = changed.name.partition(".")
        if name == "agent" and isinstance(changed.form, CourseForm):
            changed.form.fill(self.that_fits(changed.form.standing, int(place)))
        elif name == "shelf" and isinstance(changed.form, CourseForm):
            changed.form.fill(from_shelf(changed.form.standing, int(place), self._known))
        self._follow(changed.form)

    def _follow(self, form: Form) -> None:
        """Show the fields that are asked for, what is published beside them, and the plan."""
        values = form.values
        shown = self.names_asked(values)
        for field in form.query(FormField):
            field.display = field.field.name in shown
            field.set_class(field.field.name.partition(".")[2] in WHOLE, "-whole")
        for name, said in self.hinted(values).items():
            form.remark(name, said)
        self._propose(form)

    @work(group="plan-follows", exclusive=True)
    async def _propose(self, form: Form) -> None:
        if self.ground is None:
            return
        values = form.values
        try:
            self.proposal = await self.ponds_app.ask_store(self.reckoned, self.ground, values)
        except PondroundError as trouble:
            self.proposal, self._trouble = None, trouble.message
        else:
            self._trouble = None
            for name, said in self.proposed_at(values, self.proposal).items():
                form.remark(name, said)
        self.query_one("#plan-follows", VerticalScroll).scroll_home(animate=False)
        self._show()

    def _show(self) -> None:
        if self.ground is None:
            return
        # Without the empty cell at either side and the bar to scroll with.
        width = self.query_one("#plan-follows").size.width - 3
        if self.proposal is not None:
            said = self.said_whole(self.proposal, self.ground, width)
        else:
            said = said_trouble(self._trouble or "", self.ground, width)
        self.query_one("#plan-said", Static).update(said)

    def on_resize(self) -> None:
        """Lines are broken for the width there is."""
        self.call_after_refresh(self._show)

    # Keys

    @work(group="plan-steps", exclusive=True)
    async def action_second(self) -> None:
        """One more agent after the last; what was typed for it before stands there again.

        A form that does not keep their count goes around to the first alone.
        """
        form = next(iter(self.query(CourseForm)), None)
        if form is None:
            return
        if self.steps >= self.MOST_STEPS:
            if "steps" not in form.values:
                self._count(form, 1)
                self._focus(form, "1.agent")
            return
        if f"{self.steps + 1}.agent" not in form.values:
            await form.add(await self.ponds_app.ask_store(self.more_fields, self.steps + 1))
        self._count(form, self.steps + 1)
        self._focus(form, f"{self.steps}.agent")

    def action_less(self) -> None:
        """Without the agent of the field where somebody types, or the last; the others move up."""
        form = next(iter(self.query(CourseForm)), None)
        if form is None or "steps" not in form.values or self.steps < 2:
            return
        place = self.steps
        for field in form.query(FormField):
            first, dot, _ = field.field.name.partition(".")
            if dot and field.has_focus_within and field.display:
                place = int(first)
        form.move_up(place, self.steps)
        self._count(form, self.steps - 1)
        self._focus(form, f"{min(place, self.steps)}.agent")

    def _count(self, form: Form, steps: int) -> None:
        self.steps = steps
        if "steps" in form.values:
            form.fill({"steps": str(steps)})  # kept with the draft
        self._follow(form)
        self.refresh_bindings()

    def _focus(self, form: Form, name: str) -> None:
        for field in form.query(FormField):
            if field.field.name == name:
                field.entry.focus()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """One more agent while there is room; without one where there are several."""
        counts = self._counts
        if action == "second" and counts:
            return self.steps < self.MOST_STEPS
        if action == "less":
            return counts and self.steps > 1
        return super().check_action(action, parameters)

    def action_read(self, by: int) -> None:
        """Move what follows by most of what is in sight."""
        text = self.query_one("#plan-follows", VerticalScroll)
        text.scroll_relative(y=by * max(1, text.size.height - 1), animate=False)

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
        self._save(submitted.form, submitted.values)

    def _fresh(self, act: Act, values: Mapping[str, str]) -> tuple[Ground, Proposal]:
        """As it is at this instant: the water may have been tested meanwhile."""
        from store.book.people import person
        from store.courses.kept.proposal import ground

        app = self.ponds_app
        self._by = person(app.book, act.by).name
        now = ground(app.book, self.pond, app.now())
        return now, self.reckoned(now, values)

    @once("entry-save")
    async def _save(self, form: Form, values: Mapping[str, str]) -> None:
        from store.courses.kept.proposal import keep_proposal, refuse_others

        app = self.ponds_app
        act = await app.acting()
        if act is None:
            return
        try:
            await app.ask_store(refuse_others, app.book, act)
            self.ground, proposal = await app.ask_store(self._fresh, act, values)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.clear_errors()
        self.proposal, self._trouble = proposal, None
        self._show()
        start = await self._asked_how(proposal)
        reasons = await reasons_for(self.app, proposal.cautions, self._reasons) if start else {}
        if start is None or reasons is None:
            return
        try:
            key = await app.ask_store(
                keep_proposal, app.book, act, self.pond, proposal, start=start, reasons=reasons,
                note=values["note"].strip(), follows=self.follows,
            )  # fmt: skip
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.saved()
        app.changed()
        said = "The course has begun." if start else "The course is kept as planned."
        self.notify(said, markup=False)
        self.dismiss(key)

    async def _asked_how(self, proposal: Proposal) -> bool | None:
        first = said_weekday(proposal.plan.steps[0].doses[0].due_on, self.ponds_app.today())
        stops = f"{counted(proposal.cautions)}; each stop asks for a reason"
        options = (
            Option(
                "start", "start the course", stops if proposal.stops else counted(proposal.cautions)
            ),
            Option("keep", "keep it as planned", "it begins when a vet starts it"),
        )
        answer = await self.app.push_screen_wait(Choose(f"{self.FIRST} on {first}", options))
        return None if answer is None else answer == "start"
