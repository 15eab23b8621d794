"""A file out of a folder: its sheets, the newest first, and the folders beside them."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from tui.screens.parts.dialogs import Choose, Option

if TYPE_CHECKING:
    from tui.app import PondroundApp

_MOST = 60
_UP = "the folder above"


class WhichFile(Choose):
    """The sheets of one folder, and the folders that lead on."""

    QUESTION = "Which file is meant?"
    ABOUT = (
        "The files of the folder that may be sheets, the newest first, then its folders. Enter "
        "takes a file, or opens a folder."
    )


async def which_file(app: PondroundApp, begin: Path) -> Path | None:
    """A file that a person chooses, from folder to folder.

    Within a worker of a screen.

    Parameters
    ----------
    app
        The application.
    begin
        A folder, or a file in it; where it is neither, the working folder.

    Returns
    -------
    Path or None
        None where nothing was chosen.
    """
    folder, start = await app.ask_store(_folder_of, begin)
    while True:
        options = await app.ask_store(_inside, folder)
        title = str(folder)
        chosen = await app.push_screen_wait(
            WhichFile(title if len(title) < 60 else f"…{title[-58:]}", options, start=start)
        )
        if chosen is None:
            return None
        path = Path(str(chosen))
        if not path.is_dir():
            return path
        folder, start = path.resolve(), str(folder)


def _folder_of(begin: Path) -> tuple[Path, str | None]:
    with suppress(OSError, ValueError):
        if begin.is_dir():
            return begin.resolve(), None
        if begin.name and begin.parent.is_dir():
            return begin.parent.resolve(), str(begin.resolve())
    return Path.cwd(), None


def _inside(folder: Path) -> list[Option]:
    from store.exchange.sheets.head import sheets_in

    files = [Option(str(folder / name), name) for name in sheets_in(folder)[:_MOST]]
    folders = []
    with suppress(OSError):
        inside = sorted(folder.iterdir(), key=lambda one: one.name.casefold())
        for one in inside:
            with suppress(OSError):
                if not one.name.startswith(".") and one.is_dir():
                    folders.append(Option(str(one), f"{one.name}/", "folder"))
    above = [Option(str(folder.parent), _UP)] if folder.parent != folder else []
    return [*files, *folders[:_MOST], *above]
