"""Who changed a record, when, from what to what."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen

from store.errors import PondroundError
from tui.said import said_moment
from tui.screens.parts.forms import label_of
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.records import kit_choices
from tui.widgets.foot import Foot
from tui.widgets.literal import cut, one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from datetime import date, tzinfo

    from store.book.told.history import Change
    from store.water.entered import RecordName
    from tui.app import PondroundApp

_DID = {"add": "entered", "change": "changed", "strike": "struck through", "restore": "restored"}
_HIDDEN = frozenset(
    {"struck_at", "struck_by", "struck_why", "volume_estimate_id", "client_id", "site_id"}
)
_LABELS = {
    "depth_m": "Greatest depth, m",
    "elevation_m": "Above the sea, m",
    "latitude": "Latitude, degrees north",
    "longitude": "Longitude, degrees east",
    "test_every_days": "Test every, days",
    "volume_l": "Volume, L",
    "volume_method": "Volume found",
    "volume_low_l": "Volume, at least, L",
    "volume_high_l": "Volume, at most, L",
}
"""Numbers with their unit, which a form says beside its field; and what no form asks for."""
_LONGEST = 200


class HistoryScreen(Screen[None]):
    """The record of one client, site or pond, newest first."""

    QUESTION = "Who changed this, when, and from what to what?"
    ABOUT = "Newest first. Nothing here can be changed: the book only adds to it."
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="history.back",
                tooltip="Back one step"),
    ]  # fmt: skip

    def __init__(self, record: RecordName, key: UUID, name: str) -> None:
        super().__init__()
        self._record = record
        self._key = key
        self._name = name

    def compose(self) -> ComposeResult:
        """Head, the changes, keys."""
        yield Top(f"History of the {self._record} {self._name}")
        yield Line()
        with VerticalScroll(id="history"):
            yield Static("", id="history-text", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The text has the keys; it is read behind the first paint."""
        self.query_one("#history").focus()
        self._read()

    def on_book_changed(self) -> None:
        """Something was written: read it anew."""
        self._read()

    @work(exclusive=True, group="history")
    async def _read(self) -> None:
        from store.book.told.history import history

        app = cast("PondroundApp", self.app)
        try:
            changes = await app.ask_store(history, app.book, self._record, self._key)
            zone = await app.ask_store(lambda: app.book.zone)
            kits = dict(await app.ask_store(kit_choices, app.book))
        except PondroundError as trouble:
            app.tell(trouble)
            return
        text = changes_said(self._record, changes, zone, app.today(), kits)
        self.query_one("#history-text", Static).update(text)

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def changes_said(
    record: RecordName,
    changes: tuple[Change, ...],
    zone: tzinfo,
    today: date,
    kits: Mapping[str, str],
) -> Content:
    """Each change with its moment, who made it, and its fields before and after."""
    parts: list[Content | str | tuple[str, str]] = []
    for change in changes:
        parts.append((f" {said_moment(change.at, zone, today)}  ", "$quiet"))
        parts.append((f"{one_line(change.by_name)} {_DID[change.what]}", "bold"))
        if change.why:
            parts.append(f": {one_line(change.why)}")
        parts.append("\n")
        for name, after in change.after.items():
            before = change.before.get(name)
            if name in _HIDDEN or (not before and after in ("", None, [], False)):
                continue
            parts.append((f"   {_LABELS.get(name) or label_of(record, name)}: ", "$quiet"))
            if change.what != "add":
                parts.append(_value(before, kits))
                parts.append((" → ", "$quiet"))
            parts.append(_value(after, kits))
            parts.append("\n")
        parts.append("\n")
    return Content.assemble(*parts) if parts else Content(" Nothing was recorded.")


def _value(value: object, kits: Mapping[str, str]) -> str:
    if value in ("", None, []):
        return "empty"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.10g}"
    if isinstance(value, list):
        from store.water.plan import said_seasons

        return said_seasons(value)
    return cut(one_line(kits.get(str(value), str(value))), _LONGEST)
