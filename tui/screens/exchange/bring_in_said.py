"""What is said of a file before it is read: what it looks like, and whether that was chosen."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote, urlsplit

from tui.screens.exchange.bringing import LOOKS_LIKE, BringKind

if TYPE_CHECKING:
    from store.exchange.looking.recognised import Recognised


def gainsays(found: Recognised, chosen: BringKind) -> bool:
    """Whether a file clearly looks like something else than was chosen.

    Parameters
    ----------
    found
        What it looks like.
    chosen
        What a person says it is.
    """
    lists = {"clients", "ponds"}
    return (
        found.sure
        and found.kind != chosen.name
        and not {found.kind, chosen.name} <= lists
        and found.kind in LOOKS_LIKE
    )


def said_look(found: Recognised, chosen: BringKind | None, pond: str, *, own: bool = False) -> str:
    """What is said of a file under the form.

    Parameters
    ----------
    found
        What it looks like.
    chosen
        What stands in the form.
    pond
        The pond that stands in the form.
    own
        The rows name their ponds, so that one that is only proposed is not used.
    """
    looks = LOOKS_LIKE.get(found.kind)
    why = found.why[:1].upper() + found.why[1:]
    if looks is None:
        said = f"{why}. Please say what it is."
    elif chosen is not None and gainsays(found, chosen):
        said = f"It looks rather like {looks}: {found.why}."
    else:
        said = f"It looks like {looks}: {found.why}."
    if chosen is None:
        return said
    use = ""
    if chosen.pond == "no":
        use = "It needs no pond." if pond.strip() else ""
    elif own and pond.strip():
        use = "Its rows say whose they are; the pond above is not used."
    elif not found.names_ponds and not pond.strip():
        use = "It seems to name no pond: say which here, or where it is asked."
    return " ".join(filter(None, (said, chosen.about, use)))


def typed_path(typed: str) -> Path:
    """The path that is meant, also where a terminal wrote it that a file was drawn into.

    Parameters
    ----------
    typed
        A path, in quotation marks or not, with its blanks marked or not, or as a file's address.

    Examples
    --------
    >>> typed_path("'/tmp/pond list.csv' ").as_posix()
    '/tmp/pond list.csv'
    >>> typed_path("file:///tmp/pond%20list.csv").as_posix()
    '/tmp/pond list.csv'
    """
    text = typed.strip()
    if len(text) > 1 and text[0] == text[-1] and text[0] in "'\"":
        text = text[1:-1]
    elif text.startswith("file://"):
        text = unquote(urlsplit(text).path)
    elif "\\ " in text and not Path(text).exists():
        text = text.replace("\\ ", " ")
    return Path(text).expanduser()
