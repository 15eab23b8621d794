"""The forms of days off: entered by hand, and whose public holidays are marked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import BadInput
from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book

PRACTICE = "practice"
_CELLS = 28


class DayOffScreen(FormScreen):
    """Days on which somebody is away.

    Parameters
    ----------
    people
        Key and name of everybody.
    """

    QUESTION = "Who is away, and on which days?"
    ABOUT = (
        "Both days are included; without a last day it is one day. With an hour it begins or ends "
        "within its day. Visits that stand there already stay: the diary shows them, to be moved."
    )

    def __init__(self, people: tuple[tuple[str, str], ...]) -> None:
        choices = (*people, (PRACTICE, "the whole practice"))
        fields = (
            Field("staff_id", "who", "", choices=choices, width=_CELLS),
            Field("first_day", "first day", "Mon, 12 Dec, 2026-12-12", width=_CELLS),
            Field("last_day", "last day", "empty: the same day", width=_CELLS),
            Field("from_time", "from", "empty: the whole day", width=_CELLS),
            Field("until_time", "until", "empty: the whole day", width=_CELLS),
            Field("says", "why", "leave, course, closed", width=_CELLS),
        )
        super().__init__("Days off", fields, "day-off")

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Enter them."""
        app = self.ponds_app
        return await app.ask_store(_add, app.book, act, texts)


def _add(book: Book, act: Act, texts: Mapping[str, str]) -> UUID:
    from store.book.days import typed_day, typed_time
    from store.diary.kept.roster.days_off import add_day_off

    today = book.today(act.at)
    if not texts["staff_id"]:
        raise BadInput("Who is away? Nothing was saved yet.", field="staff_id")
    if not texts["first_day"].strip():
        raise BadInput("From which day on? Nothing was saved yet.", field="first_day")
    first = typed_day(texts["first_day"], today, ahead=True, field="first_day")
    last = first
    if texts["last_day"].strip():
        # From the first day on: “Fri” is the Friday after it.
        last = typed_day(texts["last_day"], first, ahead=True, field="last_day")
    whose = None if texts["staff_id"] == PRACTICE else UUID(texts["staff_id"])
    with book.writing(act) as writing:
        return add_day_off(
            writing, whose, first, last,
            from_time=typed_time(texts["from_time"], "from_time"),
            until_time=typed_time(texts["until_time"], "until_time"),
            says=texts["says"].strip(),
        )  # fmt: skip


class RegionScreen(FormScreen):
    """Whose public holidays the practice marks.

    Parameters
    ----------
    country, region
        As they stand, codes or empty.
    known
        Code and name of the regions of that country.
    """

    QUESTION = "Whose public holidays are marked?"
    ABOUT = (
        "The country of the practice, unless another is chosen here; an empty one marks none. Some "
        "holidays hold in a part of the country only: type the code of the region, such as those "
        "under the field. Without a region those of the whole country are marked."
    )

    def __init__(self, country: str, region: str, known: tuple[tuple[str, str], ...]) -> None:
        some = ", ".join(f"{code} {name}" if name != code else code for code, name in known[:6])
        hint = f"{some}{' …' if len(known) > 6 else ''}" if known else "none is known"
        fields = (
            Field("country", "country", "name or two letters", country, width=_CELLS),
            Field("region", "region", one_line(hint), region, width=_CELLS),
        )
        super().__init__("Public holidays", fields, "holiday-region")

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Keep the choice."""
        app = self.ponds_app
        return await app.ask_store(_set_region, app.book, act, texts)


def _set_region(book: Book, act: Act, texts: Mapping[str, str]) -> UUID:
    from store.diary.kept.roster.holiday_region import set_holiday_region

    with book.writing(act) as writing:
        set_holiday_region(writing, texts["country"].strip(), texts["region"].strip())
    return act.by
