"""How a person is told what went wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING

from store.errors import ChangedMeanwhile, NoAnswer, PondroundError
from tui.screens.parts.dialogs import Tell

if TYPE_CHECKING:
    from tui.app import PondroundApp


def tell_trouble(app: PondroundApp, trouble: PondroundError) -> None:
    """Tell what went wrong, in a dialog; once, where several questions met the same broken line.

    Parameters
    ----------
    app
        The application.
    trouble
        What the store said. Where another was faster, what they wrote stands below it.
    """
    if isinstance(trouble, NoAnswer) and not trouble.saving:
        # A dialog would be told again by the page that reads anew when it is closed.
        app.notify(trouble.message, title=trouble.title, severity="warning", markup=False)
        return
    told = isinstance(app.screen, Tell) and app.screen.title == trouble.title
    if told and isinstance(trouble, NoAnswer) and not trouble.unsure:
        return
    if isinstance(trouble, ChangedMeanwhile) and trouble.row is not None:
        app.run_worker(_tell_theirs(app, trouble), group="app-theirs")
        return
    dialog = Tell.of(trouble)
    dialog.title = trouble.title
    app.push_screen(dialog)


async def _tell_theirs(app: PondroundApp, trouble: ChangedMeanwhile) -> None:
    """Who was faster, and what they wrote, before one goes back to what is typed."""
    from store.record.since import told_since

    theirs = await app.ask_store(told_since, app.book, trouble)
    said = f"{trouble.message}\n\n{theirs}" if theirs else trouble.message
    await app.push_screen(Tell(trouble.title, said))
