"""What the tests of import put into a book and write into files."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.exchange.columns.question import AskFirst
from store.exchange.named.planning import Item, Preview
from store.exchange.plain.planned import Plan

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)


def add_ponds(book: Book, act: Act, *names: str, **values: Any) -> list[UUID]:
    """One client, one site, and ponds of these names with the codes P-1, P-2, …"""
    with book.writing(act) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        return [
            writing.add("pond", site_id=site, name=name, code=f"P-{place}", **values)
            for place, name in enumerate(names, start=1)
        ]


def sheet(folder: Path, text: str, name: str = "sheet.csv", encoding: str = "utf-8") -> Path:
    path = folder / name
    path.write_bytes(text.encode(encoding))
    return path


def planned(look: Callable[..., Preview[Item]], *given: Any, **named: Any) -> Plan[Item]:
    """What a sheet would bring, where it leaves nothing open that is needed.

    Raises
    ------
    AskFirst
        It does.
    """
    preview = look(*given, **named)
    if preview.plan is None:
        raise AskFirst(preview.needed)
    return preview.plan
