"""Forms for clients, sites, ponds, people, kits and the practice."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, cast
from uuid import UUID

from textual import on
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Button

from store.errors import BadInput, ChangedMeanwhile, PondroundError
from tui.screens.parts.abstract import NARROW, AbstractScreen
from tui.screens.parts.dialogs import Choose, Dialog, Option
from tui.screens.parts.forms import fields_with, label_of, new_fields
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.once import once
from tui.screens.parts.records import Begun, begun, kit_choices, own_records
from tui.widgets.fields import Field, Form, FormField
from tui.widgets.foot import Foot
from tui.widgets.literal import cut, literal, one_line
from tui.widgets.reading import Reading
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.water.entered import RecordName
    from tui.app import PondroundApp
    from tui.drafts import Draft

SPOKEN: Mapping[RecordName, str] = {
    "client": "client", "site": "site", "pond": "pond", "staff": "person", "kit": "test kit",
    "practice": "practice",
}  # fmt: skip


class FormPage(Screen[UUID | None], metaclass=AbstractScreen):
    """A form over the whole screen; what F2 does is for its kind to say.

    Parameters
    ----------
    title
        What is filled in.
    fields
        From top to bottom.
    draft
        The name under which what is typed is kept.
    """

    CSS_PATH = ["../sheets/edit.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = NARROW
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="edit.back",
                tooltip="Leave; what was typed is kept as a draft"),
    ]  # fmt: skip

    def __init__(self, title: str, fields: tuple[Field, ...], draft: str) -> None:
        super().__init__()
        self._title = title
        self._fields = fields
        self._draft_name = draft

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, form, keys."""
        yield Top(self._title, id="edit-head")
        yield Line()
        yield Form(self._fields, draft=self._draft(), id="edit-form")
        yield Foot()

    def _draft(self) -> Draft | None:
        drafts = getattr(self.app, "drafts", None)
        return None if drafts is None else cast("Draft", drafts.of(self._draft_name))

    def action_back(self) -> None:
        """Leave without saving."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this form is for, and its keys."""
        open_help(self.app)

    @on(Form.Submitted)
    def _submitted(self, submitted: Form.Submitted) -> None:
        self._saving(dict(submitted.values))

    @abstractmethod
    def _saving(self, texts: dict[str, str]) -> None:
        """What F2 does with the texts; begins work and does not wait for it."""


