"""Forms: fields with a label, a hint and the place of an error; what is typed is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input, Select, TextArea

from store.errors import BadInput
from store.text import plain
from tui.drafts import Draft
from tui.widgets.entry import TextBox, TextChoice, TextLine
from tui.widgets.literal import literal, one_line
from tui.widgets.static import Static


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to fill in.

    `name` is the name under which an error finds its field. With `choices` (key and words) one of
    them is picked; with `lines` over 1 the text may have several lines, as wide as the form.
    `width` is in cells.
    """

    name: str
    label: str
    hint: str = ""
    value: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    lines: int = 1
    width: int = 24


class FormField(Vertical):
    """A field on the screen: label, entry and hint on a line, the error under it."""

    entry: Widget

    def __init__(self, field: Field, value: str) -> None:
        super().__init__(classes="form-field -lines" if field.lines > 1 else "form-field")
        self.field = field
        self._value = value
        self._hint = Static(Content(one_line(field.hint)), classes="field-hint")
        self._error = Static("", classes="field-error", markup=False)

    def _made_entry(self, value: str) -> Widget:
        field = self.field
        entry: Widget
        if field.choices:
            entry = TextChoice(field.choices, value, classes="field-entry")
        elif field.lines > 1:
            entry = TextBox(value, classes="field-entry")
            entry.styles.height = field.lines
            return entry
        else:
            entry = TextLine(value, classes="field-entry")
        entry.styles.width = field.width
        return entry

    def compose(self) -> ComposeResult:
        """Label, entry and hint on a line, the place of the error under it."""
        # Only here: a line with a text in it cannot be made before the application runs.
        self.entry = self._made_entry(self._value)
        label = Static(Content(one_line(self.field.label)), classes="field-label")
        with Horizontal():
            if self.field.lines > 1:
                # Several lines take the whole width; there is room under the label.
                yield Vertical(label, self._hint, classes="field-beside")
                yield self.entry
            else:
                yield label
                yield self.entry
                yield self._hint
        yield self._error
        self._error.display = False

    def on_descendant_focus(self) -> None:
        """Here is where a person types."""
        self.add_class("-here")

    def on_descendant_blur(self) -> None:
        """No longer here, unless the focus stays within, as in a list that was opened."""
        self.set_class(self.has_focus_within, "-here")

    @property
    def value(self) -> str:
        """What stands in the field."""
        if isinstance(self.entry, TextLine):
            return self.entry.value
        if isinstance(self.entry, TextBox):
            return self.entry.text
        assert isinstance(self.entry, Select)
        return str(self.entry.value) if self.entry.value is not Select.NULL else ""

    def fill(self, text: str) -> None:
        """Put this text, or this choice, into the field."""
        if isinstance(self.entry, TextLine):
            self.entry.value = text
        elif isinstance(self.entry, TextBox):
            self.entry.text = plain(text, lines=True)
        elif isinstance(self.entry, Select):
            known = any(text == key for key, _ in self.field.choices)
            self.entry.value = text if known else Select.NULL

    def tell(self, error: str | None) -> None:
        """Show what is wrong here, or nothing."""
        self._error.update(literal(error or ""))
        self._error.display = bool(error)

    def remark(self, text: str | None) -> None:
        """Show this instead of the hint, for example what was understood."""
        self._hint.update(literal(self.field.hint if text is None else text))


