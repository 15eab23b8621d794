"""A new finding of a pond's volume: the measurements, and what they come to."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen

from store.errors import BadInput, PondroundError
from tui.screens.parts.abstract import NARROW, drafts_of
from tui.screens.parts.dialogs import Ask
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.screens.ponds.pond_lines import said_litres, said_method
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot
from tui.widgets.literal import literal, one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.book.ponds import Pond
    from store.water.volume import Volume
    from tui.app import PondroundApp


class FindingScreen(Screen[None]):
    """One finding: the measurements at the top, what they come to below, at every letter.

    Parameters
    ----------
    pond
        Key of the pond.
    way
        A code of `store.water.finding.WAYS`.
    where
        How the pond is called in the head.
    """

    CSS_PATH = ["../sheets/pond.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = NARROW
    QUESTION = "What do these measurements come to?"
    ABOUT = (
        "Type each measurement with its unit; the litres stand below at once, with the range that "
        "the measuring leaves. F2 saves the finding and asks whether it is to be in force."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", id="finding.back",
                tooltip="Back; what was typed is kept"),
    ]  # fmt: skip

    def __init__(self, pond: UUID, way: str, where: str) -> None:
        super().__init__()
        self.where = where
        self.pond = pond
        self.way = way
        self._found: Volume | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """The fields and the result."""
        from store.water.finding import WAYS

        way = WAYS[self.way]
        yield Top(f"Volume, {way.label}: {self.where}", id="finding-head")
        yield Line()
        yield Form(
            [
                Field(
                    field.name, field.label, field.hint,
                    lines=4 if field.measure == "grid" else 1, width=16,
                )
                for field in way.fields
            ],
            draft=drafts_of(self.app).of(f"volume {self.way}", self.pond),
        )  # fmt: skip
        yield Line()
        with VerticalScroll(id="finding-page", can_focus=False):
            yield Static("", id="finding-result", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """What a draft comes to."""
        self._reckon(self.query_one(Form).values)

    def on_form_changed(self, changed: Form.Changed) -> None:
        """Reckon at every letter."""
        self._reckon(changed.values)

    def _reckon(self, values: Mapping[str, str]) -> None:
        from store.water.finding import find_volume

        result = self.query_one("#finding-result", Static)
        try:
            found = find_volume(self.way, values)
        except BadInput as trouble:
            self._found = None
            result.update(literal(trouble.message, "$quiet"))
            return
        self._found = found
        lines = [
            Content.styled(
                f"{said_litres(found.litres, found.low_l, found.high_l)}, "
                f"between {found.low_l:,.0f} and {found.high_l:,.0f} L", "bold",
            ),
            Content.styled(one_line(found.workings), "$quiet"),
            *(Content.styled(one_line(remark), "$level-watch") for remark in found.remarks),
        ]  # fmt: skip
        result.update(Content("\n").join(lines))

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        submitted.stop()
        self._save(submitted.form, submitted.values)

    @once("finding-save")
    async def _save(self, form: Form, values: Mapping[str, str]) -> None:
        from store.book.ponds import pond as pond_of
        from store.water.finding import find_volume

        app = self.ponds_app
        try:
            found = find_volume(self.way, values)
            today = await app.ask_store(app.today)
            pond = await app.ask_store(pond_of, app.book, self.pond)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        rev = await self._rev_for_force(pond, found)
        act = await app.acting()
        if act is None:
            return
        try:
            await app.ask_store(
                save_finding, app.book, act, self.pond, found, dict(values), today, rev
            )
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.saved()
        app.changed()
        self.dismiss(None)

    async def _rev_for_force(self, pond: Pond, found: Volume) -> int | None:
        """The pond's revision where the finding is to be in force; the first one always is."""
        if pond.volume_estimate_id is None:
            return pond.rev
        before = (
            f"{pond.volume_l:,.0f} L {said_method(pond.volume_method)}" if pond.volume_l else ""
        )
        yes = await self.app.push_screen_wait(
            Ask(
                "Put this finding in force?",
                f"Now in force: {before}. The new finding: {found.litres:,.0f} L "
                f"{said_method(found.method)}. Doses go by the one in force; both stay readable.",
                yes="In force",
                no="Keep beside",
            )
        )
        return pond.rev if yes else None

    def action_back(self) -> None:
        """Back; the draft stays."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this screen is for, and its keys."""
        open_help(self.app)


def save_finding(
    book: Book,
    act: Act,
    pond: UUID,
    found: Volume,
    texts: dict[str, str],
    day: date,
    pond_rev: int | None,
) -> None:
    """Enter a finding with what was typed; in force where the pond's revision is given."""
    from store.book.volumes import record_estimate

    with book.writing(act) as writing:
        record_estimate(
            writing,
            pond,
            method=found.method,
            litres=found.litres,
            low_l=found.low_l,
            high_l=found.high_l,
            workings="\n".join((found.workings, *found.remarks)),
            inputs={name: text for name, text in texts.items() if text.strip()},
            measured_on=day,
            pond_rev=pond_rev,
        )
