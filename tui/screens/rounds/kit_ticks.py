"""What is packed already: kept as a draft, as everything that was typed and not saved."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from uuid import UUID

from tui.screens.parts.abstract import drafts_of

_FORM = "kit list"
_PACKED = "packed"


class KitTicks:
    """The ticks of one person's day, so that a look at another page loses none.

    They are in no book. Those of days that are over are forgotten when others are kept.

    Parameters
    ----------
    app
        The application; it knows where drafts are kept.
    day
        The day that is packed for.
    staff_id
        Whose round; None for all of the day.
    """

    def __init__(self, app: object, day: date, staff_id: UUID | None) -> None:
        self._draft = drafts_of(app).of(_FORM)
        self._mine = f"{day.isoformat()} {staff_id or 'all'} "

    def read(self) -> dict[str, str]:
        """Key of each ticked line to the amount that was packed."""
        kept = self._draft.values
        return {
            key.removeprefix(self._mine): text.removeprefix(_PACKED).strip()
            for key, text in kept.items()
            if key.startswith(self._mine)
        }

    def write(self, ticked: Mapping[str, str], today: date) -> None:
        """Keep these ticks, and what others packed for days that are not over.

        Parameters
        ----------
        ticked
            Key of each ticked line to the amount that was packed.
        today
            The practice's calendar day.
        """
        others = {
            key: text
            for key, text in self._draft.values.items()
            if not key.startswith(self._mine) and key >= today.isoformat()
        }
        mine = {f"{self._mine}{key}": f"{_PACKED} {amount}" for key, amount in ticked.items()}
        self._draft.keep({**others, **mine})