class Form(VerticalScroll, can_focus=False):
    """Fields under each other, with the texts typed so far kept as a draft.

    Only texts leave it: what they mean is for the store to say. A draft holds the fields that
    differ from what the form began with, and is offered again the next time.

    Parameters
    ----------
    fields
        From top to bottom; their names are unique.
    draft
        Where to keep what is typed; `None` keeps it in this window only.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "submit", "save", key_display="F2", id="form.save",
                tooltip="Save what stands in the form"),
        Binding("f8", "start_over", "undo draft", key_display="F8", id="form.start_over",
                tooltip="Put away what was typed and begin again"),
        Binding("down", "next_field", "next field", show=False, id="form.next",
                tooltip="To the next field"),
        Binding("up", "previous_field", "field before", show=False, id="form.previous",
                tooltip="To the field before"),
    ]  # fmt: skip

    class Changed(Message, bubble=True):
        """A text changed; `values` are all of them."""

        def __init__(self, form: Form, name: str, values: Mapping[str, str]) -> None:
            super().__init__()
            self.form = form
            self.name = name
            self.values = values

        @property
        def control(self) -> Form:
            """The form it happened in."""
            return self.form

    class Submitted(Message, bubble=True):
        """A person wants these texts saved."""

        def __init__(self, form: Form, values: Mapping[str, str]) -> None:
            super().__init__()
            self.form = form
            self.values = values

        @property
        def control(self) -> Form:
            """The form it happened in."""
            return self.form

    def __init__(
        self,
        fields: Sequence[Field],
        *,
        draft: Draft | None = None,
        id: str | None = None,  # noqa: A002
        classes: str | None = None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._draft = draft
        self._begun = {field.name: _harmless(field, field.value) for field in fields}
        if len(self._begun) != len(fields):
            raise ValueError("Two fields of the form have the same name.")
        kept = draft.values if draft is not None else {}
        self._taken_up = {
            field.name: _harmless(field, kept[field.name]) for field in fields if field.name in kept
        }
        self._values = self._begun | self._taken_up
        self._fields = {field.name: FormField(field, self._values[field.name]) for field in fields}
        self._notice = Static("", classes="form-notice", markup=False)
        self._error = Static("", classes="field-error", markup=False)

    def compose(self) -> ComposeResult:
        """The notice of a draft, the fields, the place of an error that belongs to no field."""
        yield self._notice
        yield from self._fields.values()
        yield self._error
        self._error.display = False
        self._show_notice()

    def on_mount(self) -> None:
        """Ready to type in the first field."""
        if self._fields and self.screen.focused is None:
            next(iter(self._fields.values())).entry.focus()

    @property
    def values(self) -> dict[str, str]:
        """The texts by the name of their field, as typed."""
        return dict(self._values)

    @property
    def changed(self) -> bool:
        """Something differs from what the form began with."""
        return self._values != self._begun

    def fill(self, values: Mapping[str, str]) -> None:
        """Put these texts into their fields; the other fields stay."""
        for name, text in values.items():
            self._fields[name].fill(text)

    def remark(self, name: str, text: str | None) -> None:
        """Say at the field what was understood; `None` brings its hint back."""
        self._fields[name].remark(text)

    def show_error(self, trouble: BadInput) -> None:
        """The sentence at the field it belongs to, which gets the focus; else under the form."""
        self.clear_errors()
        at = self._fields.get(trouble.field or "")
        if at is not None:
            at.tell(trouble.message)
            at.entry.focus(scroll_visible=False)
            self.call_after_refresh(at.scroll_visible, animate=False)
        else:
            self._error.update(literal(trouble.message))
            self._error.display = True
            self.call_after_refresh(self._error.scroll_visible, animate=False)

    def clear_errors(self) -> None:
        """No field is wrong."""
        for field in self._fields.values():
            field.tell(None)
        self._error.display = False

    def saved(self) -> None:
        """The texts are in the book: the draft is no longer needed."""
        self._begun = dict(self._values)
        self._taken_up = {}
        if self._draft is not None:
            self._draft.drop()
        self._show_notice()

    # Typing

    @on(Input.Changed)
    @on(TextArea.Changed)
    @on(Select.Changed)
    def _typed(self, event: Input.Changed | TextArea.Changed | Select.Changed) -> None:
        event.stop()
        field = next((f for f in self._fields.values() if f.entry is event.control), None)
        if field is None or self._values[field.field.name] == field.value:
            return
        name = field.field.name
        self._values[name] = field.value
        field.tell(None)
        self._keep()
        self.post_message(self.Changed(self, name, self.values))

    def _keep(self) -> None:
        if self._draft is None:
            return
        self._draft.keep(
            {name: text for name, text in self._values.items() if text != self._begun[name]}
        )
        self._show_notice()

    def _show_notice(self) -> None:
        trouble = self._draft.trouble if self._draft is not None else None
        taken = (
            "Taken up again from what you typed before. F8 begins anew." if self._taken_up else ""
        )
        self._notice.update(literal(trouble or taken))
        self._notice.display = bool(trouble or taken)
        self.refresh_bindings()

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        last = next(reversed(self._fields.values()), None)
        if last is not None and event.control is last.entry:
            self.action_submit()
        else:
            self.screen.focus_next()

    def action_submit(self) -> None:
        """Hand the texts over."""
        self.post_message(self.Submitted(self, self.values))

    def action_start_over(self) -> None:
        """Put the draft away and begin with what the form began with."""
        self._taken_up = {}
        self.clear_errors()
        self.fill(self._begun)
        if self._draft is not None:
            self._draft.drop()
        self._show_notice()

    def action_next_field(self) -> None:
        """To the next field."""
        self.screen.focus_next()

    def action_previous_field(self) -> None:
        """To the field before."""
        self.screen.focus_previous()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Beginning anew is offered where a draft was taken up."""
        if action == "start_over":
            return bool(self._taken_up)
        return super().check_action(action, parameters)


def _harmless(field: Field, text: str) -> str:
    if field.choices:
        return text if any(text == key for key, _ in field.choices) else ""
    return plain(text, lines=True) if field.lines > 1 else one_line(text)
