"""The morning list for the wall, written to a file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tui.screens.exchange.report import SHAPES, paper_shape
from tui.screens.parts.to_file import FileForm
from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.book.book import Book
    from store.reports.kept.report_file import ReportFile

NEEDING, ALL = "needing", "all"
PONDS = ((NEEDING, "those that need somebody"), (ALL, "the calm ones as well"))
ON_THE_WALL = (
    "It is printed large, to be read from a metre, and carries names of clients: it hangs where "
    "only the practice sees it."
)
_CELLS = 34


class WallScreen(FileForm):
    """Which ponds stand on the list, in which shape, into which file."""

    WHAT = "the morning list"
    QUESTION = "Which morning list hangs on the wall?"
    ABOUT = (
        "The list of this morning, worst first, with a box to tick before each pond. It is true "
        "when it is made. A file that is there already is written over only after you say so. "
        "Nothing is sent. The same at the command line: pondround report morning."
    )

    def __init__(self) -> None:
        fields = (
            Field("ponds", "ponds", "", NEEDING, choices=PONDS, width=_CELLS),
            Field("shape", "as", "", SHAPES[0][0], choices=SHAPES, width=_CELLS),
            Field("file", "file", "empty: in this folder", width=_CELLS),
        )
        super().__init__("The morning list for the wall", fields, "report-morning")

    def care(self, values: Mapping[str, str]) -> str:
        """Who may see it."""
        return ON_THE_WALL

    async def write(self, texts: dict[str, str]) -> str:
        """Make it and write it."""
        app = self.ponds_app
        made = await app.ask_store(_made, app.book, texts, app.now())
        return await self.written(texts["file"], made.name, made.data, made.said)


def _made(book: Book, texts: Mapping[str, str], now: Any) -> ReportFile:
    from store.reports.kept.reports import morning_report

    kind, page = paper_shape(texts["shape"])
    return morning_report(book, now, kind, calm=texts["ponds"] == ALL, page=page)
