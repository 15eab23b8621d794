"""Logging a dose: how much really went in, when, by whom; what stands against it is shown first."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen

from store.errors import BadInput, PondroundError
from tui.said import said_since
from tui.screens.courses.course_acts import read_and_told
from tui.screens.courses.course_lines import said_amount, said_dose, said_name
from tui.screens.parts.abstract import NARROW, drafts_of
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.screens.parts.reasons import reasons_for, said_caution
from tui.screens.ponds.pond_lines import head_name
from tui.widgets.fields import Field, Form, FormField
from tui.widgets.foot import Foot
from tui.widgets.hanging import beside
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.courses.kept.course_page import DoseLine
    from store.courses.kept.dose_asked import DoseAsked, DoseTyped
    from store.courses.planning.course import Caution
    from tui.app import PondroundApp
    from tui.messages import BookChanged

LOGGED = (
    "Somebody else has logged this dose meanwhile. Nothing was saved; what you typed is kept. Esc "
    "goes back to the course, where their entry stands."
)
_CELLS = 28
_GUTTER = 6


class DoseScreen(Screen[None]):
    """One dose of a course, as it was really given.

    Parameters
    ----------
    course
        Key of the course.
    which
        Step and number of the dose on which the choice stands at first, `1:2`; empty for the one
        that is due first.
    """

    CSS_PATH = ["../sheets/course.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = NARROW
    QUESTION = "What went in, how much of it, and may it?"
    ABOUT = (
        "The plan's amount stands in the form; type what was really weighed or poured. Below "
        "stands what speaks against the dose in the water as it is now: a vet answers a stop in "
        "writing, all else is read and logged with the dose. Everybody may log what was given, "
        "against a stop too: then a vet is told, and answers afterwards."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="dose.back",
                tooltip="Back one step; what was typed is kept"),
        # Before the form, which has nothing to page through.
        Binding("pagedown", "read(1)", "read on", key_display="PgDn", id="dose.read_on",
                priority=True,
                tooltip="The cautions: further down"),
        Binding("pageup", "read(-1)", "read back", show=False, id="dose.read_back", priority=True,
                tooltip="The cautions: further up"),
    ]  # fmt: skip

    def __init__(self, course: UUID, which: str = "") -> None:
        super().__init__()
        self.course, self._which = course, which
        self._asked: DoseAsked | None = None
        self._cautions: tuple[Caution, ...] = ()
        self._said: tuple[str, ...] = ()
        self._form: Form | None = None
        self._amount = ""
        """What was asked, as it was filled in last."""

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the cautions, keys; the form comes once the course is read."""
        yield Top("Dose", id="dose-head")
        yield Line()
        yield Line(id="dose-line")
        with VerticalScroll(id="dose-cautions", can_focus=False):
            yield Static("reading the course …", id="dose-said", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Read behind the first paint."""
        self._prepare()

    @work(group="entry-read", exclusive=True)
    async def _prepare(self) -> None:
        from store.courses.kept.dose_asked import dose_asked

        app = self.ponds_app
        try:
            asked = await app.ask_store(dose_asked, app.book, self.course, app.now())
        except PondroundError as trouble:
            self.dismiss(None)
            app.tell(trouble)
            return
        self._asked = asked
        self.query_one(Top).place = f"Dose: {head_name(asked.card)}"
        if asked.course.state != "running" or not asked.open:
            self._say(
                "Every dose of this course was given." if asked.course.state == "running"
                else f"This course is {asked.course.state}: no dose of it can be logged."
            )  # fmt: skip
            return
        fields = _fields(asked, self._which)
        self._amount = next(field.value for field in fields if field.name == "amount")
        form = Form(fields, draft=drafts_of(app).of("dose", self.course))
        self._form = form
        await self.mount(form, before=self.query_one("#dose-line"))
        self.query("FormField TextLine").first().focus()
        self._fit(form)
        await self._look(form, form.values)

    @on(Form.Changed)
    async def _changed(self, changed: Form.Changed) -> None:
        if changed.name in {"which", "level"} and self._asked is not None:
            self._fill(changed.form, changed.values, changed.name)
            self._fit(changed.form)
        if changed.name in {"which", "level", "amount", "change", "on_day", "at_time"}:
            self._look_again(changed.form)

    def _fill(self, form: Form, values: Mapping[str, str], name: str) -> None:
        """Put in what is asked; an amount that somebody typed stays when the level is typed."""
        assert self._asked is not None
        try:
            found = _as_asked(self._asked, values)
        except PondroundError:
            return  # still being typed: the look at it tells what is wrong
        if name == "level":
            found = {"amount": found["amount"]} if values["amount"] == self._amount else {}
        self._amount = found.get("amount", self._amount)
        form.fill(found)

    def _fit(self, form: Form) -> None:
        """No water is changed for a batch of feed; who decided is asked where something is off."""
        line = _line(self._asked, form.values["which"]) if self._asked is not None else None
        for field in form.query(FormField):
            if field.field.name in {"change", "level"}:
                field.display = line is None or line.step.ration is None
            if field.field.name == "off_why":
                field.display = any(one.code == "amount_off" for one in self._cautions)

    def on_book_changed(self, changed: BookChanged) -> None:
        """Somebody else wrote: what is asked, and what stands against it, is looked at anew."""
        if self._form is not None and not changed.own:
            self._read_anew(self._form)

    @work(group="dose-look", exclusive=True)
    async def _read_anew(self, form: Form) -> None:
        try:
            await self._ask_anew(form.values["which"])
        except PondroundError as trouble:
            self._cautions = ()
            self._say(trouble.message)
            return
        await self._look(form, form.values)

    async def _ask_anew(self, which: str) -> None:
        """The course as it stands now.

        Raises
        ------
        BadInput
            The dose is not open any more.
        """
        from store.courses.kept.dose_asked import dose_asked

        app, before = self.ponds_app, self._asked
        asked = await app.ask_store(dose_asked, app.book, self.course, app.now())
        if before is not None and _line(before, which) and _line(asked, which) is None:
            raise BadInput(LOGGED, field="which")
        self._asked = asked

    @work(group="dose-look", exclusive=True)
    async def _look_again(self, form: Form) -> None:
        await self._look(form, form.values)

    async def _look(self, form: Form, values: Mapping[str, str]) -> None:
        """Say what was understood, and what stands against it."""
        if self._asked is None:
            return
        from store.courses.kept.dose_asked import dose_said, observe_said

        try:
            typed, cautions = await self.ponds_app.ask_store(self._understood, values)
        except PondroundError as trouble:
            # What cannot be understood yet is still being typed: nothing stands as checked.
            self._cautions = ()
            self._say(f"Not checked yet: {trouble.message}")
            return
        self._cautions, self._said = cautions, typed.asked.said
        form.remark("amount", dose_said(typed))
        form.remark("on_day", said_since(typed.on_day, self._asked.today))
        form.remark("observed", observe_said(typed.line))
        self._fit(form)
        self._show_cautions()

    def _understood(self, values: Mapping[str, str]) -> tuple[DoseTyped, tuple[Caution, ...]]:
        from store.courses.kept.dose_asked import cautions_of, dose_typed

        assert self._asked is not None
        app = self.ponds_app
        typed = dose_typed(self._asked, values, app.now(), app.book)
        return typed, cautions_of(self._asked, typed)

    def _say(self, sentence: str) -> None:
        self.query_one("#dose-said", Static).update(Content(one_line(sentence)))

    def _show_cautions(self) -> None:
        width = self.size.width - 3
        lines = [
            Content(beside("asked", one_line(said), width, _GUTTER)) for said in self._said
        ]  # fmt: skip
        if not self._cautions:
            lines.append(Content("Nothing that is known stands against this dose."))
        for one in self._cautions:
            colour = "act" if one.level == "stop" else "watch"
            first, *rest = said_caution(one).split("\n")
            said = beside(one.level, one_line(first), width, _GUTTER)
            lines.append(
                Content.assemble((said[:_GUTTER], f"bold $level-{colour}"), said[_GUTTER:])
            )
            lines += [
                Content.styled(beside("", one_line(text), width, _GUTTER), "$quiet")
                for text in rest
            ]
        self.query_one("#dose-said", Static).update(Content("\n").join(lines))

    def on_resize(self) -> None:
        """Lines are broken for the width there is."""
        if self._cautions or self._said:
            self.call_after_refresh(self._show_cautions)

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        submitted.stop()
        self._save(submitted.form, submitted.values)

    @once("entry-save")
    async def _save(self, form: Form, values: Mapping[str, str]) -> None:
        from store.courses.kept.dose_asked import refuse_unexplained

        app = self.ponds_app
        try:
            await self._ask_anew(values["which"])
            typed, cautions = await app.ask_store(self._understood, values)
            self._cautions, self._said = cautions, typed.asked.said
            self._show_cautions()
            refuse_unexplained(typed, values)
            act = await app.acting()
            if act is None:
                return
            vet = await app.ask_store(_is_vet, app.book, act.by)
            reasons = await (reasons_for if vet else read_and_told)(app, cautions)
            if reasons is None:
                return
            await app.ask_store(self._log, act, typed, values, cautions, reasons)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.saved()
        app.changed()
        app.notify("The dose is logged.", markup=False)
        self.dismiss(None)

    def _log(
        self,
        act: Act,
        typed: DoseTyped,
        values: Mapping[str, str],
        cautions: tuple[Caution, ...],
        reasons: Mapping[str, str],
    ) -> None:
        from store.courses.kept.dose_asked import log_typed

        assert self._asked is not None
        log_typed(self.ponds_app.book, act, self._asked, typed, values, cautions, reasons)

    def action_read(self, by: int) -> None:
        """Move the cautions by most of what is in sight."""
        page = self.query_one("#dose-cautions")
        page.scroll_relative(y=by * max(1, page.size.height - 1), animate=False)

    def action_back(self) -> None:
        """Back one step; the draft stays."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)


def _is_vet(book: Book, person: UUID) -> bool:
    from store.courses.kept.allowed import is_vet

    with book.reading() as connection:
        return is_vet(connection, person)


def _fields(asked: DoseAsked, which: str) -> tuple[Field, ...]:
    many = len(asked.course.plan.steps) > 1
    choices = tuple((_key(line), _said(asked, line, many)) for line in asked.open)
    line = _line(asked, which) or asked.open[0]
    planned = _as_asked(asked, {"which": _key(line)})
    unit = line.planned.amount_unit
    return (
        Field("which", "dose", "", _key(line), choices=choices, width=_CELLS + 14),
        Field("amount", "amount given", f"in {unit}", planned["amount"], width=_CELLS),
        Field("off_why", "who decided, why", "it is not what is asked", width=_CELLS),
        Field("change", "water change", "% of volume, before it", planned["change"], width=_CELLS),
        Field("level", "level now", "80 % or L; empty: as planned", width=_CELLS),
        Field("on_day", "day", "today, Mon, 12 Mar", "today", width=_CELLS),
        Field("at_time", "time", "09:30; empty: now", width=_CELLS),
        Field("given_by", "given by", "empty: who works now", planned["given_by"], width=_CELLS),
        Field("batch", "batch", "of the product", width=_CELLS),
        Field("observed", "what was seen", "in words", lines=2),
    )


def _key(line: DoseLine) -> str:
    return f"{line.step.place}:{line.planned.number}"


def _line(asked: DoseAsked, which: str) -> DoseLine | None:
    return next((one for one in asked.open if _key(one) == which), None)


def _said(asked: DoseAsked, line: DoseLine, many: bool) -> str:
    name = f"{said_name(line.step)} {line.planned.number}" if many else f"{line.planned.number}"
    if line.step.ration is not None:
        name = said_dose(line, many)
    stands = f"{line.late_days} d late" if line.stands == "late" else line.stands
    if line.stands == "due":
        stands = f"due {said_since(line.planned.due_on, asked.today)}"
    return f"{name}: {stands}"


def _as_asked(asked: DoseAsked, values: Mapping[str, str]) -> dict[str, str]:
    """What is asked of a dose today, as texts of the form; the level stays as it was typed.

    Raises
    ------
    BadInput
        No such dose, or a level that cannot be.
    """
    from store.courses.kept.dose_asked import now_of

    now = now_of(asked, values)
    line = _line(asked, values["which"])
    assert line is not None
    return {
        "amount": said_amount(now.amount, now.unit).replace(",", ""),
        "change": f"{line.planned.water_change_percent:g} %",
        "given_by": "owner" if line.planned.share == "owner" else "",
    }
