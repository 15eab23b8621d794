"""What was answered of a water sheet, kept on this machine while its tests are not saved."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tui.screens.parts.abstract import drafts_of

if TYPE_CHECKING:
    from textual.app import App

    from store.exchange.columns import Shape
    from tui.drafts import Draft


def draft_of(app: App[Any], path: Path) -> Draft:
    """The draft of one file.

    Parameters
    ----------
    app
        The application.
    path
        The file.
    """
    return drafts_of(app).of("water-in", str(path.resolve()))


def keep(draft: Draft, said: Shape, pond: str | None, given: str | None) -> None:
    """Keep what was said; nothing is kept where that is no more than was given.

    Parameters
    ----------
    draft
        From `draft_of`.
    said
        What was said of the sheet.
    pond, given
        The pond of the whole file, and the one with which the page was opened.
    """
    kept = {"said": json.dumps(said.as_json()), "pond": pond or ""}
    draft.keep(kept if said.as_json() or pond != given else {})


def restored(draft: Draft, given: str | None) -> tuple[Shape, str | None, bool]:
    """What was said before, the pond of the whole file, and whether there was anything.

    Parameters
    ----------
    draft
        From `draft_of`.
    given
        The pond with which the page was opened.
    """
    from store.exchange.columns import Shape, shape_from

    kept = draft.values
    try:
        said = shape_from(json.loads(kept.get("said", "{}")))
    except (ValueError, AttributeError):
        return Shape(), given, False
    return said, given or kept.get("pond") or None, bool(kept)
