"""The short note of a call with a client: four fields, so that no advice is unrecorded."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field

_WIDTH = 40
FIELDS = (
    Field("caller", "Who called", "the owner, or by name", width=_WIDTH),
    Field("said", "What was said", lines=3),
    Field("advised", "What was advised", "nothing, where nothing was", lines=3),
    Field("next_step", "What next", "empty: nothing is left to do", lines=2),
)


class CallNoteScreen(FormScreen):
    """A short note of a call.

    Parameters
    ----------
    client_id
        Key of the client.
    pond_id
        Which pond it is about, where that is known.
    name
        How client or pond is called, for the head.
    """

    QUESTION = "Who called, what was said, what was advised, and what comes next?"
    ABOUT = (
        "A note of four fields for a call with somebody whom the practice knows, so that advice on "
        "the telephone stands in the book. With something under “What next” it stays on the desk "
        "until it is closed. Signs that make a call urgent make the note urgent. F2 saves; escape "
        "leaves, and what was typed is kept."
    )

    def __init__(self, client_id: UUID, pond_id: UUID | None = None, name: str = "") -> None:
        title = f"Note of a call: {name}" if name else "Note of a call"
        super().__init__(title, FIELDS, f"call-note-{pond_id or client_id}")
        self._client_id, self._pond_id = client_id, pond_id

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Keep the note."""
        app = self.ponds_app

        def keep() -> UUID:
            from store.diary.kept.calls.call_notes import note_call

            with app.book.writing(act) as writing:
                return note_call(
                    writing, self._client_id, pond_id=self._pond_id, caller=texts["caller"],
                    said=texts["said"], advised=texts["advised"], next_step=texts["next_step"],
                )  # fmt: skip

        return await app.ask_store(keep)