class FormScreen(FormPage):
    """A form whose texts go into the book; F2 saves, escape leaves and keeps what was typed."""

    QUESTION = "What is to stand in the book?"
    ABOUT = (
        "F2 saves. Escape leaves; what was typed is kept and offered again the next time. A fault "
        "is told under its field and loses nothing."
    )

    @once("edit")
    async def _saving(self, texts: dict[str, str]) -> None:
        act = await self.ponds_app.acting()
        if act is None:
            return
        form = self.query_one(Form)
        key: UUID | None = None
        wanted = texts
        while key is None:
            form.clear_errors()
            try:
                key = await self.save(act, wanted)
            except ChangedMeanwhile as trouble:
                instead = await self.changed_meanwhile(trouble, wanted)
                if instead is None:
                    return
                wanted = instead
            except BadInput as trouble:
                form.show_error(trouble)
                return
            except PondroundError as trouble:
                self.ponds_app.tell(trouble)
                return
        form.saved()
        self.tell_saved()
        self.dismiss(key)

    def tell_saved(self) -> None:
        """The book holds it now."""
        self.ponds_app.changed()
        self.notify("Saved.", markup=False)

    @abstractmethod
    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Put the texts into the book and give the key of the record."""

    async def changed_meanwhile(
        self, trouble: ChangedMeanwhile, texts: dict[str, str]
    ) -> dict[str, str] | None:
        """Somebody else was faster: what is to be saved instead, or None for nothing."""
        self.ponds_app.tell(trouble)
        return None


class EditScreen(FormScreen):
    """The form of one record, new or there already."""

    def __init__(
        self,
        record: RecordName,
        begun: Begun | None,
        kits: tuple[tuple[str, str], ...],
    ) -> None:
        spoken = SPOKEN[record]
        title = f"New {spoken}" if begun is None else f"{begun.name}: change the {spoken}"
        key = "new" if begun is None else str(begun.key)
        fields = fields_with(record, {} if begun is None else begun.texts, kits)
        super().__init__(title, fields, f"{record}-{key}")
        self._record = record
        self._begun = begun

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """A new record, or the changed fields of the one that is there."""
        from store.water.entered import save_texts

        app, old = self.ponds_app, self._begun
        if old is None:
            return await app.ask_store(save_texts, app.book, act, self._record, texts)
        return await app.ask_store(
            save_texts, app.book, act, self._record, texts, key=old.key, rev=old.rev,
            begun=old.texts,
        )  # fmt: skip

    async def changed_meanwhile(
        self, trouble: ChangedMeanwhile, texts: dict[str, str]
    ) -> dict[str, str] | None:
        """Show what stands there by now beside what was typed, and let the person choose."""
        app, old = self.ponds_app, self._begun
        assert old is not None
        now = await app.ask_store(begun, app.book, self._record, old.key)
        both = tuple(
            Both(label_of(self._record, name), now.texts[name], text, text != old.texts[name])
            for name, text in texts.items()
            if name in now.texts and now.texts[name] != text
        )
        chosen = await self.app.push_screen_wait(BothVersions(trouble, both))
        if chosen is None:
            return None
        form = self.query_one(Form)
        if chosen == "theirs":
            form.fill(now.texts)
            form.saved()
            self.notify("The form shows what stands in the book now.", markup=False)
            self._begun = now
            return None
        # Fields that only the other person changed stay as that person left them.
        mine = {name: text for name, text in texts.items() if text != old.texts.get(name)}
        form.fill(now.texts | mine)
        self._begun = now
        return {**now.texts, **mine}


class NewPondScreen(FormScreen):
    """A pond, with its site and its client where these are new too, in one go.

    Parameters
    ----------
    client_id, site_id
        What is there already.
    at
        How that is called.
    """

    def __init__(
        self, client_id: UUID | None = None, site_id: UUID | None = None, at: str = ""
    ) -> None:
        title = f"New pond: {at}" if site_id else f"New site: {at}" if client_id else "New client"
        fields = new_fields(client=client_id is None, site=site_id is None)
        super().__init__(title, fields, f"new-pond-{site_id or client_id or ''}")
        self._client_id, self._site_id = client_id, site_id

    def on_mount(self) -> None:
        """A line is left free where the site and the pond begin."""
        for one in self.query(FormField):
            one.set_class(one.field.name in ("site.name", "pond.name"), "-begins")

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """All of it, or nothing."""
        from store.water.entered import save_new_pond

        app = self.ponds_app
        return await app.ask_store(
            save_new_pond, app.book, act, texts, client_id=self._client_id, site_id=self._site_id
        )


@dataclass(frozen=True, slots=True)
class Both:
    """A field that differs: what stands in the book now, what stands in the form."""

    label: str
    theirs: str
    mine: str
    typed: bool
    """Whether the person changed it, or only somebody else did."""


class BothVersions(Dialog[str | None]):
    """What stands in the book by now beside what was typed; the safe way is back to the form."""

    QUESTION = "Whose words are to stand in the book?"
    ABOUT = (
        "Somebody saved the record while the form was open. Take theirs shows what stands in the "
        "book now. Save mine saves the fields that you changed, and leaves the others as they "
        "are. Back keeps your form as it is and saves nothing."
    )

    def __init__(self, trouble: ChangedMeanwhile, both: tuple[Both, ...]) -> None:
        super().__init__(trouble.title)
        self._message = trouble.message
        self._both = both

    def content(self) -> ComposeResult:
        """The sentence, then each field that differs with both texts."""
        with Reading(id="message"):
            yield Static(literal(self._message))
            for one in self._both:
                mine: tuple[Content | str, ...] = (
                    ("\n  yours:           ", _shown(one.mine))
                    if one.typed
                    else ("\n  you did not change this; it stays as in the book",)
                )
                yield Static(
                    Content.assemble(
                        (f"\n{one_line(one.label)}", "bold"),
                        "\n  in the book now: ",
                        _shown(one.theirs),
                        *mine,
                    )
                )

    def buttons(self) -> ComposeResult:
        """Back, theirs, mine."""
        for label, name in (("Back", "back"), ("Take theirs", "theirs"), ("Save mine", "mine")):
            yield Button(Content(label), id=name, compact=True)

    def on_mount(self) -> None:
        """Enter goes back to the form."""
        self.query_one("#back", Button).focus()

    @on(Button.Pressed)
    def _answered(self, pressed: Button.Pressed) -> None:
        self.dismiss(None if pressed.button.id == "back" else pressed.button.id)


def _shown(text: str) -> Content:
    return Content(cut(one_line(text), 300)) if text.strip() else Content.styled("empty", "$quiet")


async def change_record(app: PondroundApp, record: RecordName, key: UUID | None) -> UUID | None:
    """Open the form of a record, or of a new one, and wait for it.

    Within a worker of a screen or of the application.
    """
    try:
        old = None if key is None else await app.ask_store(begun, app.book, record, key)
        pond = key if record == "pond" else None
        kits = await app.ask_store(kit_choices, app.book, pond)
    except PondroundError as trouble:
        app.tell(trouble)
        return None
    if old is not None and old.struck:
        app.notify("This is struck through; restore it before changing it.", markup=False)
        return None
    return await app.push_screen_wait(EditScreen(record, old, kits))


def change_pond(app: App[Any], pond: UUID) -> None:
    """Open the form of a pond over the present screen."""
    app.run_worker(
        change_record(cast("PondroundApp", app), "pond", pond), group="edit-pond", exclusive=True
    )


async def choose_own_record(app: PondroundApp) -> None:
    """Choose among the practice, its people and its kits, and open the form of the one chosen."""
    try:
        own = await app.ask_store(own_records, app.book)
    except PondroundError as trouble:
        app.tell(trouble)
        return
    options = []
    if own.practice is not None:
        options.append(Option(("practice", own.practice[0]), "The practice", own.practice[1]))
    options += [Option(("kit", key), f"Kit: {name}", note) for key, name, note in own.kits]
    options.append(Option(("kit", None), "A new test kit"))
    options += [Option(("staff", key), f"Person: {name}", role) for key, name, role in own.people]
    options.append(Option(("staff", None), "A new person"))
    chosen = await app.push_screen_wait(Choose("The practice", options))
    if chosen is not None:
        record, key = cast("tuple[RecordName, UUID | None]", chosen)
        await change_record(app, record, key)
