"""What is known of a water test before it is typed: pond, kits, the test to be corrected."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from typing import TYPE_CHECKING
from uuid import UUID

from textual.content import Content

from tui.screens.parts.dialogs import Option
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.kits import Kit
    from store.water.understood import KitForms
    from store.water.water_tests import WaterTest

NO_KIT = "none"


@dataclass(frozen=True, slots=True)
class Beginning:
    """What is known before the first letter is typed."""

    where: str
    kits: tuple[Kit, ...]
    kit: Kit | None
    zone: tzinfo
    today: date

    def kit_of(self, key: str, otherwise: Kit | None) -> Kit | None:
        """The kit of that key; `NO_KIT` is none, a key that is not there leaves the other."""
        if key == NO_KIT:
            return None
        return next((kit for kit in self.kits if str(kit.id) == key), otherwise)


def begin(book: Book, pond: UUID, now: datetime, correcting: WaterTest | None) -> Beginning:
    """The pond's name, its kits and the one in use."""
    from store.book.kits import kit_in_use, kits
    from store.book.ponds import card
    from tui.screens.ponds.pond_lines import head_name

    found = kits(book, pond)
    in_use = kit_in_use(book, pond)
    if correcting is not None:
        in_use = next((one for one in found if one.id == correcting.kit_id), None)
    return Beginning(head_name(card(book, pond)), found, in_use, book.zone, book.today(now))


def forms_of(kit: Kit | None) -> KitForms:
    """As what the kit reports ammonia, nitrite and nitrate."""
    from store.water.understood import KitForms

    if kit is None:
        return KitForms()
    return KitForms(kit.ammonia_form, kit.nitrite_form, kit.nitrate_form)


def kit_said(kit: Kit | None, today: date) -> Content:
    """The kit with what it reports, and what speaks against it on lines of their own."""
    from store.water.kit_state import kit_remarks

    name = "none stated"
    if kit is not None:
        forms = (("ammonia", kit.ammonia_form), ("nitrite", kit.nitrite_form))
        words = [f"{what} as {form.upper()}" for what, form in forms if form != "unknown"]
        name = ", ".join((one_line(kit.name), *words))
    said: list[Content | str | tuple[str, str]] = [
        Content(f"Kit: {name}"), ("  F3 chooses another", "$quiet"),
    ]  # fmt: skip
    for remark in kit_remarks(kit, today):
        said += ["\n", (remark, "$level-watch")]
    return Content.assemble(*said)


def kit_options(beginning: Beginning) -> list[Option]:
    """The kits to choose from, with what speaks against each; none stated comes last."""
    from store.water.kit_state import kit_remarks

    options = [
        Option(str(kit.id), kit.name, " ".join(kit_remarks(kit, beginning.today)))
        for kit in beginning.kits
    ]
    return [*options, Option(NO_KIT, "none stated")]


def texts_before(test: WaterTest | None, zone: tzinfo) -> tuple[str, dict[str, str]]:
    """The line that says what the test to be corrected says, and the texts of how it was taken."""
    from store.water.form import detail_texts
    from store.water.understood import Understood, write

    if test is None:
        return "", {}

    taken_at = test.taken_at.astimezone(zone)
    line = write(Understood(tuple(test.readings.values()), (), test.note, taken_at, ""))
    return line, detail_texts(test, zone)
