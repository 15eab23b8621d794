"""What is done to a line of the directory: entered, changed, struck, restored, looked up."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast
from uuid import UUID

from store.errors import PondroundError
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason

if TYPE_CHECKING:
    from store.book.listing import ListLine, Part
    from tui.app import PondroundApp

STRIKE = {
    "client": "The client leaves the lists with all sites and ponds, and can be restored with "
    "them. Nothing is lost. Why?",
    "site": "The site leaves the lists with all its ponds, and can be restored with them. Nothing "
    "is lost. Why?",
    "pond": "The pond leaves the lists and the morning, and can be restored. Nothing is lost. Why?",
}
"""What striking through does, told before the reason is asked."""


async def new_record(app: PondroundApp, line: ListLine | None) -> UUID | None:
    """Enter a client, a site or a pond; what the cursor is on decides what is offered.

    Returns
    -------
    UUID or None
        Key of the new pond; None where it was left.
    """
    from tui.screens.parts.edit import NewPondScreen

    chosen: object = "client"
    if line is not None and line.struck not in ("client", "site"):
        options = [Option("client", "A new client, with site and pond")]
        if line.struck is None or line.struck == "pond":
            options.insert(0, Option("site", "A new site and pond for this client", line.client))
            if line.site_id is not None:
                options.insert(0, Option("pond", "A new pond at this site", _site_said(line)))
        chosen = await app.push_screen_wait(Choose("What is new?", options))
    if chosen is None:
        return None
    client = line.client_id if line is not None and chosen in ("site", "pond") else None
    site = line.site_id if line is not None and chosen == "pond" else None
    said = "" if line is None else line.client if chosen == "site" else _site_said(line)
    return await app.push_screen_wait(NewPondScreen(client, site, said if client else ""))


async def change_part(app: PondroundApp, line: ListLine) -> None:
    """Change the pond, its site or its client."""
    from tui.screens.parts.edit import change_record

    part = await _part(app, line, "What is to be changed?")
    key = None if part is None else line.part(part)
    if part is not None and key is not None:
        await change_record(app, part, key)


async def strike_part(app: PondroundApp, line: ListLine) -> bool:
    """Strike the pond, its site or its client through, with a reason; whether it was done."""
    part = await _part(app, line, "What is to be struck through?")
    return part is not None and await set_struck(app, line, part, strike=True)


async def set_struck(app: PondroundApp, line: ListLine, part: Part, *, strike: bool) -> bool:
    """Strike a part of the line through or restore it, with a reason; whether it was done."""
    from tui.screens.parts.records import struck_through

    name = {"client": line.client, "site": line.site, "pond": line.pond}[part]
    what = "Strike through" if strike else "Restore"
    prompt = STRIKE[part] if strike else f"It was struck through: {line.struck_why}"
    answer = await app.push_screen_wait(AskReason(f"{what}: {part} {name}", prompt, accept=what))
    act = await app.acting() if isinstance(answer, Reason) else None
    key = line.part(part)
    if not isinstance(answer, Reason) or act is None or key is None:
        return False
    try:
        await app.ask_store(struck_through, app.book, act, part, key, answer.text, strike=strike)
    except PondroundError as trouble:
        app.tell(trouble)
        return False
    app.changed()
    app.notify(
        "Struck through. It stays in the book; s shows it." if strike else "Restored.",
        markup=False,
    )
    return True


async def show_history(app: PondroundApp, line: ListLine) -> None:
    """Who changed a part of the line, when, from what to what."""
    from tui.screens.parts.history import HistoryScreen

    part = await _part(app, line, "The history of what?")
    key = None if part is None else line.part(part)
    if part is not None and key is not None:
        app.push_screen(HistoryScreen(part, key, getattr(line, part)))


async def _part(app: PondroundApp, line: ListLine, question: str) -> Part | None:
    parts: list[Option] = [Option("client", "The client", line.client)]
    if line.site_id is not None:
        parts.insert(0, Option("site", "The site", line.site))
    if line.pond_id is not None:
        parts.insert(0, Option("pond", "The pond", line.pond))
    chosen = await app.push_screen_wait(Choose(question, parts))
    return cast("Part | None", chosen)


def _site_said(line: ListLine) -> str:
    return f"{line.client}, {line.site}"
